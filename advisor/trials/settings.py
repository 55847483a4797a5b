"""The settings that can be moved between two tries: their next values, how they are written, how they read."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from advisor.choices.decide import Room
from advisor.choices.model import RangeChoice
from advisor.knowledge.vocabulary import Value
from advisor.trials.binding import speeds
from advisor.trials.case import Case
from advisor.trials.fields import USED_FIELDS
from advisor.trials.run import Run
from advisor.units import figure, quantity_text, show

#: In how many places a stretch is looked at.
_PLACES = 24
#: How many grades to either side are looked at.
GRADES_ASIDE = 6


@dataclass(frozen=True, slots=True)
class Setting:
    """One decision with a value, and how it is written in a trial file."""

    decision: str
    value: Value
    key: str
    written: str | int | float
    shown: str


def setting(case: Case, decision: str, value: Value, base: Run) -> Setting:
    """A value of a decision as it stands in a trial file and as it reads; a force is the whole force in N."""
    field = next(each for each in USED_FIELDS if each.decision == decision)
    if decision == "force" and isinstance(value, (int, float)):
        newtons = float(value) * base.setup.contact_width * 1e3
        return Setting(decision, value, field.key, quantity_text(round(newtons, 4), "N"), show(newtons, "N"))
    if field.kind == "quantity" and isinstance(value, (int, float)):
        return Setting(
            decision,
            value,
            field.key,
            quantity_text(round(float(value), 4), field.unit),
            show(float(value), field.unit),
        )
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        number = int(value) if float(value).is_integer() else float(value)
        unit = "passes" if decision == "passes" else field.unit
        shown = f"{figure(float(value))} {'pass' if number == 1 and decision == 'passes' else unit}"
        return Setting(decision, value, field.key, number, shown.replace(" %", " %"))
    return Setting(decision, value, field.key, str(value), str(value))


def choices_of(case: Case, decision: str, base: Run) -> tuple[Value, ...]:
    """Values that the next try could take, in their order, inside what the rules recommend here.

    Rounded to what a person can set. The value of today is among them only by chance.
    """
    if decision == "grade":
        return tuple(_grades(base))
    if decision == "wheel_hardness":
        return tuple(_hardness(base))
    if decision == "passes":
        counts = case.desk.decider.stretch("passes", base.facts, Room(*base.tool.media.passes, None, "low"))
        most = max(int(counts.high + 1e-9), base.passes)
        return tuple(float(count) for count in range(max(1, math.ceil(counts.low - 1e-9)), most + 1))
    window = base.choices.get(decision)
    if not isinstance(window, RangeChoice):
        return ()
    low, high = window.low, window.high
    today = base.values.get(decision)
    if isinstance(today, (int, float)):  # what runs today is no worse than what is recommended
        low, high = min(low, float(today)), max(high, float(today))
    if decision == "surface_speed":
        slow, fast = speeds(base.tool, base.setup.diameter * 1e3)
        low, high = max(low, slow), min(high, fast)
    if low <= 0 or high <= low:
        return ()
    ratio = (high / low) ** (1 / (_PLACES - 1))
    width = base.setup.contact_width * 1e3 if decision == "force" else 1.0
    return tuple(dict.fromkeys(_settable(low * ratio**place, low, high, width) for place in range(_PLACES)))


def _settable(value: float, low: float, high: float, width: float) -> float:
    """The nearest value that can be set by hand (N, m/s, mm/s), still inside its window."""
    shown = value * width
    step = 0.1 if shown < 3 else 0.5 if shown < 20 else 1.0
    rounded = round(shown / step) * step / width
    return min(max(rounded, low), high)


def _grades(base: Run) -> Iterator[str]:
    if base.grade is None:
        return
    listed = base.tool.media.grades
    here = listed.index(base.grade.key) if base.grade.key in listed else 0
    for place in range(max(0, here - GRADES_ASIDE), min(len(listed), here + GRADES_ASIDE + 1)):
        if place != here:
            yield listed[place]


def _hardness(base: Run) -> Iterator[float]:
    today, bounds = base.values.get("wheel_hardness"), base.tool.media.hardness
    if bounds is None or not isinstance(today, (int, float)):
        return
    shelf = base.tool.station.wheel_hardness or tuple(float(value) for value in range(20, 95, 10))
    for value in sorted(shelf):
        if bounds[0] <= value <= bounds[1] and value != today:
            yield float(value)
