"""The plan for one feature: the path taken, its rivals, what was passed over, or why there is none."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from advisor.choices.decide import Decider
from advisor.choices.model import ListChoice
from advisor.figures.coefficients import AlloyPage, CoefficientBook
from advisor.job.model import Feature, Job
from advisor.knowledge.base import Knowledge
from advisor.sequence.candidates import StageField
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.offers import NotOffered, tools
from advisor.sequence.paths import (
    ALL_COUNT,
    EQUAL,
    Path,
    PathFinder,
    PathLabel,
    Scope,
    steps_of,
    target_window,
)
from advisor.sequence.walls import too_thin
from advisor.situations import Facts, feature_situation

WANTED_RIVALS = 2


@dataclass(frozen=True, slots=True)
class Rival:
    """Another chain that would do; `equal` where it costs no more than a tenth more."""

    path: Path
    cost: float
    time: float
    equal: bool
    why: str


@dataclass(frozen=True, slots=True)
class FeaturePlan:
    """What was found for one feature.

    `path` is empty where nothing is admissible. `concerns` tells how many concerns counted in the
    end (fewer than all: the field had to be widened), `whole_band` that the inner part of the Ra
    band could not be reached.
    """

    feature: Feature
    desk: FeatureDesk
    path: Path
    cost: float
    rivals: tuple[Rival, ...]
    fields: tuple[StageField, ...]
    not_runnable: tuple[NotOffered, ...]
    concerns: int = ALL_COUNT
    whole_band: bool = False


def decide_handling(job: Job, decider: Decider, facts: Facts) -> ListChoice:
    """Whether the part goes to the tool or the tool to the part, among what the cell allows."""
    allowed = job.cell.handling
    return decider.listed("handling", facts, allowed, usual=allowed[0])


def plan_feature(
    job: Job,
    feature: Feature,
    handling: str,
    knowledge: Knowledge,
    decider: Decider,
    book: CoefficientBook | None = None,
    finder_of: Callable[[FeatureDesk, int], PathFinder] = PathFinder,
) -> FeaturePlan:
    """The cheapest admissible chain of steps for one feature.

    First with every concern counting and the inner part of the Ra band as target; where no path
    exists, the whole band, and then fewer and fewer concerns, from the lowest up. `book` keeps the
    coefficients looked up from one feature to the next, with what trials taught put upon them.
    """
    tables = knowledge.tables
    page = (book or CoefficientBook(tables.coefficients.values())).page(
        tables.alloys[job.alloy], job.cell.key or job.cell.name
    )
    desk, not_runnable = feature_desk(job, feature, handling, knowledge, decider, page)
    if not desk.tools or too_thin(job, feature, tables):
        return FeaturePlan(feature, desk, (), 0.0, (), (), not_runnable)
    finder = finder_of(desk, job.batch)
    low, high = feature.finish.ra_low_um, feature.finish.ra_high_um
    whole = target_window(low, high, False)
    for concerns in range(ALL_COUNT, -1, -1):
        # Most jobs have a chain at once. Where there was none, a look at the whole band comes first.
        if concerns < ALL_COUNT and (
            finder.as_before(concerns) or not finder.passable(Scope(concerns, whole))
        ):
            continue
        for inner in (True, False):
            scope = Scope(concerns, target_window(low, high, inner))
            found = finder.search(scope)
            if found:
                return _plan(desk, finder, scope, found, not_runnable, not inner)
    return FeaturePlan(feature, desk, (), 0.0, (), tuple(finder.fields.values()), not_runnable)


def feature_desk(
    job: Job,
    feature: Feature,
    handling: str,
    knowledge: Knowledge,
    decider: Decider,
    page: AlloyPage | None = None,
) -> tuple[FeatureDesk, tuple[NotOffered, ...]]:
    """The desk of a feature with the media that some station can run, and the media that none can."""
    runnable, not_runnable = tools(job.cell, handling, knowledge.tables)
    facts = {**feature_situation(job, feature, knowledge), "handling": handling}
    return FeatureDesk(job, feature, handling, knowledge, decider, runnable, facts, page), not_runnable


def _plan(
    desk: FeatureDesk,
    finder: PathFinder,
    scope: Scope,
    found: tuple[PathLabel, ...],
    not_runnable: tuple[NotOffered, ...],
    whole_band: bool,
) -> FeaturePlan:
    best = winner(found)
    rivals = _rivals(finder, scope, found, best)
    return FeaturePlan(
        desk.feature,
        desk,
        steps_of(best),
        best.cost,
        rivals,
        tuple(finder.fields.values()),
        not_runnable,
        scope.concerns,
        whole_band,
    )


def winner(found: tuple[PathLabel, ...]) -> PathLabel:
    """Of the paths within a tenth of the cheapest: fewest steps, then the finest start, then the cheapest."""
    near = [label for label in found if label.cost <= found[0].cost * EQUAL]
    return min(near, key=lambda label: (label.criteria[1], label.criteria[2], label.cost))


def _signature(path: Path) -> tuple[tuple[str, str, str | None, str | None], ...]:
    return tuple((step.candidate.stage, *step.candidate.key) for step in path)


def _rivals(
    finder: PathFinder, scope: Scope, found: tuple[PathLabel, ...], best: PathLabel
) -> tuple[Rival, ...]:
    """At least two chains that differ from the winner, cheapest first, where they exist.

    Where the search left fewer, it is run again without the winner's first and last step, and then
    without the last steps of all that was found.
    """
    chosen = steps_of(best)
    others: dict[object, PathLabel] = {}

    def collect(labels: tuple[PathLabel, ...]) -> None:
        for label in labels:
            sign = _signature(steps_of(label))
            if sign != _signature(chosen) and sign not in others:
                others[sign] = label

    collect(found)
    for step in (chosen[0], chosen[-1]):
        if len(others) < WANTED_RIVALS:
            ban = frozenset({(step.candidate.stage, step.candidate.key)})
            collect(finder.search(Scope(scope.concerns, scope.target, ban), 1.0))
    while len(others) < WANTED_RIVALS:
        ends = (steps_of(label)[-1].candidate for label in (best, *others.values()))
        without = frozenset((end.stage, end.key) for end in ends)
        more = finder.search(Scope(scope.concerns, scope.target, without), 1.0)
        if not more:
            break
        collect(more)
    ranked = sorted(others.values(), key=lambda label: label.cost)
    return tuple(_rival(label, best) for label in _unlike(ranked, chosen))


def _unlike(ranked: list[PathLabel], chosen: Path) -> list[PathLabel]:
    """The cheapest rivals whose grades differ from the winner's and from each other's, then any others."""

    def grades(path: Path) -> tuple[str | None, ...]:
        return tuple(step.candidate.grade.key if step.candidate.grade else None for step in path)

    seen = {grades(chosen)}
    first: list[PathLabel] = []
    rest: list[PathLabel] = []
    for label in ranked:
        sign = grades(steps_of(label))
        (rest if sign in seen else first).append(label)
        seen.add(sign)
    return sorted([*first, *rest][: WANTED_RIVALS + 1], key=lambda label: label.cost)


def _rival(label: PathLabel, best: PathLabel) -> Rival:
    path, chosen = steps_of(label), steps_of(best)
    equal = label.cost <= best.cost * EQUAL
    extra = (label.cost / best.cost - 1.0) * 100.0
    if not equal:
        why = f"costs {extra:.0f} % more"
    elif len(path) != len(chosen):
        why = "equal within a tenth; " + (
            "takes more steps" if len(path) > len(chosen) else "takes fewer steps"
        )
    elif label.criteria[2] > best.criteria[2]:
        why = "equal within a tenth; starts coarser"
    else:
        why = "equal within a tenth"
    return Rival(path, label.cost, sum(step.time for step in path), equal, why)
