"""All situations that can be, cut into so few cells that every question about conditions is decided exactly.

The values of an attribute fall into cells that no condition can tell apart: the values of a choice, and
for a number each limit that some condition names and each open stretch between two of them. A set of
values is then a bit mask over cells, and a conjunction is a box: one mask an attribute. What belongs
together (an alloy with its family, group and hardness) is a table of rows, and a box must meet a row.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from advisor.inference.tests import answer
from advisor.knowledge.rules import Condition
from advisor.knowledge.vocabulary import Attribute, Value, Vocabulary

Box = dict[str, int]
Literal = tuple[str, int]
#: The first cell of every attribute: nobody knows.
UNKNOWN = 1
Possible = Sequence[Value | None] | None


@dataclass(frozen=True, slots=True)
class Cells:
    """The cells of one attribute: a value for each, and the mask of those that can be at all."""

    values: tuple[Value | None, ...]
    full: int


@dataclass(frozen=True, slots=True)
class Joint:
    """Facts that come together: each row says for some attributes which values it can have."""

    name: str
    labels: tuple[str, ...]
    rows: tuple[Mapping[str, Possible], ...]

    @property
    def attributes(self) -> tuple[str, ...]:
        """Everything that some row speaks of."""
        return tuple(dict.fromkeys(key for row in self.rows for key in row))


@dataclass
class _Table:
    masks: tuple[Mapping[str, int], ...]
    every: int
    met: dict[Literal, int] = field(default_factory=dict)

    def rows(self, attribute: str, mask: int) -> int:
        """The rows that can have one of some values of an attribute."""
        key = (attribute, mask)
        found = self.met.get(key)
        if found is None:
            found = sum(1 << at for at, row in enumerate(self.masks) if row.get(attribute, -1) & mask)
            self.met[key] = found
        return found


class Space:
    """The cells of a vocabulary under some conditions, and the tables that tie attributes together."""

    def __init__(
        self, vocabulary: Vocabulary, conditions: Iterable[Condition], joints: Sequence[Joint] = ()
    ) -> None:
        self.vocabulary = vocabulary
        self.joints = tuple(joints)
        limits: dict[str, set[float]] = {}
        for condition in conditions:
            if vocabulary.testable[condition.attribute].kind == "number" and condition.operator != "known":
                limits.setdefault(condition.attribute, set()).update(map(float, condition.operand))
        self._cells = {
            key: _cells(attribute, sorted(limits.get(key, ())), vocabulary)
            for key, attribute in vocabulary.testable.items()
        }
        self._masks: dict[Condition, int] = {}
        self._tables = [
            _Table(
                tuple({key: self._possible(key, row[key]) for key in row} for row in joint.rows),
                (1 << len(joint.rows)) - 1,
            )
            for joint in self.joints
        ]
        self._table_of = {key: at for at, joint in enumerate(self.joints) for key in joint.attributes}

    def full(self, attribute: str) -> int:
        """Every value the attribute can have, not known included where that can be."""
        return self._cells[attribute].full

    def cell(self, attribute: str, value: Value | None) -> int:
        """The cell a value lies in, as a mask."""
        if value is None:
            return UNKNOWN
        if self.vocabulary.testable[attribute].kind != "number":
            return 1 << self._cells[attribute].values.index(value)
        values = self._cells[attribute].values
        number = float(value)
        for at in range(1, len(values)):
            if values[at] == number:
                return 1 << at
        # between two limits: stretches stand at odd places, each before its limit
        below = sum(1 for limit in values[2::2] if isinstance(limit, float) and limit < number)
        return 1 << (2 * below + 1)

    def values(self, attribute: str, mask: int) -> list[Value | None]:
        """One value for each cell of a mask; known ones first."""
        cells = self._cells[attribute].values
        found = [cells[at] for at in range(1, len(cells)) if mask >> at & 1]
        return [*found, None] if mask & UNKNOWN else found

    def mask(self, condition: Condition) -> int:
        """The cells that meet a condition, by the definition in `advisor.inference.tests`."""
        found = self._masks.get(condition)
        if found is None:
            cells = self._cells[condition.attribute]
            found = 0
            for at, value in enumerate(cells.values):
                if cells.full >> at & 1 and answer(condition, value, self.vocabulary) == "yes":
                    found |= 1 << at
            self._masks[condition] = found
        return found

    def box(self, conditions: Iterable[Condition]) -> Box:
        """The conjunction of some conditions; a mask in it may be empty."""
        box: Box = {}
        for condition in conditions:
            key = condition.attribute
            box[key] = box.get(key, self.full(key)) & self.mask(condition)
        return box

    def narrowed(self, box: Box, literals: Iterable[Literal]) -> Box | None:
        """The part of a box in which some more holds; None where no situation is left."""
        inner = dict(box)
        for key, mask in literals:
            left = inner.get(key, self._cells[key].full) & mask
            if not left:
                return None
            inner[key] = left
        return inner if self.meets(inner) else None

    def meets(self, box: Box) -> bool:
        """Whether some situation lies in a box."""
        rows: dict[int, int] = {}
        for key, mask in box.items():
            if not mask:
                return False
            at = self._table_of.get(key)
            if at is not None:
                table = self._tables[at]
                rows[at] = rows.get(at, table.every) & table.rows(key, mask)
                if not rows[at]:
                    return False
        return True

    def rows(self, joint: int, box: Box) -> list[int]:
        """The rows of a table that a box meets."""
        table = self._tables[joint]
        met = table.every
        for key, mask in box.items():
            if self._table_of.get(key) == joint:
                met &= table.rows(key, mask)
        return [at for at in range(len(table.masks)) if met >> at & 1]

    def point(self, box: Box) -> Box:
        """One situation of a box that has one: a single cell for each attribute it says something of.

        What a table's row settles is filled in; of what a box leaves open, a known value is taken.
        """
        point: Box = {}
        for at, table in enumerate(self._tables):
            row = table.masks[self.rows(at, box)[0]]
            for key, mask in row.items():
                left = mask & box.get(key, self.full(key))
                if key in box or left & (left - 1) == 0:
                    point[key] = _one(left)
        for key, mask in box.items():
            if key not in point:
                point[key] = _one(mask)
        return point

    def situation(self, point: Box) -> dict[str, Value | None]:
        """The values of a point."""
        return {key: self.values(key, mask)[0] for key, mask in point.items()}

    def _possible(self, attribute: str, values: Possible) -> int:
        if values is None:
            return self.full(attribute)
        mask = 0
        for value in values:
            mask |= self.cell(attribute, value)
        return mask & self.full(attribute)


def _one(mask: int) -> int:
    known = mask & ~UNKNOWN
    return known & -known or UNKNOWN


def _cells(attribute: Attribute, limits: Sequence[float], vocabulary: Vocabulary) -> Cells:
    values: tuple[Value | None, ...]
    if attribute.kind == "number":
        values = (None, *_stretches(limits, attribute.low, attribute.high))
    elif attribute.kind == "flag":
        values = (None, False, True)
    else:
        values = (None, *(tuple(vocabulary.grades) if attribute.kind == "grade" else attribute.values))
    full = 0
    for at, value in enumerate(values):
        if value is None:
            # what is presumed of an unknown attribute takes the place of not knowing
            full |= 0 if attribute.if_unknown else UNKNOWN
        elif attribute.kind != "number" or _inside(float(value), attribute):
            full |= 1 << at
    return Cells(values, full)


def _stretches(limits: Sequence[float], low: float | None, high: float | None) -> list[float]:
    """A value in each open stretch and each limit: below, first, between, second, ..., above."""
    if not limits:
        return [low if low is not None else 0.0]
    first, last = limits[0], limits[-1]
    found = [first - 1.0 if low is None or low >= first else (low + first) / 2]
    for before, after in pairwise(limits):
        found += [before, (before + after) / 2]
    return [*found, last, last + 1.0 if high is None or high <= last else (last + high) / 2]


def _inside(value: float, attribute: Attribute) -> bool:
    low, high = attribute.low, attribute.high
    return (low is None or value >= low) and (high is None or value <= high)
