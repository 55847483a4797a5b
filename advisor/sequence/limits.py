"""Limits that only show in the numbers: power, load on the grain, force of the compliant tool."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from advisor.choices.model import Choice, RangeChoice
from advisor.figures.coefficients import Values
from advisor.figures.effect import Effect
from advisor.figures.setup import Setup
from advisor.job.model import Job
from advisor.sequence.offers import Tool
from advisor.units import figure

#: Share of the station's power that a plan may ask for; the rest is for starting and a dull belt.
POWER_SHARE = 0.8
#: A tough grain wants at least this many times the pressure at which it begins to cut.
TOUGH_MARGIN = 2.0


@dataclass(frozen=True, slots=True)
class Unmet:
    """A limit that a set-up does not keep: what it is, what would be allowed, and what would help."""

    media: str
    limit: str
    value: float
    allowed: float
    unit: str
    text: str
    opens: str
    source: str = "own-estimate"


def power_limited(
    setup: Setup, effect: Effect, values: Values, choices: Mapping[str, Choice], tool: Tool
) -> tuple[Setup, Unmet | None]:
    """The set-up with its force lowered to what the station can drive, or the limit it fails.

    The force is never lowered below the window that the rules leave.
    """
    power = tool.station.power_kw
    allowed = POWER_SHARE * power * 1e3 if power is not None else float("inf")
    if float(effect.power) <= allowed:
        return setup, None
    choice = choices.get("force")
    lowest = choice.low * 1e3 if isinstance(choice, RangeChoice) else setup.line_load
    lowered = setup.line_load * allowed / float(effect.power)
    if lowered >= lowest:
        return replace(setup, line_load=lowered), None
    needed = float(effect.power) * lowest / setup.line_load
    text = (
        f"A {setup.media.name} pressed with {figure(lowest * setup.contact_width)} N at {figure(setup.speed)} m/s "
        f"draws {figure(needed)} W; {tool.station.name} may give {figure(allowed)} W."
    )
    opens = "a stronger spindle, a narrower wheel or a lower surface speed"
    return setup, Unmet(setup.media.key, "power", needed, allowed, "W", text, opens)


def unmet_limits(setup: Setup, effect: Effect, job: Job) -> Iterator[Unmet]:
    """The limits that a set-up does not keep."""
    yield from _compliance(setup, job)
    if effect.contact is None:
        return
    pressure, least = float(effect.contact.grain_pressure), float(effect.minimum_pressure)
    wanted = least * (TOUGH_MARGIN if setup.tough else 1.0)
    if pressure <= wanted:
        text = (
            f"{setup.grade.name if setup.grade else setup.media.name} under {figure(pressure / 1e3)} kPa rubs "
            f"and glazes; this grain wants {figure(wanted / 1e3)} kPa on this metal."
        )
        opens = "a harder or smaller wheel, a narrower one, or a grain that cuts at low pressure"
        yield Unmet(
            setup.media.key, "pressure on the grain", pressure / 1e3, wanted / 1e3, "kPa", text, opens
        )


def _compliance(setup: Setup, job: Job) -> Iterator[Unmet]:
    window = job.cell.compliance.force_n if job.cell.compliance else None
    if window is None:
        return
    low, high = window
    if setup.force < low * 0.999:
        text = f"The step wants {figure(setup.force)} N; the compliant tool holds no less than {low:g} N."
        yield Unmet(
            setup.media.key, "force", setup.force, low, "N", text, "a wider wheel or a finer force range"
        )
    if setup.force > high * 1.001:
        text = f"The step wants {figure(setup.force)} N; the compliant tool holds no more than {high:g} N."
        yield Unmet(
            setup.media.key, "force", setup.force, high, "N", text, "a narrower wheel or a stronger tool"
        )
