"""Why there is no plan for a feature: what stands in the way, and what would open it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from advisor.choices.model import Conflict
from advisor.reasons import Trail
from advisor.sequence.candidates import StageField
from advisor.sequence.limits import Unmet
from advisor.sequence.offers import NotOffered
from advisor.sequence.paths import PathFinder, Scope, steps_of, target_window
from advisor.sequence.plan import FeaturePlan
from advisor.sequence.walls import WALL_SHARE, TooThin, too_thin
from advisor.sheet.explain import Explainer
from advisor.sheet.model import Blocked
from advisor.sheet.openings import openings
from advisor.units import figure

MOST = 6
_ANY_RA = (0.0, 1.0)


def blocked(plan: FeaturePlan, explain: Explainer, trail: Trail) -> tuple[Blocked, ...]:
    """What is in the way, the first stage without a way out first."""
    if plan.path:
        return ()
    thin = too_thin(plan.desk.job, plan.feature, plan.desk.knowledge.tables)
    if thin is not None:
        return (_too_thin(thin),)
    found = [*_contradictions(plan, explain, trail), *_opened(plan, explain)]
    if any(entry.limit for entry in found):
        unique = {entry.text: entry for entry in found}
        return (*tuple(unique.values())[: MOST - 1], *_also(plan, unique.values(), explain, trail))[:MOST]
    return _told(plan, explain, trail)


def _also(plan: FeaturePlan, said: Iterable[Blocked], explain: Explainer, trail: Trail) -> Iterator[Blocked]:
    """Limits that keep out what is at hand, of a kind not named yet; changing one of them alone opens nothing."""
    kinds = {entry.limit for entry in said}
    for entry in _told(plan, explain, trail):
        if entry.limit not in {*kinds, "station", None}:
            kinds.add(entry.limit)
            yield entry.model_copy(update={"opens": None})


def _too_thin(thin: TooThin) -> Blocked:
    wall = math.ceil(thin.depth * thin.wall / thin.allowed * 10 + 0.1) / 10
    return Blocked(
        text=f"{thin.defect.capitalize()} of {figure(thin.depth)} mm would have to come off a wall of "
        f"{figure(thin.wall)} mm; no more than {figure(thin.allowed)} mm may go.",
        limit="wall",
        value=thin.depth,
        allowed=thin.allowed,
        unit="mm",
        source="own-estimate",
        opens=f"a wall of at least {figure(wall)} mm, or a start less deep than {figure(thin.allowed)} mm"
        + (", or max_stock for this face, where so much may go" if thin.depth < thin.wall else ""),
    )


def _contradictions(plan: FeaturePlan, explain: Explainer, trail: Trail) -> Iterator[Blocked]:
    """What the rules demand that is not to be had here, at the first stage where nothing is left."""
    for field in _stuck(plan)[:1]:
        for conflict in field.conflicts:
            if conflict.hidden:
                yield _contradiction(conflict, field, explain, trail)


def _opened(plan: FeaturePlan, explain: Explainer) -> Iterator[Blocked]:
    """The requirements in the way, each with a change that was tried and opens the feature.

    Where no single change does, they are one smallest set, and each entry says that it needs the others.
    """
    for found in openings(plan, lambda stuck: _in_the_way(stuck, explain)):
        beside = f"; together with {len(found) - 1} more named here" if len(found) > 1 else ""
        for each in found:
            entry = _unmet(each.item) if isinstance(each.item, Unmet) else _not_offered(each.item)
            yield entry.model_copy(update={"opens": each.words + beside})


def _stuck(plan: FeaturePlan) -> list[StageField]:
    return [field for field in plan.fields if field.stage in ("clear", "finish") and not field.candidates]


def _in_the_way(plan: FeaturePlan, explain: Explainer) -> list[NotOffered | Unmet]:
    """Every limit at the stages where nothing is left, of the media that some rule speaks for there.

    Where each stage has something left and yet no chain comes through, the limits that thin the stages out.
    """
    if not plan.desk.tools:
        return list(plan.not_runnable)
    found: list[NotOffered | Unmet] = []
    if not _stuck(plan):
        return [item for field in plan.fields for item in field.unmet]
    for field in _stuck(plan):
        wanted = _spoken_for(field, plan, explain)
        found += field.unmet
        found += [item for item in (*field.not_offered, *plan.not_runnable) if item.media in wanted]
    return found


def _told(plan: FeaturePlan, explain: Explainer, trail: Trail) -> tuple[Blocked, ...]:
    """What is in the way where no change tried opens it."""
    if not plan.desk.tools:
        return tuple(_not_offered(item) for item in plan.not_runnable[:MOST])
    found: list[Blocked] = []
    for field in _stuck(plan)[:1]:
        found += _stuck_stage(field, plan, explain, trail)
    if not found:
        found += _no_chain(plan)
    unique = {entry.text: entry for entry in found}
    return tuple(unique.values())[:MOST]


def _stuck_stage(field: StageField, plan: FeaturePlan, explain: Explainer, trail: Trail) -> Iterator[Blocked]:
    """A stage for which nothing is left: conflicts of rules, limits in the numbers, media not to be had."""
    for conflict in field.conflicts:
        yield _contradiction(conflict, field, explain, trail)
    for unmet in field.unmet:
        yield _unmet(unmet)
    wanted = _spoken_for(field, plan, explain)
    for item in (*field.not_offered, *plan.not_runnable):
        if item.media in wanted:
            yield _not_offered(item)
    if not field.conflicts and not field.unmet and not wanted:
        yield Blocked(
            text=f"No rule names a media to {field.stage} here, and silence is not suitability.",
            opens="a rule for this combination",
        )


def _contradiction(conflict: Conflict, field: StageField, explain: Explainer, trail: Trail) -> Blocked:
    reasons = tuple(explain.ruled(rule, field.situation) for rule in conflict.rules)
    return Blocked(
        text=f"To {field.stage}: {conflict.what}.",
        rule=conflict.rules[0].id if conflict.rules else None,
        reasons=trail.refer(*reasons),
        opens=_way_out(conflict),
    )


def _way_out(conflict: Conflict) -> str:
    """What would end a conflict: for a single rule, where it does not hold."""
    if conflict.hidden:
        return "another cell or media"
    if len(conflict.rules) == 1:
        return conflict.rules[0].not_for
    return "a decision between the rules named"


def _spoken_for(field: StageField, plan: FeaturePlan, explain: Explainer) -> set[str]:
    """Every media that some rule speaks for at this stage, to be had here or not."""
    engine = plan.desk.decider.engine
    rules = engine.rules("media", engine.signature("media", field.situation))
    return {
        option
        for rule in rules
        for advice in rule.advice()
        if advice.decision == "media" and advice.strength in ("must", "should", "may")
        for option in advice.options
    }


def _eats_the_wall(plan: FeaturePlan) -> bool:
    """Whether the main defect goes into the face; what stands proud of it costs no wall."""
    return plan.desk.knowledge.tables.defects[plan.feature.start.defect].kind != "proud"


def _unmet(item: Unmet) -> Blocked:
    return Blocked(
        text=item.text,
        limit=item.limit,
        value=float(f"{item.value:.4g}"),
        allowed=float(f"{item.allowed:.4g}"),
        unit=item.unit,
        source=item.source,
        opens=item.opens,
    )


def _not_offered(item: NotOffered) -> Blocked:
    opens = {
        "station": f"a station that takes it ({item.media})",
        "handling": "the other handling",
        "reach": "a smaller wheel",
        "access": "more free space, or a smaller tool",
        "surface speed": "another speed range or wheel diameter",
    }.get(item.limit)
    return Blocked(
        text=item.text,
        limit=item.limit,
        value=item.value,
        allowed=item.allowed,
        unit=item.unit,
        opens=opens,
    )


def _in_whole_steps(plan: FeaturePlan) -> Iterator[Blocked]:
    """The limits of heat and stroke that the cheapest chain breaks, where only they are in the way."""
    feature = plan.feature
    free = PathFinder(plan.desk, plan.desk.job.batch, limited=False)
    window = target_window(feature.finish.ra_low_um, feature.finish.ra_high_um, False)
    for concerns in (7, 0):
        found = free.search(Scope(concerns, window))
        if found:
            for step in steps_of(found[0]):
                yield from (_unmet(item) for item in free.step_limits.unmet(step))
            return


def _no_chain(plan: FeaturePlan) -> Iterator[Blocked]:
    """Every stage has candidates, yet no chain of them arrives."""
    feature, depth = plan.feature, plan.feature.start.depth_mm[0]
    most, wall = feature.max_stock_mm, plan.desk.job.part.wall_mm
    if most is None and wall is not None and depth > WALL_SHARE * wall and _eats_the_wall(plan):
        yield Blocked(
            text=f"The defect is {depth:g} mm deep in a wall of {wall:g} mm, of which at most half may go.",
            limit="wall",
            value=depth,
            allowed=WALL_SHARE * wall,
            unit="mm",
            opens="a thicker wall, a shallower defect, or accepting part of the defect",
        )
        return
    if most is not None and depth > most:
        yield Blocked(
            text=f"The defect is {depth:g} mm deep and only {most:g} mm may be taken off.",
            limit="stock",
            value=depth,
            allowed=most,
            unit="mm",
            opens="more stock to take off, or accepting part of the defect",
        )
    broken = list(_in_whole_steps(plan))
    yield from broken
    if broken:
        return
    finder = PathFinder(plan.desk, plan.desk.job.batch)
    for concerns in (7, 0):
        found = finder.search(Scope(concerns, _ANY_RA))
        if found:
            reached = steps_of(found[0])[-1].after.ra * 1e6
            low, high = feature.finish.ra_low_um, feature.finish.ra_high_um
            yield Blocked(
                text=f"The chain that comes through ends at Ra {reached:.2g} um, not {low:g} to {high:g} um.",
                limit="roughness",
                value=float(f"{reached:.3g}"),
                allowed=(low, high),
                unit="um",
                opens="a wider Ra band, or a media that ends inside it",
            )
            return
    for field in plan.fields:
        for unmet in field.unmet[:1]:
            yield _unmet(unmet)
    yield Blocked(
        text="No step that is left takes the defect off in the passes allowed without spoiling the face.",
        limit="passes",
        opens="a harder wheel, a stronger station, a coarser start, or a shallower defect",
    )
