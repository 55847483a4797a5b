"""Finds where an answer switches along a range: points that the rules name first, then halving."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Generic, TypeVar

T = TypeVar("T", bound=Hashable)

#: How closely a switch is found, as a share of where it lies.
CLOSE = 0.01
#: Points spread over a range whatever the rules say: a switch by cost alone has no limit that names it.
SPREAD = 17


@dataclass(frozen=True, slots=True)
class Switch(Generic[T]):
    """Between `below` and `above` the answer goes over from one to another; nothing lies between that was asked."""

    below: float
    above: float
    before: T
    after: T


@dataclass(frozen=True, slots=True)
class Stretch(Generic[T]):
    """The answer from `low` to `high`, both of them asked."""

    low: float
    high: float
    answer: T


def scan(
    answer: Callable[[float], T],
    low: float,
    high: float,
    limits: Iterable[float] = (),
    *,
    close: float = CLOSE,
    whole: bool = False,
    spread: int = SPREAD,
) -> tuple[tuple[Stretch[T], ...], int]:
    """The stretches of one answer from `low` to `high`, ends included, and how many points were asked.

    Asked are both ends, every one of the `limits` inside, the middle between each two of those, and points
    spread over the range. Where two neighbours differ, the stretch between is halved until the switch is
    known to a share of `close` (of whole numbers: exactly). A switch there and back between two points
    that were asked and agree is not seen: no rule can make one, a tie of costs could.

    >>> stretches, asked = scan(lambda x: x >= 20, 5, 60, [40])
    >>> [(round(each.low, 1), round(each.high, 1), each.answer) for each in stretches]
    [(5, 19.9, False), (20.0, 60, True)]
    """
    known: dict[float, T] = {}

    def ask(point: float) -> T:
        if point not in known:
            known[point] = answer(point)
        return known[point]

    points = _points(low, high, limits, whole, spread)
    for first, second in pairwise(points):
        _halve(ask, first, second, close, whole)
    if len(points) == 1:
        ask(points[0])
    return tuple(_stretches(known)), len(known)


def switches(stretches: Iterable[Stretch[T]]) -> tuple[Switch[T], ...]:
    """Where one stretch goes over into the next."""
    return tuple(
        Switch(first.high, second.low, first.answer, second.answer) for first, second in pairwise(stretches)
    )


def _points(low: float, high: float, limits: Iterable[float], whole: bool, spread: int) -> list[float]:
    named = sorted({low, high, *(limit for limit in limits if low < limit < high)})
    middles = [(first + second) / 2 for first, second in pairwise(named)]
    wide = low > 0 and high / low > 3
    shares = [place / (spread - 1) for place in range(1, spread - 1)]
    grid = [low * (high / low) ** share if wide else low + (high - low) * share for share in shares]
    found = [*named, *middles, *grid]
    if whole:
        # Beside each limit the next whole numbers count: above 12 and at least 13 are one thing there.
        found = [float(each) for point in found for each in (math.floor(point), math.ceil(point))]
    return sorted({point for point in found if low <= point <= high})


def _halve(ask: Callable[[float], T], first: float, second: float, close: float, whole: bool) -> None:
    """Ask between two points until every switch between them is known closely enough."""
    if ask(first) == ask(second):
        return
    if whole:
        middle = float((first + second) // 2)
        if middle in (first, second):
            return
    else:
        middle = (first + second) / 2
        if second - first <= close * max(abs(first), abs(second)) or middle in (first, second):
            return
    _halve(ask, first, middle, close, whole)
    _halve(ask, middle, second, close, whole)


def _stretches(known: dict[float, T]) -> Iterator[Stretch[T]]:
    points = sorted(known)
    start = points[0]
    for first, second in pairwise(points):
        if known[first] != known[second]:
            yield Stretch(start, first, known[first])
            start = second
    yield Stretch(start, points[-1], known[points[-1]])
