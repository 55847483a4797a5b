"""The reasons behind every value of a step."""

from __future__ import annotations

from advisor.choices.model import ListChoice, RangeChoice
from advisor.inference.tests import Situation
from advisor.process.speed import rotational_speed
from advisor.reasons import Reason
from advisor.sequence.plan import FeaturePlan
from advisor.sequence.surface import PlannedStep
from advisor.sheet.depth_reasons import feed_reason, passes_reason
from advisor.sheet.explain import Explainer
from advisor.sheet.inputs import given
from advisor.sheet.result_reasons import result_reasons

_STAGES = {
    "clear": "The step takes the defect away before anything finer is worth while.",
    "refine": "The step takes out the scratch of the step before.",
    "prepare": "The step levels the lines so that the last one can colour.",
    "finish": "The step lays the texture that is asked for.",
}
_TITLES = {"build": "build", "coat": "coat", "top_coat": "top coat", "backing": "backing"}


def step_reasons(plan: FeaturePlan, step: PlannedStep, explain: Explainer) -> dict[str, tuple[Reason, ...]]:
    """Reasons for each field of the step, by the field's name on the sheet."""
    candidate, situation = step.candidate, step.candidate.situation
    media = candidate.tool.media
    reasons: dict[str, tuple[Reason, ...]] = {
        "stage": (Reason(kind="chosen", text=_STAGES[candidate.stage]),)
    }
    station = f"{candidate.tool.station.name} of this cell runs a {media.name} at the speed wanted."
    reasons["station"] = (Reason(kind="known", text=station),)
    chain = _chain_reason(plan, explain)
    for decision in ("media", "grain", *_TITLES, "lubricant", "direction"):
        choice = candidate.choices.get(decision)
        option = candidate.values.get(decision)
        if isinstance(choice, ListChoice) and isinstance(option, str):
            reasons[decision] = explain.listed(choice, option, situation, media.name, media.source)
    for decision in ("media", "grain"):
        if decision in reasons:
            reasons[decision] += _branch(candidate.choices[decision], chain)
    for decision in ("pressure", "grade"):
        choice = candidate.choices.get(decision)
        if isinstance(choice, RangeChoice):
            reasons[decision] = _places(choice, decision, situation, explain, media.name, media.source)
    if "grade" in reasons:
        reasons["grade"] += (chain,)
    if candidate.grade is not None:
        text = f"{candidate.grade.name} has a mean grain of {candidate.grade.um:g} um."
        reasons["grain_um"] = (explain.known(text, candidate.grade.source),)
    reasons["wheel"] = _wheel(step, explain)
    reasons.update(_settings(plan, step, explain))
    reasons.update(result_reasons(plan, step, explain))
    return reasons


def _chain_reason(plan: FeaturePlan, explain: Explainer) -> Reason:
    """Why this chain and not another: cost, and how close the next ones come."""
    shown = ", ".join(_short(step, explain) for step in plan.path)
    text = f"{shown}: the cheapest chain that ends inside the band, by time on the machine."
    close = [rival for rival in plan.rivals if rival.equal]
    if close:
        text += f" {len(close)} other{'s' if len(close) > 1 else ''} come within a tenth;"
        text += " of equals the one with the fewest steps and then the finest start is taken."
    return Reason(kind="chosen", text=text)


def _short(step: PlannedStep, explain: Explainer) -> str:
    candidate = step.candidate
    return (
        f"{candidate.grade.key} {candidate.tool.media.name}" if candidate.grade else candidate.tool.media.name
    )


def _branch(choice: object, chain: Reason) -> tuple[Reason, ...]:
    """Equal options are told apart by the cost of the whole path."""
    if isinstance(choice, ListChoice) and len(choice.candidates(7)) > 1:
        return (chain,)
    return ()


def _places(
    choice: RangeChoice,
    decision: str,
    situation: Situation,
    explain: Explainer,
    row: str,
    sources: tuple[str, ...],
) -> tuple[Reason, ...]:
    """A stretch of named places (pressure classes, grades): the rules, or the table where none speaks."""
    reasons = tuple(explain.ruled(rule, situation) for rule in choice.shaped_by)
    if reasons:
        return reasons
    vocabulary = explain.knowledge.vocabulary
    title = vocabulary.decisions[decision].title
    return (
        explain.known(f"No rule narrows the {title}; everything that exists for a {row} is open.", sources),
    )


def _wheel(step: PlannedStep, explain: Explainer) -> tuple[Reason, ...]:
    candidate, media = step.candidate, step.candidate.tool.media
    found: list[Reason] = [
        Reason(
            kind="known",
            text=f"The wheel at hand on {candidate.tool.station.name} is "
            f"{candidate.tool.diameter_mm:g} mm across.",
        )
    ]
    for decision in ("wheel_cover", "wheel_face"):
        choice, option = candidate.choices.get(decision), candidate.values.get(decision)
        if isinstance(choice, ListChoice) and isinstance(option, str):
            found += explain.listed(choice, option, candidate.situation, media.name, media.source)
    for decision, unit in (("wheel_hardness", "Shore A"), ("wheel_width", "mm"), ("wheel_edge", "mm")):
        choice = candidate.choices.get(decision)
        if isinstance(choice, RangeChoice):
            found += explain.ranged(choice, candidate.situation, media.name, media.source, unit)
    return tuple(found)


def _settings(plan: FeaturePlan, step: PlannedStep, explain: Explainer) -> dict[str, tuple[Reason, ...]]:
    candidate, setup = step.candidate, step.candidate.setup
    media = candidate.tool.media
    found: dict[str, tuple[Reason, ...]] = {}
    windows: list[Reason] = []
    for decision, field, unit in (
        ("surface_speed", "surface_speed_m_s", "m/s"),
        ("force", "force_n", "N/mm"),
        ("feed", "feed_mm_s", "mm/s"),
    ):
        choice = candidate.choices.get(decision)
        if isinstance(choice, RangeChoice):
            found[field] = explain.ranged(choice, candidate.situation, media.name, media.source, unit)
            windows += found[field]
    found["windows"] = tuple(windows)
    found["force_n"] = (
        *found.get("force_n", ()),
        explain.derived(
            "The force is the force per width over the width that touches.",
            "force",
            {
                "force per width": given(setup.line_load / 1e3, "N/mm"),
                "contact width": given(setup.contact_width * 1e3, "mm"),
            },
            given(setup.force, "N"),
            ("common-practice",),
        ),
    )
    trimmed = feed_reason(plan, step, explain)
    if trimmed is not None:
        found["feed_mm_s"] = (*found.get("feed_mm_s", ()), trimmed)
    found["rpm"] = (
        explain.derived(
            "The surface speed on the wheel at hand gives the spindle speed.",
            "rotational_speed",
            {"surface speed": given(setup.speed, "m/s"), "diameter": given(setup.diameter * 1e3, "mm")},
            given(float(rotational_speed(setup.speed, setup.diameter)), "rpm"),
            ("common-practice",),
        ),
    )
    if media.marked_speed_m_s is not None:
        found["marked_speed_m_s"] = (
            explain.known(
                f"A {media.name} is usually marked for no more than {media.marked_speed_m_s:g} m/s.",
                media.source,
            ),
        )
    overlap = candidate.choices.get("overlap")
    if isinstance(overlap, RangeChoice):
        found["step_over_mm"] = explain.ranged(overlap, candidate.situation, media.name, media.source, "%")
    passes = step.received["passes"]
    found["passes"] = (
        *(explain.ruled(rule, candidate.situation) for rule in passes.shaped_by),
        passes_reason(plan, step, explain),
    )
    return found
