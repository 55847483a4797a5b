"""Settings of a wheel as it is today, by itself or as a step of a stored sheet has it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from advisor.job.model import Job
from advisor.knowledge.cell import Station
from advisor.process.shrinking import force_trim, stiffness_factor, stiffness_flags
from advisor.process.speed import rotational_speed, surface_speed
from advisor.sheet.model import Step, Wear, WearPoint
from advisor.today.limits import SLACK, WheelLimits, refusals
from advisor.today.model import WheelToday
from advisor.units import System, show

UNMARKED = (
    "Nothing here knows what is marked on the wheel: read its marked speed or rpm, and never pass it, nor the "
    "highest rpm of the spindle."
)
MARKING = "The marking on the wheel and the maker's instructions come before this figure."
ANOTHER_WHEEL = (
    "Force and contact are those of the wheel on the sheet; a wheel of another size presses differently."
)
#: Diameters closer than this share are one: a sheet rounds its figures to six digits.
_SAME = 1e-5


def by_itself(diameter: float, speed: float, limits: WheelLimits, system: System = "si") -> WheelToday:
    """The rpm of a wheel of `diameter` (mm) at `speed` (m/s), both above zero, inside what is known of it.

    >>> by_itself(183, 25, WheelLimits(spindle=(600, 3600))).rpm
    2609
    """
    refused = tuple(refusals(diameter, speed, limits, system))
    rpm = None if refused else _whole(float(rotational_speed(speed, diameter / 1e3)), limits.highest)
    index = (limits.new_diameter - diameter) / 2 if limits.new_diameter else None
    return WheelToday(
        diameter_mm=diameter,
        surface_speed_m_s=speed,
        rpm=rpm,
        index_mm=index if index is not None and index >= 0 else None,
        change_out_mm=limits.least,
        highest_rpm=limits.highest,
        refused=refused,
        cautions=(MARKING,) if limits.marked else (UNMARKED,),
    )


def on_sheet(
    step: Step,
    job: Job,
    name: str,
    diameter: float,
    speed: float | None = None,
    system: System = "si",
    hollow: float | None = None,
) -> WheelToday:
    """What a step of a sheet asks of its wheel at `diameter` (mm), at another surface speed where one is given.

    The same formulas, from the same stored figures, as the sheet's own schedule, and its own rows where the
    diameter is one of them. `hollow` is the radius (mm) that the wheel must get into by its own, None where the
    face is none or the media bends into it. Raises ValueError for a step without a wheel, or a shrinking
    wheel larger than new.
    """
    if step.wheel is None or step.wheel.diameter_mm is None or step.surface_speed_m_s is None:
        raise ValueError("the step has no wheel")
    new, wear = step.wheel.diameter_mm, step.wear or Wear()
    if wear.schedule and diameter > new * (1 + _SAME):
        raise ValueError("a wheel that wears away is never larger than it was new")
    limits = replace(limits_of(step, job), hollow=hollow)
    wanted = step.surface_speed_m_s if speed is None else speed
    row = _row(wear.schedule, diameter) if speed is None else None
    reached = _reached(diameter, wanted, limits) if speed is None else wanted
    refused = tuple(refusals(diameter, reached, limits, system))
    trim, doubts = _trim(wear, new, diameter)
    least = job.cell.compliance.force_n[0] if job.cell.compliance and job.cell.compliance.force_n else 0.0
    force = None if step.force_n is None else step.force_n * trim
    if force is not None and wear.schedule:
        force = max(least, force)
    if row is not None and row.force_n is not None:
        force = row.force_n
    rpm = _whole(float(rotational_speed(reached, diameter / 1e3)), limits.highest)
    kept = not refused
    touched = diameter - 2 * (wear.touch_off_mm or 0.0)
    again = bool(wear.touch_off_mm) and touched > (wear.change_out_mm or 0.0)  # else it comes off before
    window = step.windows.surface_speed_m_s
    notes = [*doubts]
    if window is not None and not window[0] / SLACK <= reached <= window[1] * SLACK:
        inside = " to ".join(show(each, "m/s", system) for each in window)
        notes.append(f"{show(reached, 'm/s', system)} lies outside the {inside} of the sheet for this step.")
    if not wear.schedule and abs(diameter - new) > new * _SAME:
        notes.append(ANOTHER_WHEEL)
    return WheelToday(
        diameter_mm=diameter,
        surface_speed_m_s=row.surface_speed_m_s if row and row.surface_speed_m_s else reached,
        rpm=(row.rpm if row else rpm) if kept else None,
        force_n=force if kept else None,
        force_trim=force / step.force_n if kept and force is not None and step.force_n else None,
        index_mm=(row.index_mm if row else (new - diameter) / 2) if kept and wear.schedule else None,
        touch_off_parts=_parts(wear, new, diameter, touched) if kept and again else None,
        touch_off_mm=wear.touch_off_mm if kept and again else None,
        parts_left=_parts(wear, new, diameter, wear.change_out_mm) if kept else None,
        change_out_mm=wear.change_out_mm,
        highest_rpm=limits.highest,
        step=name,
        refused=refused,
        doubts=tuple(notes),
        cautions=(MARKING,) if limits.marked else (UNMARKED,),
    )


def limits_of(step: Step, job: Job) -> WheelLimits:
    """What the step's wheel and the station of the sheet's job allow."""
    wear = step.wear or Wear()
    station = station_of(step, job)
    marks = [step.marked_speed_m_s, station.marked_speed_m_s if station else None]
    known = [each for each in marks if each is not None]
    least = [each for each in (wear.change_out_mm, station.min_diameter_mm if station else None) if each]
    return WheelLimits(
        new_diameter=step.wheel.diameter_mm if step.wheel else None,
        marked_speed=min(known, default=None),
        spindle=station.speed_rpm if station else None,
        least=max(least, default=None),
        least_why=(wear.change_out or "the station takes no smaller one").rpartition(": ")[2],
    )


def station_of(step: Step, job: Job) -> Station | None:
    """The station of a step in the cell of the job."""
    return next((each for each in job.cell.stations if each.name == step.station), None)


def _reached(diameter: float, wanted: float, limits: WheelLimits) -> float:
    """The speed that the sheet plans: the wanted one, or what the highest rpm leaves of it on a worn wheel."""
    if limits.highest is None:
        return wanted
    return min(wanted, float(surface_speed(diameter / 1e3, limits.highest)))


def _whole(rpm: float, highest: float | None) -> int:
    """Whole turns, never above the highest."""
    if highest is not None and rpm >= highest / SLACK:
        return int(highest + 1e-6)
    return round(rpm)


def _row(schedule: Sequence[WearPoint], diameter: float) -> WearPoint | None:
    return next((row for row in schedule if abs(row.diameter_mm - diameter) <= diameter * _SAME), None)


def _trim(wear: Wear, new: float, diameter: float) -> tuple[float, tuple[str, ...]]:
    """By what the force is multiplied on the worn wheel, and the doubts; 1 where it does not wear away."""
    if wear.core_mm is None or wear.stiffening is None or diameter <= wear.core_mm:
        return 1.0, ()
    stiff = float(stiffness_factor(new, diameter, wear.core_mm, wear.stiffening))
    return float(force_trim(diameter / new, stiff)), stiffness_flags(stiff)


def _parts(wear: Wear, new: float, diameter: float, last: float | None) -> float | None:
    """Whole parts until the wheel has worn from one diameter to another: parts go with the area of the ring."""
    if wear.wheel_wear_um is None or last is None or last >= diameter:
        return None
    ring = new**2 - (new - 2 * wear.wheel_wear_um / 1e3) ** 2
    return float((diameter**2 - max(last, 0.0) ** 2) / ring // 1.0) if ring > 0 else None
