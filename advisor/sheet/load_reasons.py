"""The reasons behind heat, wear, Rz and the bounds of the force, each with formula, inputs and source."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.figures.warming import Warming
from advisor.reasons import Reason
from advisor.sequence.plan import FeaturePlan
from advisor.sequence.surface import PlannedStep
from advisor.sheet.explain import Explainer
from advisor.sheet.load import ForceLimit
from advisor.sheet.step_load import expected_values
from advisor.units import figure

_BOUND_WORDS = {
    "rules": "the rules for this set-up",
    "media": "what the media bears",
    "compliance": "the range of the compliant tool",
    "power": "the power of the station",
    "alloy": "the heat that the metal stands",
    "face": "the face beside the strip",
}


def load_reasons(
    plan: FeaturePlan,
    step: PlannedStep,
    warm: Warming | None,
    limits: Sequence[ForceLimit],
    explain: Explainer,
) -> dict[str, tuple[Reason, ...]]:
    """Reasons by the field's name on the sheet."""
    found = {
        "rz_um": _rz(plan, step, explain),
        "wear": _wear(plan, step, explain),
        "force_limits": _bounds(step, limits),
    }
    if warm is not None:
        found["heat"] = _heat(plan, step, warm, explain)
    return found


def _rz(plan: FeaturePlan, step: PlannedStep, explain: Explainer) -> tuple[Reason, ...]:
    row = plan.desk.picked(step.candidate.tool.media, step.candidate.grain, step.candidate.grade)[
        "rz_over_ra"
    ]
    text = (
        f"Rz is taken as {figure(row.band.low)} to {figure(row.band.high)} times Ra: no fixed relation exists, "
        "so where a drawing gives Rz, measure Rz."
    )
    return (explain.known(text, row.source),)


def _heat(plan: FeaturePlan, step: PlannedStep, warm: Warming, explain: Explainer) -> tuple[Reason, ...]:
    alloy, setup = plan.desk.alloy, step.candidate.setup
    limit = explain.known(
        f"{alloy.name} is not to pass {figure(alloy.heat_limit_c)} C at the skin. {alloy.heat_limit_why}",
        alloy.source,
    )
    found = [limit]
    power = ("power", (float(step.candidate.effect.power), "W"))
    if warm.passing is not None:
        text = "The skin under the moving contact, the mean over many grains: it ranks and warns, it does not promise."
        inputs = dict([power, ("feed", (step.feed * 1e3, "mm/s"))])
        inputs["width"] = ((step.strip or setup.contact_width) * 1e3, "mm")
        inputs["conductivity"] = (alloy.conductivity, "W/(m K)")
        found.append(explain.derived(text, "band_rise", inputs, ("jaeger-1942", "from-memory")))
    if warm.bulk is not None:
        inputs = dict([power, ("time", (step.cutting, "s"))])
        if setup.face.wall is not None:
            text = "The metal behind the face by the end of the step, the heat running on into the part around it."
            inputs["wall"] = (setup.face.wall * 1e3, "mm")
        else:
            text = "The part as a whole by the end of the step; it is taken to give nothing off."
            inputs["mass"] = (setup.face.mass or 0.0, "kg")
        found.append(explain.derived(text, "bulk_rise", inputs, ("from-memory",)))
    return tuple(found)


def _wear(plan: FeaturePlan, step: PlannedStep, explain: Explainer) -> tuple[Reason, ...]:
    candidate, values = step.candidate, expected_values(plan, step)
    life, media, setup = candidate.life, candidate.tool.media, candidate.setup
    metal = ("metal of a part", (step.volume * 1e9, "mm3"))
    if "wheel_wear_ratio" in values:
        inputs = dict([metal, ("metal over wheel lost", (float(values["wheel_wear_ratio"]), "1"))])
        inputs["diameter"] = (setup.diameter * 1e3, "mm")
        inputs["width"] = (setup.media_width * 1e3, "mm")
        text = (
            "The wheel wears away with the metal it takes; rpm holds the speed of its rim, and the force is "
            "trimmed because a smaller and stiffer wheel presses harder. A trial beats these figures."
        )
        return (explain.derived(text, "parts_between", inputs, ("own-estimate", "common-practice")),)
    if life.cut_left is not None:
        inputs = dict([metal, ("metal over abrasive lost", (float(values["g_ratio"]), "1"))])
        inputs["belt length"] = (float(values["belt_length_m"]) * 1e3, "mm")
        inputs["belt width"] = (setup.media_width * 1e3, "mm")
        inputs["price"] = (float(life.price), "1")
        rated = plan.desk.job.cell.rates is not None
        text = (
            "The cut of a belt fades with the metal it has taken; it is changed where "
            + ("metal then costs least" if rated else "shops commonly change it")
            + ", for this step alone. Good to a factor of three before a trial."
        )
        formula = "change_point" if rated else "volume_at_share"
        return (explain.derived(text, formula, inputs, ("from-memory", "own-estimate")),)
    low, high = media.life_minutes
    text = f"A {media.name} is taken to last {figure(low)} to {figure(high)} min of cutting."
    return (explain.known(text, media.source),)


def _bounds(step: PlannedStep, limits: Sequence[ForceLimit]) -> tuple[Reason, ...]:
    tightest, force = limits[0], step.candidate.setup.force
    text = f"Of all that bounds the force, {_BOUND_WORDS[tightest.by]} is the tightest: {figure(tightest.allowed_n)} N"
    if force >= tightest.allowed_n * 0.999:
        return (Reason(kind="limited", text=f"{text}, and the force stands on it."),)
    return (Reason(kind="limited", text=f"{text}; the force aims below it."),)
