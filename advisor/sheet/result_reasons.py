"""The reasons behind what a step does: depth, roughness, time, power and contact, each with its formula."""

from __future__ import annotations

from collections.abc import Mapping

from advisor.reasons import Reason
from advisor.sequence.plan import FeaturePlan
from advisor.sequence.surface import PlannedStep
from advisor.sheet.explain import Explainer

#: Where the process formulas come from.
SOURCES: Mapping[str, tuple[str, ...]] = {
    "surface_speed": ("common-practice",),
    "line_contact": ("gent-1958", "johnson-contact"),
    "depth_per_pass": ("preston-1927", "hammann-1998", "kalpakjian-table"),
    "strip": ("own-estimate",),
    "web_depth": ("own-estimate",),
    "floor_ra": ("sanitary-chart", "pharma-factsheet", "from-memory"),
    "ra_after": ("from-memory",),
    "stock_to_erase": ("from-memory", "own-estimate"),
    "cutting_power": ("kalpakjian-table",),
    "step_time": ("own-estimate",),
}

def result_reasons(
    plan: FeaturePlan, step: PlannedStep, explain: Explainer
) -> dict[str, tuple[Reason, ...]]:
    """Reasons for what a step does, by the field's name on the sheet."""
    setup, effect = step.candidate.setup, step.candidate.effect
    found: dict[str, tuple[Reason, ...]] = {}
    formula = "strip" if step.local else "web_depth" if effect.fixed_depth is not None else "depth_per_pass"
    words = {
        "strip": "The strip carries the force until the wheel reaches the face beside it.",
        "web_depth": "The depth of a pass is looked up by grade and scaled to the hardness of the metal.",
        "depth_per_pass": "Power over specific energy gives the cut; below a pressure the grain only rubs.",
    }[formula]
    found["removal_um"] = (
        explain.derived(
            words,
            formula,
            {
                "force": (setup.force, "N"),
                "surface speed": (setup.speed, "m/s"),
                "feed": (step.feed * 1e3, "mm/s"),
                "force ratio": (float(effect.force_ratio), "1"),
                "specific energy": (float(effect.specific_energy) / 1e9, "J/mm3"),
                "passes": (step.passes, "1"),
            },
            SOURCES[formula],
        ),
    )
    found["remaining_um"] = (
        explain.derived(
            "What the planned passes leave of the defect, over the spread of the removal.",
            formula,
            {"depth before": (step.before.remaining * 1e6, "um")},
            SOURCES[formula],
        ),
    )
    if effect.floor_ra is None:
        found["ra_um"] = (Reason(kind="known", text="This media cleans and leaves the scratch as it was."),)
    elif step.kind == "blend":
        found["ra_um"] = (
            explain.derived(
                "The roughness falls from what was found toward the floor of the media as depth comes off.",
                "ra_after",
                {
                    "Ra before": (step.before.ra * 1e6, "um"),
                    "floor": (float(effect.floor_ra) * 1e6, "um"),
                    "removed": (step.removal * 1e6, "um"),
                },
                SOURCES["ra_after"],
            ),
        )
    else:
        found["ra_um"] = (_floor_reason(step, explain),)
    found["time_s"] = (
        explain.derived(
            "Passes over the face at the feed, and a fixed time for approach, turning and a look.",
            "step_time",
            {
                "area": (plan.desk.area_cm2, "cm2"),
                "step-over": (setup.step_over * 1e3, "mm"),
                "feed": (step.feed * 1e3, "mm/s"),
                "passes": (step.passes, "1"),
            },
            SOURCES["step_time"],
        ),
    )
    found["power_w"] = (
        explain.derived(
            "Force ratio times force times speed.",
            "cutting_power",
            {
                "force ratio": (float(effect.force_ratio), "1"),
                "force": (setup.force, "N"),
                "surface speed": (setup.speed, "m/s"),
            },
            SOURCES["cutting_power"],
        ),
    )
    if effect.contact is not None and setup.hardness is not None:
        found["contact"] = (
            explain.derived(
                "The cover flattens on the face; hardness, curvature and force per width give the contact.",
                "line_contact",
                {
                    "hardness": (setup.hardness, "Shore A"),
                    "force per width": (setup.line_load / 1e3, "N/mm"),
                    "wheel": (setup.diameter * 1e3, "mm"),
                    "cover": (setup.cover_thickness * 1e3, "mm"),
                },
                SOURCES["line_contact"],
            ),
        )
    return found


def _floor_reason(step: PlannedStep, explain: Explainer) -> Reason:
    """Why a coated step leaves this roughness; without a wheel nobody knows the pressure on the grain."""
    grade, contact = step.candidate.grade, step.candidate.effect.contact
    grain = {"grain": (grade.um if grade else 0.0, "um")}
    if contact is None:
        return explain.derived(
            "The floor of the grade on this metal, at the pressure of the charts: without a contact wheel "
            "the pressure on the grain is not known.",
            "floor_ra",
            grain,
            SOURCES["floor_ra"],
        )
    return explain.derived(
        "The floor of the grade on this metal and this support.",
        "floor_ra",
        {**grain, "pressure": (float(contact.mean_pressure) / 1e3, "kPa")},
        SOURCES["floor_ra"],
    )
