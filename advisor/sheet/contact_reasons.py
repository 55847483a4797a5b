"""The reasons behind the contact of a rubber wheel, one for each thing that makes it press as it does."""

from __future__ import annotations

from collections.abc import Iterator

from advisor.figures.pressing import Pressing, pressing
from advisor.reasons import Reason
from advisor.sequence.plan import FeaturePlan
from advisor.sequence.surface import PlannedStep
from advisor.sheet.explain import Explainer
from advisor.sheet.inputs import StepInputs, given

_HERTZ = ("gent-1958", "johnson-contact")
_OWN = ("own-estimate",)


def contact_reasons(plan: FeaturePlan, step: PlannedStep, explain: Explainer) -> tuple[Reason, ...]:
    """From the wheel at rest to the pressure on its grain; nothing where no rubber wheel touches."""
    candidate = step.candidate
    wheel = pressing(
        candidate.setup, plan.desk.expected(candidate.tool.media, candidate.grain, candidate.grade)
    )
    if wheel is None or candidate.effect.contact is None:
        return ()
    return tuple(_chain(plan, step, wheel, explain))


def _chain(plan: FeaturePlan, step: PlannedStep, wheel: Pressing, explain: Explainer) -> Iterator[Reason]:
    inputs, setup = StepInputs(plan, step), step.candidate.setup
    touching = step.candidate.effect.contact
    assert touching is not None
    yield explain.derived(
        "Thrown outward at speed, the cover acts a little harder than its Shore says at rest.",
        "spin_stiffening",
        inputs.thrown_cover(),
        given(float(wheel.thrown)),
        ("common-practice", *_OWN),
    )
    if setup.lands is not None:
        yield explain.derived(
            "Between their grooves the lands give way more than a solid cover. They are those of a usual wheel.",
            "grooved_cover",
            inputs.grooves(),
            given(float(wheel.grooved)),
            ("gent-lindley-1959", "common-practice"),
        )
    bare = wheel.bare(setup.line_load)
    on_a_spot = setup.across is not None
    text = (
        "The cover flattens on the face; hardness, curvature, thickness and force per width give the contact."
    )
    if on_a_spot:
        text = (
            "Face and wheel curve both ways, so that they meet on a spot and not over the width; only what "
            "touches counts as width."
        )
    yield explain.derived(
        text,
        "spot_contact" if on_a_spot else "line_contact",
        {"force per width": inputs.force_per_width(), **inputs.wheel()},
        given(float(bare.mean_pressure) / 1e3, "kPa"),
        _HERTZ,
    )
    said = (
        ""
        if setup.tension is not None
        else " The cell does not say how tight it runs, so the usual is taken."
    )
    yield explain.derived(
        f"A tight belt carries over the edges of the contact, which makes it shorter and harder.{said}",
        "belt_tightening",
        {
            "pressure of the bare wheel": given(float(bare.mean_pressure) / 1e3, "kPa"),
            "half-width of the bare wheel": given(float(bare.half_width) * 1e3, "mm"),
            "modulus": given(float(wheel.modulus) / 1e6, "MPa"),
            **inputs.tight_belt(),
        },
        given(float(touching.mean_pressure) / 1e3, "kPa"),
        _OWN,
    )
    if setup.lands is not None:
        yield explain.derived(
            "The same force rests on the lands alone, so that the grain there is pressed harder.",
            "land_pressure",
            {
                "pressure of the contact": given(float(touching.mean_pressure) / 1e3, "kPa"),
                **inputs.land_share(),
            },
            given(float(touching.grain_pressure) / 1e3, "kPa"),
            ("common-practice",),
        )
