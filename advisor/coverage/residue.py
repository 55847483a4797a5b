"""What the rules can still tell apart once everything but the start and the finish of a face is fixed.

Planning hundreds of faces that differ in their start and finish only, the same questions come up again
and again. Two situations that leave the same rules alive, in the same state, get the same answer from
every decision, so the answer is kept under that state.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from advisor.inference.tests import Situation, answer
from advisor.knowledge.rules import Advice, Conclusion, Condition, Rule
from advisor.knowledge.vocabulary import Value, Vocabulary

#: What differs between two faces of the sweep that have alloy, shape and cell in common.
VARYING = frozenset(
    {
        "defect", "defect.local", "defect.kind", "depth_mm", "remaining_mm", "incoming_ra_um", "felt",
        "coating.hazard", "finish.key", "finish.designation", "finish.texture", "finish.lay",
        "finish.ra_low_um", "finish.ra_high_um", "finish.sample",
    }
)  # fmt: skip

State = bytes
_DEAD, _ALIVE, _QUESTIONED = b"daq"


@dataclass(frozen=True, slots=True)
class Residue:
    """What is left of a rule: the varying conditions of its `when`, and those of its `unless`.

    `silenced` is None where there is no `unless`, or the fixed facts keep it from holding; `open_unless`
    tells that it also tests decisions or conclusions, which come later.
    """

    when: tuple[Condition, ...]
    silenced: tuple[Condition, ...] | None
    open_unless: bool


def fixed_facts(
    facts: Situation, stage: str, vocabulary: Vocabulary, media: str | None = None
) -> dict[str, Value | None]:
    """The facts that hold for every face of a bench at a stage; with `media`, once it is chosen.

    Decisions, conclusions, and what the search or a formula sets later are left out: they are open.
    """
    fixed: dict[str, Value | None] = {"stage": stage, "symptom": None, "handling": facts.get("handling")}
    for key, attribute in vocabulary.attributes.items():
        if attribute.set_by in ("job", "table") and key not in VARYING:
            fixed[key] = facts.get(key)
    if media is not None:
        fixed["media"] = media
    return fixed


class Residues:
    """All residues under some fixed facts, with the states of the situations seen so far."""

    def __init__(self, left: Sequence[Residue], vocabulary: Vocabulary) -> None:
        self._vocabulary = vocabulary
        bits: dict[Condition, int] = {}
        self._masks = [
            (
                _mask(residue.when, bits),
                None if residue.silenced is None else _mask(residue.silenced, bits),
                residue.open_unless,
            )
            for residue in left
        ]
        self._tests: dict[str, list[tuple[int, Condition]]] = {}
        for condition, bit in bits.items():
            self._tests.setdefault(condition.attribute, []).append((bit, condition))
        self._seen: dict[tuple[str, Value | None], int] = {}
        self._states: dict[int, State] = {}

    def state(self, facts: Situation) -> State:
        """One letter a residue: dead, alive, or alive unless something that is still open silences it."""
        held = 0
        for attribute in self._tests:
            value = facts.get(attribute)
            bits = self._seen.get((attribute, value))
            held |= self._bits(attribute, value) if bits is None else bits
        found = self._states.get(held)
        if found is None:
            found = self._states[held] = bytes(_letter(held, *masks) for masks in self._masks)
        return found

    def _bits(self, attribute: str, value: Value | None) -> int:
        held = 0
        for bit, condition in self._tests[attribute]:
            if answer(condition, value, self._vocabulary) == "yes":
                held |= bit
        self._seen[attribute, value] = held
        return held


def _mask(conditions: Iterable[Condition], bits: dict[Condition, int]) -> int:
    mask = 0
    for condition in conditions:
        mask |= bits.setdefault(condition, 1 << len(bits))
    return mask


def _letter(held: int, when: int, silenced: int | None, open_unless: bool) -> int:
    if held & when != when:
        return _DEAD
    if silenced is None or held & silenced != silenced:
        return _ALIVE
    return _QUESTIONED if open_unless else _DEAD


def residues(rules: Iterable[Rule], fixed: Situation, vocabulary: Vocabulary) -> Residues:
    """What is left of the rules that advise or conclude and that the fixed facts do not rule out."""
    left = []
    for rule in rules:
        if not any(isinstance(item, (Advice, Conclusion)) for item in rule.then):
            continue
        if any(_ruled_out(item, fixed, vocabulary) for item in rule.when):
            continue
        when = tuple(item for item in rule.when if item.attribute in VARYING)
        silenced: tuple[Condition, ...] | None = None
        open_unless = False
        if rule.unless and not any(_ruled_out(item, fixed, vocabulary) for item in rule.unless):
            silenced = tuple(item for item in rule.unless if item.attribute in VARYING)
            open_unless = any(
                item.attribute not in VARYING and item.attribute not in fixed for item in rule.unless
            )
        if when or silenced:
            left.append(Residue(when, silenced, open_unless))
    return Residues(tuple(dict.fromkeys(left)), vocabulary)


def _ruled_out(condition: Condition, fixed: Situation, vocabulary: Vocabulary) -> bool:
    if condition.attribute in VARYING or condition.attribute not in fixed:
        return False
    return answer(condition, fixed[condition.attribute], vocabulary) != "yes"
