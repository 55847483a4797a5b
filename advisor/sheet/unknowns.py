"""What was assumed, and which unknowns would have mattered most."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from advisor.inference.engine import Engine
from advisor.inference.tests import answer
from advisor.job.model import Assumed as JobAssumed
from advisor.job.model import Job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.places import NOTES
from advisor.sequence.feature_desk import ASSUMED_AREA_CM2
from advisor.sequence.offers import COVER_MM
from advisor.sequence.plan import FeaturePlan
from advisor.sheet.model import Assumed
from advisor.situations import Facts

#: Where in the job file a field of this owner stands.
_PLACES = {"part": "of the part", "feature": "of the feature"}
MOST = 5
#: Where the job itself says what a presumption speaks of, so that nothing is listed twice.
_JOB_FIELDS = {
    "media_history": "cell.media_history",
    "dust.shared_with_steel": "cell.dust.shared_with",
    "coating.hazard": "start.coating",
}
_SET_BY_USER = ("job", "table")


def assumed(
    job: Job, presumptions: Sequence[JobAssumed], plans: Sequence[FeaturePlan], knowledge: Knowledge
) -> tuple[Assumed, ...]:
    """Every value nobody gave, with how to replace it where the tables tell."""
    vocabulary = knowledge.vocabulary.attributes
    found = [
        Assumed(field=item.field, value=item.value, why=item.why, measure=_find_out(item, job, knowledge))
        for item in job.assumed
    ]
    given = {item.field for item in found}
    found += [
        Assumed(field=vocabulary[item.field].title, value=item.value, why=item.why)
        for item in presumptions
        if _JOB_FIELDS.get(item.field) not in given and _concerns(item.field, job, knowledge)
    ]
    found += [
        Assumed(
            field=f"features[{plan.feature.name}].area",
            value=f"{ASSUMED_AREA_CM2:g} cm2",
            why="no area is given; times and costs scale with it",
            measure="Measure the face, length times width.",
        )
        for plan in plans
        if plan.feature.area_cm2 is None
    ]
    found += _of_contact_wheels(plans)
    return tuple(found)


def _of_contact_wheels(plans: Sequence[FeaturePlan]) -> Iterator[Assumed]:
    """What a cell may say of its contact wheels and belts, and does not."""
    touching = [(plan, step) for plan in plans for step in plan.path if step.candidate.effect.contact]
    if any(step.candidate.tool.station.wheel_cover_mm is None for _, step in touching):
        yield Assumed(
            field="cover of the contact wheel",
            value=f"at most {COVER_MM:g} mm thick",
            why="the cell does not say how thick the cover is; a thinner one acts harder",
        )
    for plan, step in touching:
        if step.candidate.setup.tension is None:
            candidate = step.candidate
            band = plan.desk.picked(candidate.tool.media, candidate.grain, candidate.grade)["belt_tension_n_mm"].band
            yield Assumed(
                field="tension of the belt",
                value=f"{band.expected:g} N/mm of its width ({band.low:g} to {band.high:g})",
                why="the cell does not say how tight belts run; a tighter one presses harder",
            )
            return


def _concerns(field: str, job: Job, knowledge: Knowledge) -> bool:
    """Whether a presumption has anything to do with this job (old coatings only where one is not known)."""
    if field != "coating.hazard":
        return True
    return any(
        knowledge.tables.defects[key].key in ("lacquer", "paint", "plating")
        for feature in job.features
        if feature.start.coating is None
        for key in feature.start.defects
    )


def _find_out(item: JobAssumed, job: Job, knowledge: Knowledge) -> str | None:
    """How to measure an assumed depth in the shop."""
    if not item.field.endswith("start.depth"):
        return None
    for feature in job.features:
        if item.field in ("start.depth", f"features[{feature.name}].start.depth"):
            return knowledge.tables.defects[feature.start.defect].find_out
    return None


def measure_next(
    engine: Engine, situations: Sequence[Facts], assumptions: Sequence[Assumed]
) -> tuple[tuple[str, ...], dict[str, tuple[str, ...]]]:
    """The unknowns that kept most rules from being heard, and the assumed depths and how to measure them.

    Counted is every rule once that is kept silent in some step by one unknown attribute which the user
    could give, and by nothing else. Beside the lines come the attributes told of, each with those rules.
    """
    lines = [f"{item.field}: {item.measure}" for item in assumptions if item.measure]
    waiting: dict[str, set[str]] = {}
    for situation in situations:
        for key, rule in _open(engine, situation):
            waiting.setdefault(key, set()).add(rule)
    attributes = engine.knowledge.vocabulary.attributes
    told: dict[str, tuple[str, ...]] = {}
    for key in sorted(waiting, key=lambda key: (-len(waiting[key]), key))[: max(0, MOST - len(lines))]:
        field = key.removesuffix(f"_{attributes[key].unit}")
        owner, _, name = field.rpartition(".")
        place = _PLACES.get(owner, "in the job")
        number = len(waiting[key])
        lines.append(
            f"{attributes[key].title} ('{name}' {place}): "
            f"{number} rule{'s wait' if number > 1 else ' waits'} for it."
        )
        told[key] = tuple(sorted(waiting[key]))
    return tuple(lines), told


def _open(engine: Engine, situation: Facts) -> Iterator[tuple[str, str]]:
    """An unknown attribute and the rule that waits for it alone."""
    vocabulary = engine.knowledge.vocabulary
    unknown = {
        key
        for key, attribute in vocabulary.attributes.items()
        if attribute.set_by in _SET_BY_USER and situation.get(key) is None and not key.startswith("finish.")
    }
    for place in engine.knowledge.places:
        if place.names == (NOTES,):
            continue
        for rule in place.rules:
            missing = rule.tested & unknown
            if len(missing) == 1 and all(
                answer(condition, situation.get(condition.attribute), vocabulary) == "yes"
                for condition in rule.when
                if condition.attribute not in missing
            ):
                yield next(iter(missing)), rule.id
