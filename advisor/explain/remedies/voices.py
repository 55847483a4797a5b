"""Which rules could still speak in a situation, whatever is decided later: what two situations must share.

Decisions look at nothing but the rules that fire. A rule whose test of something settled fails stays silent
whatever is decided, so two situations with the same rules left open are decided alike, however they differ
otherwise: values of a number between two thresholds are one class, as far as choices go.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field

from advisor.inference.engine import Engine, Growing
from advisor.inference.properties import Column, PropertyTable
from advisor.knowledge.base import Knowledge
from advisor.knowledge.places import NOTES, Place
from advisor.situations import Facts

Voice = tuple[int, ...]
#: Decided before any stage is entered.
BEFORE = ("handling",)
#: Known once the media and its station are.
WITH_TOOL = ("handling", "media", "station.power_kw", "wheel.diameter_mm", "reach.ratio", "speed.top_m_s")


@dataclass(slots=True)
class _Hall:
    """One place: its rules as needs, and which of their tests are settled at a level of knowing."""

    table: PropertyTable
    rules: tuple[str, ...]
    settled: int  # the bits of what no decision fills in
    known: dict[tuple[str, ...], int] = field(default_factory=dict)
    filled: dict[tuple[str, ...], tuple[Column, ...]] = field(default_factory=dict)

    def known_bits(self, filled: tuple[str, ...]) -> int:
        bits = self.known.get(filled)
        if bits is None:
            bits = self.settled
            for column in self._columns(filled):
                bits |= sum(bit for bit, _ in column.tests)
            self.known[filled] = bits
        return bits

    def mask(self, situation: Growing, name: str, filled: tuple[str, ...]) -> int:
        """The settled tests that hold, and those of what is filled in already."""
        mask = situation.masks.get(name)
        if mask is None:
            mask = situation.masks[name] = self.table.held_by_settled(situation)
        for column in self._columns(filled):
            value = situation.get(column.attribute)
            bits = column.seen.get(value)
            mask |= column.bits(value, self.table.vocabulary) if bits is None else bits
        return mask

    def _columns(self, filled: tuple[str, ...]) -> tuple[Column, ...]:
        columns = self.filled.get(filled)
        if columns is None:
            columns = self.filled[filled] = tuple(
                column for column in self.table.growing if column.attribute in filled
            )
        return columns

    def open(self, mask: int, known: int, silent: Collection[str]) -> frozenset[tuple[int, bool]]:
        """The rules that may still fire, each with whether its exception may still silence it."""
        exceptions = {bit: unless for unless, bit in self.table.silencers}
        found = set()
        for number, conjunction in enumerate(self.table.conjunctions):
            if self.rules[number] in silent or conjunction.needs & known & ~mask:
                continue
            unless = next((unless for bit, unless in exceptions.items() if conjunction.needs & bit), 0)
            silenced = unless and not unless & ~mask
            if not silenced:
                found.add((number, bool(unless) and not unless & known & ~mask))
        return frozenset(found)


class Voices:
    """The rules of an engine, asked which of them are still open in a situation."""

    def __init__(self, engine: Engine, knowledge: Knowledge) -> None:
        self._engine = engine
        decisions = knowledge.vocabulary.decisions
        self._halls = {place.name: _hall(engine.table(place.name), place) for place in knowledge.places}
        self._concluding = tuple(
            place for place in knowledge.places if place.names[0] not in decisions and place.names != (NOTES,)
        )
        self._drawing = frozenset(rule.id for place in self._concluding for rule in place.rules)
        self._ids: dict[object, int] = {}
        self._open: dict[tuple[str, int, tuple[str, ...], frozenset[str]], int] = {}
        self._silent_at: dict[tuple[str, frozenset[str]], frozenset[str]] = {}
        self._concluded: dict[tuple[object, ...], Facts] = {}

    def open(self, situation: Growing, places: Collection[str], filled: tuple[str, ...]) -> frozenset[str]:
        """The ids of the rules that are still open at some places."""
        found: set[str] = set()
        for name in places:
            hall = self._halls[name]
            for number, _ in hall.open(hall.mask(situation, name, filled), hall.known_bits(filled), ()):
                found.add(hall.rules[number])
        return frozenset(found)

    @property
    def drawing(self) -> frozenset[str]:
        """The ids of the rules that conclude something."""
        return self._drawing

    def of(
        self, situation: Growing, places: Collection[str], filled: tuple[str, ...], silent: frozenset[str]
    ) -> Voice:
        """A number for each place; equal ones have the same rules open."""
        return tuple([self._voice(name, situation, filled, silent) for name in places])

    def _voice(self, name: str, situation: Growing, filled: tuple[str, ...], silent: frozenset[str]) -> int:
        hall = self._halls[name]
        quiet = self._quiet(name, silent) if silent else silent
        mask = hall.mask(situation, name, filled)
        key = (name, mask, filled, quiet)
        found = self._open.get(key)
        if found is None:
            left = hall.open(mask, hall.known_bits(filled), quiet)
            found = self._open[key] = self._ids.setdefault((name, left), len(self._ids))
        return found

    def _quiet(self, name: str, silent: frozenset[str]) -> frozenset[str]:
        found = self._silent_at.get((name, silent))
        if found is None:
            found = self._silent_at[name, silent] = silent.intersection(self._halls[name].rules)
        return found

    def concluded(self, facts: Facts, engine: Engine, silent: frozenset[str]) -> Growing:
        """A situation with what rules conclude of it; `engine` does not hear the silent ones.

        Concluding looks at nothing but the tests of the places that conclude.
        """
        key = (
            *(self._engine.signature(place.name, facts) for place in self._concluding),
            silent & self._drawing,
        )
        drawn = self._concluded.get(key)
        if drawn is None:
            after = engine.conclude(facts).situation
            names = [name for place in self._concluding for name in place.names]
            drawn = self._concluded[key] = {name: after.get(name) for name in names}
        return Growing({**facts, **drawn})


def _hall(table: PropertyTable, place: Place) -> _Hall:
    settled = sum(bit for column in table.settled for bit, _ in column.tests)
    return _Hall(table, tuple(rule.id for rule in place.rules), settled)
