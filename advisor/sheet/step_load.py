"""What a step does to part and media beside cutting, for the sheet: heat, life and wear, bounds of the force."""

from __future__ import annotations

import math
from collections.abc import Iterator

from advisor.choices.model import RangeChoice
from advisor.figures import media_life
from advisor.figures.coefficients import Values
from advisor.figures.setup import Setup
from advisor.figures.warming import Warming, proud_rise, warming
from advisor.knowledge.cell import Compliance
from advisor.numbers.path_bands import StepBands, parts_done
from advisor.process import heat, shrinking
from advisor.process.bands import Spread
from advisor.sequence.limits import POWER_SHARE
from advisor.sequence.plan import FeaturePlan
from advisor.sequence.surface import PlannedStep
from advisor.sheet.load import ForceLimit, Heat, Wear, WearPoint
from advisor.sheet.part import Band
from advisor.sheet.step import Flag
from advisor.units import figure

#: Rows of a schedule: enough to follow a wheel down, few enough to read at the machine.
FEWEST_ROWS, MOST_ROWS = 4, 8

#: More goes than this are no plan; the warning then asks for less force.
MOST_GOES = 9
WHEN_HOT = "Ease the force, feed faster or let the part cool."


def band_of(spread: Spread) -> Band:
    """A band of the sheet."""
    return Band(low=spread.low, expected=spread.expected, high=spread.high)


# ---------------------------------------------------------------- heat
def step_warming(plan: FeaturePlan, step: PlannedStep) -> Warming | None:
    """How warm a step makes the metal, with the coefficients as expected."""
    candidate = step.candidate
    values = expected_values(plan, step)
    return warming(candidate.setup, candidate.effect, values, step.feed, step.cutting)


def expected_values(plan: FeaturePlan, step: PlannedStep) -> Values:
    """The coefficients of a step as expected."""
    candidate = step.candidate
    return plan.desk.expected(candidate.tool.media, candidate.grain, candidate.grade)


def step_heat(plan: FeaturePlan, step: PlannedStep, warm: Warming | None, bands: StepBands) -> Heat | None:
    """The heat of a step against what the alloy stands, with a warning where it comes close."""
    if warm is None or bands.heat_k is None:
        return None
    rise, margin, wanted = float(warm.rise), float(warm.margin), float(warm.wanted)
    flags = heat.heat_flags(margin, wanted)
    warning, goes = None, _goes(warm)
    if flags:
        remedy = WHEN_HOT if goes == 1 else f"Work it in {goes} goes, the part cooling between."
        warning = (
            f"{flags[0]} About {figure(rise, 2)} K of {figure(warm.limit)} K, where {figure(wanted)} times as "
            f"much is wanted. {plan.desk.alloy.heat_limit_why} {remedy}"
        )
    return Heat(
        rise_k=rise,
        limit_k=warm.limit,
        rise=band_of(bands.heat_k),
        passing_k=None if warm.passing is None else float(warm.passing),
        bulk_k=None if warm.bulk is None else float(warm.bulk),
        margin=margin if math.isfinite(margin) else None,
        wanted_margin=wanted,
        warning=warning,
        goes=goes,
        proud_k=_proud(plan, step),
    )


def _proud(plan: FeaturePlan, step: PlannedStep) -> float | None:
    """How warm the top of what stands proud gets before the wheel reaches the face beside it."""
    if step.strip is None:
        return None
    setup, outcome = step.candidate.setup, step.candidate.effect
    found = proud_rise(setup, outcome, expected_values(plan, step), step.feed, step.strip)
    return None if found is None else float(found)


def _goes(warm: Warming) -> int:
    """In how many goes a step keeps below half the limit, as far as pauses help: the skin warms in each."""
    passing, bulk = float(warm.passing or 0.0), float(warm.bulk or 0.0)
    room = warm.limit / 2.0 - passing
    if bulk + passing <= warm.limit / 2.0:
        return 1
    return min(MOST_GOES, math.ceil(bulk / room)) if room > 0 else 1


def load_flags(warm: Warming | None, bands: StepBands) -> Iterator[Flag]:
    """The doubts about heat and life."""
    if warm is not None:
        for text in warm.passing_flags:
            yield Flag(formula="band_rise", text=text)
        for text in warm.bulk_flags:
            yield Flag(formula="bulk_rise", text=text)
    for text in bands.wear_flags:
        yield Flag(formula="media_life", text=text)


# ---------------------------------------------------------------- wear
def step_wear(plan: FeaturePlan, step: PlannedStep, bands: StepBands) -> Wear:
    """How long the media of a step lasts when it serves this step alone, and how to follow a wheel down."""
    life, values = step.candidate.life, expected_values(plan, step)
    parts = float(parts_done(step.used).parts)
    fields: dict[str, object] = {
        "parts_per_media": parts,
        "parts": band_of(bands.parts),
        "volume_cm3": float(life.volume) * 1e6 if life.volume is not None else None,
        "cut_left": float(life.cut_left) if life.cut_left is not None else None,
        "change_out": _change_out(step),
    }
    if "wheel_wear_ratio" in values:
        fields.update(_wheel(step, values, 1.0 / step.used, plan.desk.job.cell.compliance))
    return Wear.model_validate(fields)


def _change_out(step: PlannedStep) -> str:
    """When to change a media that does not shrink, in words."""
    life, form = step.candidate.life, step.candidate.tool.media.form.replace("hand-tool", "tool")
    if life.cut_left is not None:
        left = figure(100.0 * float(life.cut_left), 2)
        return f"Change the {form} when it takes {left} % of what it took when broken in"
    hours = float(life.seconds or 0.0) / 3600.0
    return f"Change the {form} after about {figure(hours, 2)} h of cutting, or when the finish drifts"


