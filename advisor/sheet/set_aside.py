"""What was heard and not followed: conflicts, hidden advice, struck windows, and what was passed over."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from advisor.choices.model import ListChoice, RangeChoice
from advisor.knowledge.vocabulary import CONCERNS
from advisor.reasons import Trail
from advisor.sequence.candidates import ALL_COUNT
from advisor.sequence.plan import FeaturePlan
from advisor.sheet.explain import Explainer
from advisor.sheet.model import Conflict, Dropped

#: Struck windows are shown down to this many; the rest would bury the ones that matter.
MOST_STRUCK = 8


def conflicts(plans: Sequence[FeaturePlan], explain: Explainer, trail: Trail) -> tuple[Conflict, ...]:
    """Advice that cannot be followed together, each pair once, at the stages that the path goes through.

    What was contradictory at a stage that is not worked troubles nobody; its rules are among those weighed.
    """
    found: dict[str, Conflict] = {}
    for plan in plans:
        worked = {step.candidate.stage for step in plan.path}
        for field in plan.fields:
            if plan.path and field.stage not in worked:
                continue
            for item in field.conflicts:
                reasons = trail.refer(*(explain.ruled(rule, field.situation) for rule in item.rules))
                found.setdefault(
                    item.what + plan.feature.name,
                    Conflict(
                        text=f"To {field.stage}: {item.what}.",
                        feature=plan.feature.name,
                        decision=item.decision,
                        rules=tuple(rule.id for rule in item.rules),
                        reasons=reasons,
                    ),
                )
        for attribute, rules in _disputed(plan).items():
            title = explain.knowledge.vocabulary.attributes[attribute].title
            found.setdefault(
                attribute + plan.feature.name,
                Conflict(
                    text=f"Rules conclude different values for {title}, so it counts as not known.",
                    feature=plan.feature.name,
                    rules=rules,
                ),
            )
    return tuple(found.values())


def _disputed(plan: FeaturePlan) -> dict[str, tuple[str, ...]]:
    engine = plan.desk.decider.engine
    found: dict[str, tuple[str, ...]] = {}
    for step in plan.path:
        found.update(engine.conclude({**step.candidate.situation}).conflicts)
    return found


def hidden(plans: Sequence[FeaturePlan], explain: Explainer, trail: Trail) -> tuple[Dropped, ...]:
    """Advice of safety, specification or corrosion on options that are not to be had here."""
    found: dict[str, Dropped] = {}
    for plan in plans:
        for number, step in enumerate(plan.path, start=1):
            for decision, choice in step.candidate.choices.items():
                if not isinstance(choice, ListChoice):
                    continue
                for item in choice.hidden:
                    reason = explain.ruled(item.rule, step.candidate.situation)
                    wanted = " or ".join(explain.name(option) for option in item.advice.options)
                    found.setdefault(
                        item.rule.id + plan.feature.name,
                        Dropped(
                            text=f"{wanted} would be better; it is not to be had here. {reason.text}",
                            feature=plan.feature.name,
                            step=number,
                            decision=decision,
                            concern=item.rule.concern,
                            rule=item.rule.id,
                            reasons=trail.refer(reason),
                        ),
                    )
    return tuple(found.values())


def struck(plans: Sequence[FeaturePlan], explain: Explainer, trail: Trail) -> tuple[Dropped, ...]:
    """Advice struck out by an overriding rule or by a window of a higher concern, the weightiest first."""
    found: list[Dropped] = []
    seen: set[tuple[str, str]] = set()
    for plan, number, decision, choice in _choices(plans):
        situation = plan.path[number - 1].candidate.situation
        for item in choice.struck:
            key = (item.spoken.rule.id, plan.feature.name)
            if key in seen:
                continue
            seen.add(key)
            reason = explain.ruled(item.spoken.rule, situation)
            found.append(
                Dropped(
                    text=f"{explain.knowledge.vocabulary.decisions[decision].title}: {reason.text}",
                    feature=plan.feature.name,
                    step=number,
                    decision=decision,
                    concern=item.spoken.rule.concern,
                    rule=item.spoken.rule.id,
                    by=item.by,
                    reasons=trail.refer(reason),
                )
            )
    found.sort(key=lambda entry: CONCERNS.index(entry.concern) if entry.concern in CONCERNS else 9)
    return tuple(found[:MOST_STRUCK])


def _choices(
    plans: Sequence[FeaturePlan],
) -> Iterator[tuple[FeaturePlan, int, str, ListChoice | RangeChoice]]:
    for plan in plans:
        for number, step in enumerate(plan.path, start=1):
            for decision, choice in step.candidate.choices.items():
                yield plan, number, decision, choice


def passed_over(plans: Sequence[FeaturePlan], explain: Explainer) -> tuple[Dropped, ...]:
    """What the search had to give up to find a path at all."""
    found: list[Dropped] = []
    for plan in plans:
        if plan.path and plan.concerns < ALL_COUNT:
            dropped = CONCERNS[plan.concerns :] if plan.concerns < len(CONCERNS) else ()
            what = ", ".join(dropped) or "the mild preferences"
            found.append(
                Dropped(
                    text=f"No chain has only the best media and grains; {what} had to give way.",
                    feature=plan.feature.name,
                    concern=dropped[0] if dropped else None,
                )
            )
        if plan.path and plan.whole_band:
            low, high = plan.feature.finish.ra_low_um, plan.feature.finish.ra_high_um
            found.append(
                Dropped(
                    text=f"No chain ends well inside Ra {low:g} to {high:g} um; this one ends near a limit: "
                    "measure early.",
                    feature=plan.feature.name,
                )
            )
    return tuple(found)
