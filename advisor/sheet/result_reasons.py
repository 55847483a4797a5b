"""The reasons behind what a step does: roughness, time, power and contact, each with its formula."""

from __future__ import annotations

from collections.abc import Mapping

from advisor.reasons import Reason
from advisor.sequence.plan import FeaturePlan
from advisor.sequence.surface import PlannedStep
from advisor.sheet.contact_reasons import contact_reasons
from advisor.sheet.depth_reasons import depth_reasons
from advisor.sheet.explain import Explainer
from advisor.sheet.inputs import StepInputs, given

#: Where the process formulas come from.
SOURCES: Mapping[str, tuple[str, ...]] = {
    "floor_ra": ("sanitary-chart", "pharma-factsheet", "from-memory"),
    "table_ra": ("own-estimate",),
    "ra_after": ("from-memory",),
    "cutting_power": ("kalpakjian-table",),
    "step_time": ("own-estimate",),
}


def result_reasons(plan: FeaturePlan, step: PlannedStep, explain: Explainer) -> dict[str, tuple[Reason, ...]]:
    """Reasons for what a step does, by the field's name on the sheet."""
    inputs = StepInputs(plan, step)
    setup, effect = step.candidate.setup, step.candidate.effect
    found: dict[str, tuple[Reason, ...]] = {
        key: (reason,) for key, reason in depth_reasons(plan, step, explain).items()
    }
    found["ra_um"] = (_roughness(plan, step, inputs, explain),)
    found["time_s"] = (_time(plan, step, inputs, explain),)
    ratio = given(float(effect.force_ratio))
    found["power_w"] = (
        explain.derived(
            "Force ratio times force times speed.",
            "cutting_power",
            {
                "force ratio": ratio,
                "force": given(setup.force, "N"),
                "surface speed": given(setup.speed, "m/s"),
            },
            given(float(effect.power), "W"),
            SOURCES["cutting_power"],
        ),
    )
    pressed = contact_reasons(plan, step, explain)
    if pressed:
        found["contact"] = pressed
    return found


def _time(plan: FeaturePlan, step: PlannedStep, inputs: StepInputs, explain: Explainer) -> Reason:
    setup = step.candidate.setup
    run = {
        "feed": given(step.feed * 1e3, "mm/s"),
        "passes": inputs.passes(),
        "fixed time": inputs.coefficient("step_seconds"),
    }
    defect = step.defect and plan.desk.knowledge.tables.defects[step.defect]
    if defect and defect.local:
        length = step.cutting * step.feed / step.passes
        return explain.derived(
            "Passes along the defect at the feed, and a fixed time for approach, turning and a look.",
            "strip_time",
            {"length": given(length * 1e3, "mm"), **run},
            given(step.time, "s"),
            SOURCES["step_time"],
        )
    return explain.derived(
        "Passes over the face at the feed, and a fixed time for approach, turning and a look.",
        "area_time",
        {"area": given(plan.desk.area_cm2, "cm2"), "step-over": given(setup.step_over * 1e3, "mm"), **run},
        given(step.time, "s"),
        SOURCES["step_time"],
    )


def _roughness(plan: FeaturePlan, step: PlannedStep, inputs: StepInputs, explain: Explainer) -> Reason:
    effect, media = step.candidate.effect, step.candidate.tool.media
    if effect.floor_ra is None:
        return Reason(kind="known", text="This media cleans and leaves the scratch as it was.")
    if step.kind == "blend":
        return explain.derived(
            "The roughness falls from what was found toward the floor of the media as depth comes off.",
            "ra_after",
            {
                "Ra before": given(step.before.ra * 1e6, "um"),
                "Rt before": given(step.before.rt * 1e6, "um"),
                "floor": given(float(effect.floor_ra) * 1e6, "um"),
                "removed": given(step.removal * 1e6, "um"),
                "decay over Rt": inputs.coefficient("decay_kappa"),
            },
            given(step.after.ra * 1e6, "um"),
            SOURCES["ra_after"],
        )
    floor = given(float(effect.floor_ra) * 1e6, "um")
    scale = {
        "metal factor": inputs.coefficient("alloy_roughness_factor"),
        "media factor": given(media.roughness_factor),
    }
    if media.abrasive in ("web", "compound"):
        return explain.derived(
            "The floor of this grade of web or compound is looked up and scaled to the metal.",
            "table_ra",
            {"Ra of the grade": inputs.coefficient(f"{_kind(media.abrasive)}_ra_um"), **scale},
            floor,
            SOURCES["table_ra"],
        )
    text = "The floor of the grade on this metal and this support."
    if effect.contact is None:  # without a wheel nobody knows the pressure on the grain
        text = (
            "The floor of the grade on this metal, at the pressure of the charts: without a contact wheel "
            "the pressure on the grain is not known."
        )
    grade = step.candidate.grade
    law = {
        "grain": given(grade.um if grade else 0.0, "um"),
        "factor of the grade": inputs.coefficient("roughness_c"),
        "exponent of the grade": inputs.coefficient("roughness_n"),
        **scale,
    }
    if effect.contact is not None:
        law |= {**inputs.pressure(), "exponent of the pressure": inputs.coefficient("pressure_exponent")}
    return explain.derived(text, "floor_ra", law, floor, SOURCES["floor_ra"])


def _kind(abrasive: str) -> str:
    return "web" if abrasive == "web" else "buff"