def _wheel(
    step: PlannedStep, values: Values, parts: float, compliance: Compliance | None
) -> dict[str, object]:
    """How a shrinking wheel is followed down to the diameter at which it comes off."""
    setup = step.candidate.setup
    end = shrinking.change_out(
        setup.diameter,
        setup.slowest_speed,
        setup.spindle_rpm,
        float(media_life.smallest_diameter(setup, values)),
        setup.marked_rpm,
    )
    words = {
        "spindle": "the spindle turns no faster",
        "marked speed": "the marked speed of the media allows no more rpm",
        "smallest diameter": "it is worn to its core",
    }[end.because]
    found: dict[str, object] = {
        "change_out": f"Take the wheel off at {figure(end.diameter * 1e3)} mm: {words}",
        "change_out_mm": end.diameter * 1e3,
        "change_out_by": end.because,
        "core_mm": float(values["core_diameter_share"]) * setup.diameter * 1e3,
        "stiffening": float(values["stiffening_exponent"]),
        "highest_rpm": int(setup.highest_rpm),
        "wheel_wear_um": float(media_life.radius_lost(setup, values, step.volume)) * 1e6,
    }
    stroke = compliance.stroke_mm if compliance else None
    rows = FEWEST_ROWS
    if stroke is not None:
        again = media_life.touch_off(setup, values, stroke / 1e3, step.volume)
        found["touch_off_parts"], found["touch_off_mm"] = float(again.parts), float(again.step) * 1e3
        if again.step > 0:
            rows += math.ceil((setup.diameter - end.diameter) / 2.0 / float(again.step))
    if end.diameter < setup.diameter:
        least = compliance.force_n[0] if compliance and compliance.force_n else 0.0
        found["schedule"] = _schedule(setup, values, end.diameter, parts, min(rows, MOST_ROWS), least)
    return found


def _schedule(
    setup: Setup, values: Values, last: float, parts: float, rows: int, least: float
) -> tuple[WearPoint, ...]:
    """The settings from new to worn out; the force never below the least that the tool holds (N)."""
    states = shrinking.rpm_schedule(setup.diameter, last, setup.speed, setup.highest_rpm, parts, rows)
    return tuple(
        WearPoint(
            diameter_mm=state.diameter * 1e3,
            rpm=int(state.rpm + 1e-9) if state.limited else round(state.rpm),
            index_mm=(setup.diameter - state.diameter) / 2.0 * 1e3,
            force_n=max(least, media_life.trimmed_force(setup, values, state.diameter)[0]),
            surface_speed_m_s=state.speed,
            parts=state.parts,
        )
        for state in states
    )


# ---------------------------------------------------------------- bounds of the force
def force_limits(plan: FeaturePlan, step: PlannedStep, warm: Warming | None) -> tuple[ForceLimit, ...]:
    """What bounds the force from above, the tightest first and marked."""
    found = sorted(_bounds(plan, step, warm), key=lambda limit: limit.allowed_n)
    return tuple(limit.model_copy(update={"binds": place == 0}) for place, limit in enumerate(found))


def _bounds(plan: FeaturePlan, step: PlannedStep, warm: Warming | None) -> Iterator[ForceLimit]:
    setup, effect, tool = step.candidate.setup, step.candidate.effect, step.candidate.tool
    width = setup.contact_width * 1e3
    choice = step.candidate.choices.get("force")
    bears = tool.media.force_n_mm[1] * width
    yield ForceLimit(
        by="media",
        allowed_n=bears,
        text=f"A {tool.media.name} bears {figure(bears)} N over {figure(width)} mm.",
    )
    window = plan.desk.job.cell.compliance.force_n if plan.desk.job.cell.compliance else None
    if window is not None:
        text = f"The compliant tool holds no more than {figure(window[1])} N."
        yield ForceLimit(by="compliance", allowed_n=window[1], text=text)
    if isinstance(choice, RangeChoice):
        if choice.shaped_by and choice.high * width < bears * (1 - 1e-9):
            text = f"The rules for this set-up allow {figure(choice.high * width)} N."
            yield ForceLimit(by="rules", allowed_n=choice.high * width, text=text)
        if step.strip is not None and setup.force < choice.value * width * (1 - 1e-9):
            text = (
                f"More than {figure(setup.force)} N on the small width of a burr cuts into the edge."
                if setup.on_edge
                else f"With more than {figure(setup.force)} N the face beside the strip would suffer."
            )
            yield ForceLimit(by="face", allowed_n=setup.force, text=text)
    if tool.station.power_kw is not None:
        most = POWER_SHARE * tool.station.power_kw * 1e3 / float(effect.power) * setup.force
        text = f"{tool.station.name} drives no more than {figure(most)} N at this speed."
        yield ForceLimit(by="power", allowed_n=most, text=text)
    if setup.eased_for_heat:
        slowed = step.candidate.choices.get("surface_speed")
        speed = (
            f" and to {figure(setup.speed)} m/s"
            if isinstance(slowed, RangeChoice) and setup.speed < slowed.value * (1 - 1e-9)
            else ""
        )
        text = (
            f"Eased to {figure(setup.force)} N{speed}: heat binds, with more the skin would pass what the metal stands."
        )
        yield ForceLimit(by="alloy", allowed_n=setup.force, text=text)
    elif warm is not None and step.strip is None and warm.passing is not None and float(warm.passing) > 0:
        most = setup.force * warm.limit / float(warm.passing)
        text = f"The skin would reach the metal's limit of heat at about {figure(most, 2)} N."
        yield ForceLimit(by="alloy", allowed_n=most, text=text)
