"""The reasons behind the metal a step takes: removal, what it leaves of the defect, passes and feed."""

from __future__ import annotations

from collections.abc import Mapping

from advisor.figures.effect import WEB_HARDNESS
from advisor.reasons import Input, Reason
from advisor.sequence.plan import FeaturePlan
from advisor.sequence.surface import PlannedStep
from advisor.sheet.explain import Explainer
from advisor.sheet.inputs import StepInputs, given

SOURCES: Mapping[str, tuple[str, ...]] = {
    "depth_per_pass": ("preston-1927", "hammann-1998", "kalpakjian-table"),
    "strip": ("own-estimate",),
    "table_depth": ("own-estimate",),
    "stock": ("from-memory", "own-estimate"),
}


def depth_reasons(plan: FeaturePlan, step: PlannedStep, explain: Explainer) -> dict[str, Reason]:
    """Reasons for removal and what is left of the defect, by the field's name on the sheet."""
    inputs = StepInputs(plan, step)
    return {
        "removal_um": _removal(step, inputs, explain),
        "remaining_um": explain.derived(
            "What the planned passes leave of the defect, over the spread of the removal.",
            "remaining",
            {
                "depth before": given(step.before.remaining * 1e6, "um"),
                "removed": given(step.removal * 1e6, "um"),
            },
            given(max(0.0, step.before.remaining - step.removal) * 1e6, "um"),
            SOURCES["stock"],
        ),
    }


def passes_reason(plan: FeaturePlan, step: PlannedStep, explain: Explainer) -> Reason:
    """Why so many passes."""
    inputs = StepInputs(plan, step)
    if step.kind == "blend":
        text = "The fewest passes that bring Ra inside the band asked for, and that hide what the step finds."
        return Reason(kind="chosen", text=text)
    if step.candidate.setup.on_edge:
        return explain.derived(
            "A burr stands on an edge: it alone carries a light force, with no face beside it to be dished, and "
            "whole passes draw it off.",
            "edge_passes",
            _edge(step, inputs),
            inputs.passes(),
            SOURCES["strip"],
        )
    if step.strip is not None:
        return explain.derived(
            "The strip carries the force until the wheel reaches the face beside it; whole passes bring it down.",
            "strip_passes",
            _strip(step, inputs),
            inputs.passes(),
            SOURCES["strip"],
        )
    window, setup = step.received["passes"], step.candidate.setup
    return explain.derived(
        "Whole passes that take the stock; each spot is gone over so often.",
        "whole_passes",
        {
            "stock": given(step.need * 1e6, "um"),
            "depth of a pass at the feed set": inputs.pass_depth(setup.feed),
            "fewest passes": given(window.low),
            "most passes": given(window.high),
        },
        inputs.passes(),
        SOURCES["stock"],
    )


def feed_reason(plan: FeaturePlan, step: PlannedStep, explain: Explainer) -> Reason | None:
    """Why the feed is not the one that the rules aim at, where it is not."""
    inputs, setup = StepInputs(plan, step), step.candidate.setup
    if step.kind == "blend" or step.candidate.effect.fixed_depth is not None:
        return None
    if step.strip is not None:
        return Reason(
            kind="chosen",
            text=f"On {'an edge' if setup.on_edge else 'a strip'} the feed stays at the slow end of its window, "
            "so that few passes do.",
        )
    return explain.derived(
        "The feed is trimmed so that whole passes take exactly the stock.",
        "trimmed_feed",
        {
            "feed set": given(setup.feed * 1e3, "mm/s"),
            "depth of a pass at the feed set": inputs.pass_depth(setup.feed),
            "passes": inputs.passes(),
            "stock": given(step.need * 1e6, "um"),
            "slowest feed": given(setup.slowest_feed * 1e3, "mm/s"),
            "fastest feed": given(setup.fastest_feed * 1e3, "mm/s"),
        },
        given(step.feed * 1e3, "mm/s"),
        SOURCES["stock"],
    )


def _removal(step: PlannedStep, inputs: StepInputs, explain: Explainer) -> Reason:
    candidate, taken = step.candidate, given(step.removal * 1e6, "um")
    if step.local:
        return explain.derived(
            "The burr goes down to its root, which is the edge."
            if candidate.setup.on_edge
            else "The strip is brought down from the height it had to what the next step may find.",
            "height_taken",
            {
                "height before": given(step.before.remaining * 1e6, "um"),
                "height left": given((step.before.remaining - step.need) * 1e6, "um"),
            },
            taken,
            SOURCES["strip"],
        )
    run = {"passes": inputs.passes(), "overlap": inputs.overlap()}
    if candidate.effect.fixed_depth is None:
        return explain.derived(
            "Power over specific energy gives the cut; below a pressure the grain only rubs.",
            "depth_per_pass",
            {"force per width": inputs.force_per_width(), **inputs.law(), **inputs.pressure(), **run},
            taken,
            SOURCES["depth_per_pass"],
        )
    return explain.derived(
        "The depth of a pass is looked up and scaled to the hardness of the metal.",
        "table_depth",
        {**_table(step, inputs), **run},
        taken,
        SOURCES["table_depth"],
    )


def _table(step: PlannedStep, inputs: StepInputs) -> dict[str, Input]:
    """The depth of a pass as typed in, and what scales it; a wire wheel's is not scaled."""
    candidate, media = step.candidate, step.candidate.tool.media
    if media.abrasive not in ("web", "compound"):
        return {"depth of a pass": inputs.coefficient("wire_depth_um")}
    kind = "web" if media.abrasive == "web" else "buff"
    return {
        "depth of a pass": inputs.coefficient(f"{kind}_depth_um"),
        "hardness it is given for": given(WEB_HARDNESS, "HV"),
        "hardness of the metal": given(candidate.setup.alloy.hardness_hv, "HV"),
        "media factor": given(media.removal_factor),
    }


def _edge(step: PlannedStep, inputs: StepInputs) -> dict[str, Input]:
    found = {"height": given(step.need * 1e6, "um")}
    if step.candidate.effect.fixed_depth is not None:
        return {**found, **_table(step, inputs), "gain on an edge": inputs.coefficient("edge_gain")}
    force = {"force": given(step.candidate.setup.force, "N"), "burr": given((step.strip or 0.0) * 1e3, "mm")}
    return {**found, **force, **inputs.law(threshold=False)}


def _strip(step: PlannedStep, inputs: StepInputs) -> dict[str, Input]:
    setup = step.candidate.setup
    found = {
        "height": given(step.before.remaining * 1e6, "um"),
        "height handed over": given((step.before.remaining - step.need) * 1e6, "um"),
        "strip": given((step.strip or 0.0) * 1e3, "mm"),
        "contact width": given(setup.contact_width * 1e3, "mm"),
        "force": given(setup.force, "N"),
    }
    if step.candidate.effect.fixed_depth is not None:
        return {**found, **inputs.wheel(), **_table(step, inputs)}
    if step.candidate.effect.contact is not None:
        found |= {**inputs.wheel(), **inputs.tight_belt(), **(inputs.land_share() if setup.lands else {})}
    return {**found, **inputs.law()}
