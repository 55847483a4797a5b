"""The limits of a wheel and its spindle, held against the rpm of the day."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from advisor.process.reach import largest_wheel_radius, reaches
from advisor.process.shrinking import marked_rpm
from advisor.process.speed import diameter_for, rotational_speed, surface_speed
from advisor.today.model import Refusal
from advisor.units import System, figure, show

#: Rounding of a shown figure is never a reason to refuse.
SLACK = 1 + 1e-6


@dataclass(frozen=True, slots=True)
class WheelLimits:
    """What a wheel and its spindle allow; None is not known. Lengths in mm, speeds in m/s.

    `marked_speed` holds at the new wheel's diameter, so it becomes an rpm that holds for life. `least` is
    the diameter at which the wheel comes off, `hollow` the radius that the wheel must get into by its own.
    """

    new_diameter: float | None = None
    marked_speed: float | None = None
    marked_rpm: float | None = None
    spindle: tuple[float, float] | None = None
    least: float | None = None
    least_why: str = "it is worn out"
    hollow: float | None = None

    @property
    def marked(self) -> float | None:
        """The highest rpm that the marking allows."""
        found = [self.marked_rpm] if self.marked_rpm is not None else []
        if self.marked_speed is not None and self.new_diameter is not None:
            found.append(float(marked_rpm(self.marked_speed, self.new_diameter / 1e3)))
        return min(found, default=None)

    @property
    def highest(self) -> float | None:
        """What neither marking nor spindle lets the wheel pass."""
        return min(
            (each for each in (self.marked, self.spindle[1] if self.spindle else None) if each), default=None
        )


def refusals(diameter: float, speed: float, limits: WheelLimits, system: System = "si") -> Iterator[Refusal]:
    """Every limit that a wheel of `diameter` (mm) at `speed` (m/s) does not keep.

    >>> [item.limit for item in refusals(183, 45, WheelLimits(new_diameter=200, marked_speed=40))]
    ['marked speed', 'marked rpm']
    """

    def speed_text(value: float) -> str:
        return show(value, "m/s", system)

    def length(value: float) -> str:
        return show(value, "mm", system)

    rpm = float(rotational_speed(speed, diameter / 1e3))
    if limits.least is not None and diameter * SLACK < limits.least:
        yield Refusal(
            limit="smallest diameter", value=diameter, allowed=limits.least, unit="mm",
            text=f"The wheel measures {length(diameter)} and comes off at {length(limits.least)}: "
            f"{limits.least_why}.",
            helps="Put on a new wheel.",
        )  # fmt: skip
    if limits.hollow is not None and not reaches(diameter / 2e3, limits.hollow / 1e3):
        largest = 2e3 * float(largest_wheel_radius(limits.hollow / 1e3))
        yield Refusal(
            limit="reach", value=diameter, allowed=largest, unit="mm",
            text=f"A wheel of {length(diameter)} bridges a hollow of {length(limits.hollow)} radius: it measures "
            f"{length(math.floor(largest * 10) / 10)} at most.",
            helps="Take a smaller wheel; one that has worn gets into more than it did new.",
        )  # fmt: skip
    if limits.marked_speed is not None and speed > limits.marked_speed * SLACK:
        yield Refusal(
            limit="marked speed", value=speed, allowed=limits.marked_speed, unit="m/s",
            text=f"{speed_text(speed)} is above the {speed_text(limits.marked_speed)} marked on the wheel.",
            helps=f"Ask for {speed_text(limits.marked_speed)} or less, or take a wheel marked for more.",
        )  # fmt: skip
    for name, highest, what in (
        ("marked rpm", limits.marked, "the marking of the wheel allows, for life,"),
        ("spindle", limits.spindle[1] if limits.spindle else None, "the spindle turns"),
    ):
        if highest is not None and rpm > highest * SLACK:
            reached = float(surface_speed(diameter / 1e3, highest))
            needed = float(diameter_for(speed, highest)) * 1e3
            yield Refusal(
                limit=name, value=rpm, allowed=highest, unit="rpm",
                text=f"{speed_text(speed)} takes {figure(rpm)} rpm at {length(diameter)}; {what} "
                f"{figure(highest)} rpm at most.",
                helps=f"At this diameter go no faster than {speed_text(math.floor(reached * 10) / 10)}; for "
                f"{speed_text(speed)} the wheel must measure {length(math.ceil(needed * 10) / 10)} or more.",
            )  # fmt: skip
    if limits.spindle is not None and rpm * SLACK < limits.spindle[0]:
        reached = float(surface_speed(diameter / 1e3, limits.spindle[0]))
        yield Refusal(
            limit="slowest rpm", value=rpm, allowed=limits.spindle[0], unit="rpm",
            text=f"{speed_text(speed)} takes {figure(rpm)} rpm at {length(diameter)}; the spindle turns no "
            f"slower than {figure(limits.spindle[0])} rpm.",
            helps=f"Ask for {speed_text(math.ceil(reached * 10) / 10)} or more, or take a smaller wheel.",
        )  # fmt: skip
