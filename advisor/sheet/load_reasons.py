"""The reasons behind heat, wear, Rz and the bounds of the force, each with formula, inputs and source."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from advisor.figures import media_life
from advisor.figures.warming import Warming
from advisor.reasons import Input, Reason
from advisor.sequence.plan import FeaturePlan
from advisor.sequence.surface import PlannedStep
from advisor.sheet.explain import Explainer
from advisor.sheet.inputs import StepInputs, given
from advisor.sheet.load import ForceLimit
from advisor.sheet.step_load import expected_values
from advisor.units import figure

_BOUND_WORDS = {
    "rules": "the rules for this set-up",
    "media": "what the media bears",
    "compliance": "the range of the compliant tool",
    "power": "the power of the station",
    "alloy": "the heat that the metal stands",
    "face": "the edge or face beside what stands proud",
}


def load_reasons(
    plan: FeaturePlan,
    step: PlannedStep,
    warm: Warming | None,
    limits: Sequence[ForceLimit],
    proud: float | None,
    explain: Explainer,
) -> dict[str, tuple[Reason, ...]]:
    """Reasons by the field's name on the sheet."""
    found = {
        "rz_um": _rz(plan, step, explain),
        "wear": _wear(plan, step, explain),
        "force_limits": _bounds(step, limits),
    }
    if warm is not None:
        found["heat"] = _heat(plan, step, warm, proud, explain)
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


def _proud(
    step: PlannedStep,
    inputs: StepInputs,
    share: Mapping[str, Input],
    proud: float | None,
    explain: Explainer,
) -> tuple[Reason, ...]:
    """What stands proud warms most, which looks alarming and is not: it goes with the cut."""
    if proud is None:
        return ()
    text = (
        "The top of what stands proud takes the whole force on little width and warms more than the face; it goes "
        "with the cut. Colour on it is no fault, colour that stays beside it is."
    )
    on_top = {
        "strip": given((step.strip or 0.0) * 1e3, "mm"),
        **inputs.passing(),
        **inputs.wheel(),
        **inputs.tight_belt(),
        **share,
    }
    return (
        explain.derived(text, "proud_rise", on_top, given(proud, "K"), ("jaeger-1942", "own-estimate")),
    )


def _heat(
    plan: FeaturePlan, step: PlannedStep, warm: Warming, proud: float | None, explain: Explainer
) -> tuple[Reason, ...]:
    alloy, setup = plan.desk.alloy, step.candidate.setup
    limit = explain.known(
        f"{alloy.name} is not to pass {figure(alloy.heat_limit_c)} C at the skin. {alloy.heat_limit_why}",
        alloy.source,
    )
    found = [limit]
    inputs = StepInputs(plan, step)
    share = inputs.heat_share()
    if warm.passing is not None:
        text = (
            "The skin under the moving contact, the mean over many grains: it ranks and warns, it does not "
            "promise."
        )
        passing = {**inputs.passing(), **share}
        rise, sources = given(float(warm.passing), "K"), ("jaeger-1942", "from-memory")
        found.append(explain.derived(text, "band_rise", passing, rise, sources))
    found += _proud(step, inputs, share, proud, explain)
    if warm.bulk is not None:
        text = "The part as a whole by the end of the step; it is taken to give nothing off."
        bulk = {"time": given(step.cutting, "s"), **inputs.metal_behind(), **share}
        if setup.face.wall is not None:
            text = "The metal behind the face by the end of the step, the heat running on into the part around it."
            bulk["air film"] = inputs.coefficient("air_film")
        found.append(explain.derived(text, "bulk_rise", bulk, given(float(warm.bulk), "K"), ("from-memory",)))
    return tuple(found)


def _wear(plan: FeaturePlan, step: PlannedStep, explain: Explainer) -> tuple[Reason, ...]:
    candidate, values, inputs = step.candidate, expected_values(plan, step), StepInputs(plan, step)
    life, media, setup = candidate.life, candidate.tool.media, candidate.setup
    metal = {"metal of a part": given(step.volume * 1e9, "mm3")}
    parts = given(1.0 / step.used)
    if "wheel_wear_ratio" in values:
        wheel = {
            **metal,
            "metal over wheel lost": inputs.coefficient("wheel_wear_ratio"),
            "diameter": given(setup.diameter * 1e3, "mm"),
            "last diameter": given(float(media_life.last_diameter(setup, values)) * 1e3, "mm"),
            "width": given(setup.media_width * 1e3, "mm"),
        }
        text = (
            "The wheel wears away with the metal it takes; rpm holds the speed of its rim, and the force is "
            "trimmed because a smaller and stiffer wheel presses harder. A trial beats these figures."
        )
        return (explain.derived(text, "parts_of_a_wheel", wheel, parts, ("own-estimate", "common-practice")),)
    if life.cut_left is not None:
        return _dulling(plan, step, inputs, metal, explain)
    low, high = media.life_minutes
    text = f"A {media.name} is taken to last {figure(low)} to {figure(high)} min of cutting."
    lasting = {
        "shortest life": given(low, "min"),
        "longest life": given(high, "min"),
        "cutting time of a part": given(step.cutting, "s"),
    }
    return (explain.derived(text, "parts_by_time", lasting, parts, media.source),)


def _dulling(
    plan: FeaturePlan, step: PlannedStep, inputs: StepInputs, metal: Mapping[str, Input], explain: Explainer
) -> tuple[Reason, ...]:
    """Belts: where a change pays, and how many parts that is."""
    life, setup, economy = (
        step.candidate.life,
        step.candidate.setup,
        plan.desk.economy(step.candidate.tool.media),
    )
    belt = {
        "metal over abrasive lost": inputs.coefficient("g_ratio"),
        "belt length": inputs.coefficient("belt_length_m"),
        "belt width": given(setup.media_width * 1e3, "mm"),
        "grain": given(setup.grade.um if setup.grade else 0.0, "um"),
        "part of a grain that wears": inputs.coefficient("usable_layer_share"),
    }
    text = (
        "The cut of a belt fades with the metal it has taken; it is changed where "
        + ("metal then costs least" if economy.rate else "shops commonly change it")
        + ", for this step alone. Good to a factor of three before a trial."
    )
    left = given(float(life.cut_left or 0.0))
    sources = ("from-memory", "own-estimate")
    cut = {**metal, "cut left": left, **belt}
    parts = explain.derived(text, "volume_at_share", cut, given(1.0 / step.used), sources)
    if not economy.rate:
        return (parts,)
    rate = float(step.candidate.effect.depth_rate) * setup.contact_width
    costs = {
        "price of a belt": given(float(life.price)),
        "machine for an hour": given(economy.rate * 3600.0),
        "change": given(economy.change_s, "s"),
        "first cut rate": given(rate * 1e9, "mm3/s"),
        **belt,
    }
    why = "Below this share of its first cut a belt costs more in time than a new one in money."
    return parts, explain.derived(why, "change_point", costs, left, sources)


def _bounds(step: PlannedStep, limits: Sequence[ForceLimit]) -> tuple[Reason, ...]:
    tightest, force = limits[0], step.candidate.setup.force
    text = f"Of all that bounds the force, {_BOUND_WORDS[tightest.by]} is the tightest: {figure(tightest.allowed_n)} N"
    if force >= tightest.allowed_n * 0.999:
        return (Reason(kind="limited", text=f"{text}, and the force stands on it."),)
    return (Reason(kind="limited", text=f"{text}; the force aims below it."),)
