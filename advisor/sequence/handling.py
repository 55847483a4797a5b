"""How a part is handled along the set-ups of a batch: how often it is taken in hand, how often it is turned.

A whole batch goes through a set-up before its station is set up anew. Stations that are each set up once
serve a part in one go; in that go it is turned, or clamped anew, where another face comes next.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass

#: A visit as handling sees it: its station, and the faces that it serves.
Stop = tuple[Hashable, frozenset[int]]


@dataclass(frozen=True, slots=True)
class Handling:
    """What handling adds to a plan for one part, in the unit of its cost.

    `hold` loads and unloads it once, `turn` shows another face to the tool. `one_part`: nothing waits for a
    set-up, the part stays in hand.
    """

    hold: float = 0.0
    turn: float = 0.0
    one_part: bool = False

    def cost(self, stops: Sequence[Stop]) -> float:
        """The handling of a part that goes through some visits in their order.

        >>> belt, web = ("belt", frozenset({0, 1})), ("web", frozenset({0}))
        >>> Handling(hold=20.0, turn=6.0).cost([belt, web]), Handling(hold=20.0, turn=6.0).cost([belt, web, belt])
        (26.0, 52.0)
        """
        goes = in_goes(stops, self.one_part)
        return self.hold * len(goes) + self.turn * sum(turns(go) for go in goes)

    def at_least(self, faces: int, set_ups: Mapping[Hashable, int]) -> float:
        """Never more than `cost`: every face is shown once, and no station is set up twice in one go."""
        goes = 1 if self.one_part else max(set_ups.values(), default=1)
        return self.hold * goes + min(self.hold, self.turn) * max(0, faces - goes)


def in_goes(stops: Sequence[Stop], one_part: bool = False) -> list[list[frozenset[int]]]:
    """The faces served visit by visit, in one list for each time that a part is taken in hand.

    >>> len(in_goes([("a", frozenset({0})), ("b", frozenset({0})), ("a", frozenset({0}))]))
    2
    """
    goes: list[list[frozenset[int]]] = [[]]
    been: set[Hashable] = set()
    for station, faces in stops:
        if station in been and not one_part:
            goes.append([])
            been = set()
        been.add(station)
        goes[-1].append(faces)
    return goes


def turns(go: Sequence[frozenset[int]]) -> int:
    """The fewest turns of a part from face to face in one go, each visit serving its faces one after another.

    >>> turns([frozenset({0, 1}), frozenset({0, 1}), frozenset({1})])
    2
    """
    count, ends = 0, frozenset[int]()
    for place, faces in enumerate(go):
        starts = faces & ends if place else faces
        if not starts:
            starts, count = faces, count + 1
        # A visit to several faces ends on another one than it began with.
        ends = faces if len(faces) == 1 or len(starts) > 1 else faces - starts
        count += len(faces) - 1
    return count


def arranged(go: Sequence[frozenset[int]]) -> Iterator[tuple[int, ...]]:
    """The faces of each visit in an order with the fewest turns; faces that are alike in this come as numbered."""
    best: list[dict[int, tuple[int, int, int]]] = []  # for each last face: turns so far, first face, last one before
    for place, faces in enumerate(go):
        row: dict[int, tuple[int, int, int]] = {}
        for first in sorted(faces):
            before = [(0, -1)] if place == 0 else [(n + (end != first), end) for end, (n, _, _) in best[-1].items()]
            least, end = min(before)
            for last in sorted(faces):
                if len(faces) == 1 or first != last:
                    found = (least + len(faces) - 1, first, end)
                    row[last] = min(row.get(last, found), found)
        best.append(row)
    order: list[tuple[int, ...]] = []
    last = min(best[-1], key=lambda face: (best[-1][face][0], face)) if best else -1
    for faces, row in zip(reversed(go), reversed(best), strict=True):
        _, first, before_it = row[last]
        middle = sorted(faces - {first, last})
        order.append((first, *middle, last) if len(faces) > 1 else (first,))
        last = before_it
    yield from reversed(order)
