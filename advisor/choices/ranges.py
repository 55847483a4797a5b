"""The standing of stretches: pressure class, grade, hardness, width, speed, force, and the like.

`must` and `never` bound the stretch. Then concern after concern narrows what is left; a window
that would leave nothing is struck out and only pulls the aim to its nearer end, of several the one of
the highest concern. `may` sets the aim.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from advisor.choices.model import Conflict, RangeChoice, Spoken, Struck
from advisor.knowledge.rules import Rule, Span
from advisor.knowledge.vocabulary import CONCERNS

#: Where the aim lies inside a window.
AIMS = {"low": 0.0, "middle": 0.5, "high": 1.0, "third": 1 / 3, "coarse": 0.0, "fine": 1.0}
_SHARP = ("safety", "specification", "corrosion", "form")  # windows here may not contradict each other


Window = tuple[float, float]


@dataclass(frozen=True, slots=True)
class _Left:
    """What is left of the stretch while rules narrow it. `values` where only some can be had."""

    low: float
    high: float
    values: tuple[float, ...] | None

    def cut(self, low: float, high: float) -> _Left | None:
        """The part inside a window, or None where nothing is."""
        bottom, top = max(self.low, low), min(self.high, high)
        if bottom > top + 1e-12:
            return None
        if self.values is None:
            return _Left(bottom, top, None)
        inside = tuple(value for value in self.values if bottom - 1e-9 <= value <= top + 1e-9)
        return _Left(min(inside), max(inside), inside) if inside else None


_EVERYTHING = _Left(-math.inf, math.inf, None)


def choose_range(
    decision: str,
    low: float,
    high: float,
    spoken: Sequence[Spoken],
    default_aim: str,
    struck: Sequence[Struck] = (),
    values: Sequence[float] | None = None,
    whole: bool = False,
    wanted: float | None = None,
) -> RangeChoice:
    """The window that the rules leave of `low` to `high`, and the value aimed at.

    `values` lists what can be had at all (hardnesses on the shelf); `whole` says that only whole
    numbers exist (places in an order), so that an open end moves by one. `wanted` is the value
    aimed at where no rule sets the aim, instead of a share of the window.
    """
    start = _Left(low, high, tuple(sorted(values)) if values is not None else None)
    start = start.cut(low, high) or _Left(low, high, None)
    left, conflict = _bound(decision, start, spoken, whole)
    if conflict:
        return RangeChoice(decision, low, high, low, default_aim, conflict=conflict, struck=tuple(struck))
    out = list(struck)
    shaping = [(item.rule, _window(item, _EVERYTHING, whole)) for item in _binding(spoken)]
    pull: float | None = None
    contested: list[Spoken] = []
    for concern in CONCERNS:
        here = [
            item
            for item in spoken
            if item.rule.concern == concern
            and item.advice.span is not None
            and item.advice.strength in ("should", "avoid")
        ]
        if not here:
            continue
        window = _together(here, left, whole)
        if window is None and concern in _SHARP:
            rules = tuple(dict.fromkeys(item.rule for item in here))
            what = f"the {concern} windows for {decision} do not meet"
            conflict = Conflict(decision, rules, what, hidden=False)
            return RangeChoice(decision, low, high, low, default_aim, conflict=conflict, struck=tuple(out))
        if window is None:
            contested += here
            continue
        narrowed = left.cut(*window)
        if narrowed is None:
            winner = _winner(shaping, window)
            out += [Struck(item, winner) for item in here]
            pull = _pull(window, left, shaping) if pull is None else pull
            continue
        left = narrowed
        shaping += [(item.rule, window) for item in here]
    aim, aimed, by = _aim(left, spoken, whole, default_aim, pull)
    if not by and pull is None and wanted is not None:
        aimed = min(max(wanted, left.low), left.high)
    shaped_by = {rule.id: rule for rule in (*(rule for rule, _ in shaping), *(item.rule for item in by))}
    return RangeChoice(
        decision,
        left.low,
        left.high,
        _snap(left, aimed),
        aim,
        tuple(shaped_by.values()),
        tuple(out),
        tuple(contested),
    )


def _binding(spoken: Sequence[Spoken]) -> list[Spoken]:
    return [item for item in spoken if item.advice.strength in ("must", "never") and item.advice.span]


def _bound(
    decision: str, start: _Left, spoken: Sequence[Spoken], whole: bool
) -> tuple[_Left, Conflict | None]:
    """The stretch inside all musts and nevers, or the conflict that leaves nothing."""
    bounds = [_window(item, _EVERYTHING, whole) for item in _binding(spoken)]
    low = max((window[0] for window in bounds), default=-math.inf)
    high = min((window[1] for window in bounds), default=math.inf)
    left = start.cut(low, high)
    if left is not None:
        return left, None
    rules = tuple(dict.fromkeys(item.rule for item in _binding(spoken)))
    if low <= high:
        what = f"what is required for {decision} is not to be had here"
        return start, Conflict(decision, rules, what, hidden=True)
    return start, Conflict(decision, rules, f"the rules leave nothing for {decision}", hidden=False)


def _together(here: Sequence[Spoken], left: _Left, whole: bool) -> Window | None:
    """The common window of one concern's advice, or None where its windows do not meet."""
    low, high = -math.inf, math.inf
    for item in here:
        bottom, top = _window(item, left, whole)
        low, high = max(low, bottom), min(high, top)
    return (low, high) if low <= high else None


