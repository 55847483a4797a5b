"""Builds one step of the sheet from a planned step, its bands and its notes."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from advisor.choices.model import ListChoice, RangeChoice
from advisor.numbers.path_bands import StepBands
from advisor.process.removal import outgrows_grain
from advisor.process.speed import rotational_speed
from advisor.reasons import Reason, Trail
from advisor.sequence.limits import POWER_SHARE
from advisor.sequence.moves import most_dish
from advisor.sequence.plan import FeaturePlan
from advisor.sequence.surface import PlannedStep
from advisor.sheet.explain import Explainer
from advisor.sheet.load import ForceLimit
from advisor.sheet.load_reasons import load_reasons
from advisor.sheet.model import Contact, Flag, Limit, Step, StepRival, Wheel, Windows
from advisor.sheet.notes import StepNotes
from advisor.sheet.step_load import band_of, force_limits, load_flags, step_heat, step_warming, step_wear
from advisor.sheet.step_reasons import step_reasons
from advisor.units import figure

#: Which decisions show their losers on the sheet, and how many each.
SHOWN_RIVALS = ("media", "grain", "backing", "wheel_cover", "wheel_face", "lubricant")
MOST_RIVALS = 2


def build_step(
    number: int,
    plan: FeaturePlan,
    step: PlannedStep,
    bands: StepBands,
    notes: StepNotes,
    explain: Explainer,
    trail: Trail,
) -> Step:
    """One step with its numbers in shop units and a reason for every value."""
    candidate, setup = step.candidate, step.candidate.setup
    media, values, effect = candidate.tool.media, step.candidate.values, step.candidate.effect
    grade, warm = candidate.grade, step_warming(plan, step)
    limits, warmed = force_limits(plan, step, warm), step_heat(plan, step, warm, bands)
    fields: dict[str, object] = {
        "number": number,
        "stage": candidate.stage,
        "station": candidate.tool.station.name,
        "media": media.key,
        "pressure": values["pressure"],
        "grain": candidate.grain,
        "grade": grade.key if grade else None,
        "grade_scale": grade.scale if grade else None,
        "grain_um": grade.um if grade and not grade.equivalent else None,
        "build": values["build"],
        "coat": values["coat"],
        "top_coat": values["top_coat"],
        "backing": values["backing"],
        "wheel": _wheel(step),
        "lubricant": values["lubricant"],
        "direction": direction(number, step, plan.feature.name),
        "step_over_mm": None if step.local else setup.step_over * 1e3,
        "windows": _windows(step, limits),
        "surface_speed_m_s": setup.speed,
        "marked_speed_m_s": media.marked_speed_m_s,
        "rpm": round(float(rotational_speed(setup.speed, setup.diameter))),
        "force_n": setup.force,
        "feed_mm_s": step.feed * 1e3,
        "passes": step.passes,
        "removal_um": band_of(bands.removal_um),
        "remaining_um": band_of(bands.remaining_um) if step.kind == "clear" else None,
        "ra_um": band_of(bands.ra_um),
        "rz_um": band_of(bands.rz_um),
        "time_s": band_of(bands.time_s),
        "power_w": float(effect.power),
        "contact": _contact(step),
        "heat": warmed,
        "wear": step_wear(plan, step, bands),
        "force_limits": limits,
        "limits": _limits(plan, step),
        "flags": (*_flags(step), *load_flags(warm, bands)),
        "go_on_when": (*notes.checks, *_at_its_worst(plan, step)),
        "if_not": notes.remedies,
        "rivals": _rivals(step, explain, trail),
    }
    why = step_reasons(plan, step, explain)
    why.update(load_reasons(plan, step, warm, limits, warmed.proud_k if warmed else None, explain))
    why["force_n"] = (*why["force_n"], *why["force_limits"][-1:])
    present = {name: reasons for name, reasons in why.items() if fields.get(name) is not None and reasons}
    return Step.model_validate({**fields, "reasons": trail.refer_all(present)})


def _at_its_worst(plan: FeaturePlan, step: PlannedStep) -> tuple[str, ...]:
    """What a deeper place costs: the numbers are those of the typical depth, and parts differ."""
    typical, worst = plan.feature.start.depth_mm
    first = next((each for each in plan.path if each.kind == "clear"), None)
    if worst <= typical or step is not first or step.defect != plan.feature.start.defect or not step.removal:
        return ()
    name = plan.desk.knowledge.tables.defects[step.defect].name
    more = math.ceil((worst - typical) / 1e3 / (step.removal / step.passes))
    text = (
        f"The numbers are for {figure(typical)} mm of {name}; where it is {figure(worst)} mm, repeat this "
        f"step, about {more} pass{'es' if more > 1 else ''} more"
    )
    stock = plan.feature.max_stock_mm
    if stock is not None and worst > stock:
        text += f", and set parts aside that would need more than the {figure(stock)} mm allowed"
    return (f"{text}.",)


def _contact(step: PlannedStep) -> Contact | None:
    touching, setup = step.candidate.effect.contact, step.candidate.setup
    if touching is None:
        return None
    return Contact(
        half_width_mm=float(touching.half_width) * 1e3,
        mean_pressure_kpa=float(touching.mean_pressure) / 1e3,
        land_pressure_kpa=float(touching.grain_pressure) / 1e3 if setup.lands else None,
        across_mm=setup.contact_width * 1e3 if setup.across else None,
    )


def _wheel(step: PlannedStep) -> Wheel:
    values, setup = step.candidate.values, step.candidate.setup
    edge = values.get("wheel_edge")
    return Wheel.model_validate(
        {
            "hardness_shore_a": values.get("wheel_hardness"),
            "cover": values.get("wheel_cover"),
            "face": values.get("wheel_face"),
            "diameter_mm": setup.diameter * 1e3,
            "width_mm": values.get("wheel_width"),
            "edge_radius_mm": edge if isinstance(edge, float) and edge > 0 else None,
        }
    )


def _windows(step: PlannedStep, limits: Sequence[ForceLimit]) -> Windows:
    setup = step.candidate.setup
    speed, force, feed = (step.candidate.choices.get(name) for name in ("surface_speed", "force", "feed"))
    width = setup.contact_width * 1e3
    speeds = (speed.low, speed.high) if isinstance(speed, RangeChoice) else None
    forces = (force.low * width, force.high * width) if isinstance(force, RangeChoice) else None
    if forces is not None:  # eased on a strip or for heat, or held back by the power of the station
        most = min((limit.allowed_n for limit in limits), default=forces[1])
        forces = (min(forces[0], setup.force), max(min(forces[1], most), setup.force))
    feeds = (feed.low, feed.high) if isinstance(feed, RangeChoice) else None
    if feeds is not None:
        feeds = (min(feeds[0], step.feed * 1e3), max(feeds[1], step.feed * 1e3))
    rpm = tuple(round(float(rotational_speed(v, setup.diameter))) for v in speeds) if speeds else None
    return Windows.model_validate(
        {"force_n": forces, "surface_speed_m_s": speeds, "feed_mm_s": feeds, "rpm": rpm}
    )


def direction(number: int, step: PlannedStep, feature: str) -> str | None:
    """Which way to stroke, in words that name the face and the lines found."""
    before = f"the lines of step {number - 1}" if number > 1 else "the lines found"
    if step.local:
        return f"along the {step.defect.replace('-', ' ')}" if step.defect else None
    words: Mapping[str, str] = {
        "along-lay": f"along the lay asked for on the {feature}, in full strokes",
        "across-previous": f"across {before}, so that it shows when they are gone",
        "crossed": f"crossed, two layers at an angle over the {feature}",
        "circular": f"in circles that overlap over the {feature}",
        "random": f"in changing directions over the {feature}",
        "free": f"as the {feature} allows, in one direction throughout",
    }
    value = step.candidate.values.get("direction")
    return words[value] if isinstance(value, str) else None


def _limits(plan: FeaturePlan, step: PlannedStep) -> tuple[Limit, ...]:
    limits = []
    station, effect = step.candidate.tool.station, step.candidate.effect
    if station.power_kw is not None:
        allowed = POWER_SHARE * station.power_kw * 1e3
        text = f"{station.name} may give {figure(allowed)} W."
        limits.append(
            Limit(
                limit="power of the station", value=float(effect.power), allowed=allowed, unit="W", text=text
            )
        )
    if step.dish > 0:
        dish = step.dish * 1e3
        text = f"The wheel dishes the face beside the strip by about {figure(dish, 2)} mm."
        allowed = most_dish(plan.desk) * 1e3
        limits.append(Limit(limit="dish beside the strip", value=dish, allowed=allowed, unit="mm", text=text))
    most = plan.feature.max_stock_mm
    if most is not None:
        done = plan.path[: plan.path.index(step) + 1]
        stock = sum(item.stock for item in done) * 1e3
        text = f"So far {figure(stock, 2)} mm of the {figure(most, 2)} mm that may go."
        limits.append(Limit(limit="stock", value=stock, allowed=most, unit="mm", text=text))
    return tuple(limits)


def _flags(step: PlannedStep) -> tuple[Flag, ...]:
    flags = [Flag(formula="line_contact", text=text) for text in step.flags]
    candidate = step.candidate
    if (
        candidate.grade is not None
        and candidate.effect.fixed_depth is None
        and bool(outgrows_grain(candidate.effect.depth(step.feed), candidate.grade.um * 1e-6))
    ):
        flags.append(Flag(formula="depth_per_pass", text="A pass goes deeper than the grain can well cut."))
    return tuple(flags)


def _rivals(step: PlannedStep, explain: Explainer, trail: Trail) -> tuple[StepRival, ...]:
    """The options that stood nearest and lost, with what they lost on."""
    rivals: list[StepRival] = []
    for decision in SHOWN_RIVALS:
        choice = step.candidate.choices.get(decision)
        if isinstance(choice, ListChoice):
            rivals += _losers(choice, str(step.candidate.values.get(decision)), step, explain, trail)
    return tuple(rivals)


def _losers(
    choice: ListChoice, taken: str, step: PlannedStep, explain: Explainer, trail: Trail
) -> list[StepRival]:
    found: list[StepRival] = []
    for row in choice.options:
        if row.option == taken or row.standing == "not spoken for" or len(found) == MOST_RIVALS:
            continue
        against: tuple[Reason, ...] = tuple(
            explain.ruled(rule, step.candidate.situation) for rule in row.speaks_against
        )
        lost_on = row.lost_on or "tie"
        if row.standing == "removed":
            lost_on = row.speaks_against[0].concern if row.speaks_against else "limit"
        elif row.standing in ("equal", "winner"):
            lost_on = "cost" if choice.decision in ("media", "grain") else "tie"
        found.append(
            StepRival.model_validate(
                {
                    "decision": choice.decision,
                    "option": row.option,
                    "lost_on": lost_on,
                    "text": against[0].text if against else None,
                    "reasons": trail.refer(*against),
                }
            )
        )
    return found