def _window(item: Spoken, left: _Left, whole: bool) -> Window:
    """The window a piece of advice asks for; avoiding a stretch is asking for the rest of it."""
    span = item.advice.span or Span()
    if item.advice.strength in ("must", "should", "may"):
        return _ends(span, whole)
    below = (-math.inf, _just_below(span, whole)) if span.low is not None else None
    above = (_just_above(span, whole), math.inf) if span.high is not None else None
    if below and above:
        room_below, room_above = below[1] - left.low, left.high - above[0]
        return below if room_below >= room_above else above
    return below or above or (-math.inf, math.inf)


def _ends(span: Span, whole: bool) -> Window:
    step = 1.0 if whole else 1e-9
    low = -math.inf if span.low is None else span.low + step * span.low_open
    high = math.inf if span.high is None else span.high - step * span.high_open
    return low, high


def _just_below(span: Span, whole: bool) -> float:
    low = span.low if span.low is not None else -math.inf
    return low if span.low_open else low - (1.0 if whole else 1e-9)


def _just_above(span: Span, whole: bool) -> float:
    high = span.high if span.high is not None else math.inf
    return high if span.high_open else high + (1.0 if whole else 1e-9)


def _winner(shaping: Sequence[tuple[Rule, Window]], window: Window) -> str:
    """The rule whose window keeps this one out; the tables and the cell where no rule does."""
    against = [rule for rule, (low, high) in shaping if low > window[1] or high < window[0]]
    return against[0].id if against else "what the cell and the tables offer"


def _pull(window: Window, left: _Left, shaping: Sequence[tuple[Rule, Window]]) -> float | None:
    """Where a window that is struck out still pulls the value; nothing leans on a limit of safety."""
    safe = [bounds for rule, bounds in shaping if rule.concern == "safety"]
    if window[1] < left.low:
        return None if any(low >= left.low - 1e-9 for low, _ in safe) else left.low
    if window[0] > left.high:
        return None if any(high <= left.high + 1e-9 for _, high in safe) else left.high
    return (window[0] + window[1]) / 2  # between two values that can be had


def _aim(
    left: _Left, spoken: Sequence[Spoken], whole: bool, default_aim: str, pull: float | None
) -> tuple[str, float, Sequence[Spoken]]:
    """What the value aims at: a struck window's nearer end, else the aim of the highest concern.

    Within a concern the stronger word is heard first; where its rules aim at different things, they
    cancel out and the next is asked.
    """
    if pull is not None:
        aimed = min(max(pull, left.low), left.high)
        return "low" if aimed == left.low else "high" if aimed == left.high else "middle", aimed, ()
    for concern in CONCERNS:
        for strength in ("must", "should", "may"):
            here = [
                item
                for item in spoken
                if (item.rule.concern, item.advice.strength) == (concern, strength)
                and (item.advice.aim or (strength == "may" and item.advice.span))
            ]
            said = _aimed(here, left, whole, default_aim)
            if said is not None:
                return *said, here
    return default_aim, _point(left, default_aim), ()


def _aimed(here: Sequence[Spoken], left: _Left, whole: bool, default_aim: str) -> tuple[str, float] | None:
    """The one thing that some advice aims at inside what is left; None where it says nothing in common."""
    aims = {item.advice.aim for item in here if item.advice.aim}
    mays = [item for item in here if item.advice.strength == "may" and item.advice.span]
    window = _together(mays, left, whole)
    if not here or len(aims) > 1 or window is None:
        return None
    bottom, top = max(window[0], left.low), min(window[1], left.high)
    if bottom > top:  # what may be lies outside: its nearer end
        return "may", left.high if bottom > left.high else left.low
    aim = aims.pop() if aims else None
    return aim or "may", _point(_Left(bottom, top, None), aim or default_aim)


def _point(left: _Left, aim: str) -> float:
    return left.low + AIMS[aim] * (left.high - left.low)


def _snap(left: _Left, wanted: float) -> float:
    """The wanted value, or the nearest one that can be had (of two as near, the lower)."""
    if left.values is None:
        return wanted
    return min(left.values, key=lambda value: (abs(value - wanted), value))
