"""What job and cell ask of a plan, one requirement at a time, each of which can be let go.

A refusal is explained by them: let go of a requirement that is not in the way, and there still is no
plan; let go of one that is, and there may be one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from advisor.job.model import Feature, Job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.cell import Cell, Dust
from advisor.process.reach import largest_wheel_radius
from advisor.sequence.kept_fields import KeepingFinder, Kept
from advisor.sequence.paths import PathFinder, Scope, target_window
from advisor.sequence.plan import FeaturePlan, decide_handling, feature_desk
from advisor.sequence.step_limits import StepLimits
from advisor.sequence.walls import too_thin
from advisor.sequence.worlds import (
    SMALLEST_WHEEL_MM,
    World,
    with_any_speed,
    with_every_media,
    with_finish,
    with_start,
    with_wall,
    with_wheel,
)
from advisor.situations import job_situation, presumed

#: What a requirement is set to where it is let go: Ra (um), the start's Ra (um) and depth (mm), a hollow's radius (mm).
_NO_LIMIT_RA = 1e3
_SMOOTH_UM = 0.05
_SHALLOW_MM = 1e-3
_WIDE_MM = 1e4


@dataclass(frozen=True, slots=True)
class Requirement:
    """One thing asked: its key, and the world in which it is asked no more."""

    key: str
    let_go: Callable[[World], World]


Test = Callable[[World], bool]


def smallest_set(requirements: Sequence[Requirement], world: World, comes_through: Test) -> tuple[Requirement, ...]:
    """A smallest set of requirements that no plan meets together: without any one of them there is one.

    Requirements are let go one by one, and what does not open the way stays let go (deletion, as for
    minimal unsatisfiable subsets: Marques-Silva 2010); so those asked first are named last. Empty where
    even without all of them there is no plan.

    >>> parts = [Requirement(name, lambda world: world) for name in "ab"]
    >>> smallest_set(parts, World.__new__(World), lambda world: False)
    ()
    """
    needed = []
    for each in requirements:
        without = each.let_go(world)
        if comes_through(without):
            needed.append(each)
        else:
            world = without
    return tuple(needed)


# ---------------------------------------------------------------- is there a plan
def comes_through(plan: FeaturePlan) -> Test:
    """Whether the feature of a plan has one in another world: looked for as wide as a plan ever is."""
    known: dict[str, bool] = {}
    kept: Kept = {}

    def found(world: World) -> bool:
        key = f"{world.cool} {world.job.model_dump_json()}"
        if key not in known:
            known[key] = planned_in(plan, world, kept)
        return known[key]

    return found


def planned_in(plan: FeaturePlan, world: World, kept: Kept) -> bool:
    """Whether there is a path for the feature of a plan in another world.

    What the rules say here is not counted for the sheet. `kept` are the candidates of earlier worlds.
    """
    finder = finder_in(plan, world, kept)
    if finder is None:
        return False
    target = finder.desk.feature.finish
    return finder.passable(Scope(0, target_window(target.ra_low_um, target.ra_high_um, False)))


def finder_in(plan: FeaturePlan, world: World, kept: Kept) -> PathFinder | None:
    """The search for the feature of a plan in another world; None where nothing can be searched there."""
    job, knowledge, decider = world.job, plan.desk.knowledge, plan.desk.decider.listening()
    feature = job.feature(plan.feature.name)
    if too_thin(job, feature, knowledge.tables):
        return None
    facts, _ = presumed(job_situation(job, knowledge), knowledge)
    handling = str(decide_handling(job, decider, facts).winner)
    desk, _ = feature_desk(job, feature, handling, knowledge, decider, plan.desk.page)
    if not desk.tools:
        return None
    finder = KeepingFinder(desk, kept)
    finder.step_limits = StepLimits(desk, heat=not world.cool)
    return finder


# ---------------------------------------------------------------- what is asked
def requirements_of(job: Job, feature: Feature, knowledge: Knowledge) -> tuple[Requirement, ...]:
    """Everything asked that could be let go; what a shop changes least gladly first.

    The order is that in which they are let go: those that come late are named before the early ones.
    """
    return (
        *_of_cell(job, feature, knowledge), *_of_face(feature), *_of_limits(job, feature, knowledge),
    )  # fmt: skip


def _of_cell(job: Job, feature: Feature, knowledge: Knowledge) -> Iterator[Requirement]:
    """What the cell has and how it works."""
    cell, media = job.cell, knowledge.tables.media
    yield Requirement("station", lambda world: with_every_media(world, feature, media.values()))
    if len(cell.handling) == 1:
        other = "tool-in-hand" if cell.handling[0] == "part-in-hand" else "part-in-hand"
        yield Requirement("handling", lambda world: world.with_cell(handling=(other,)))
    if not cell.wet:
        yield Requirement("wet", lambda world: world.with_cell(wet=True))
    if cell.dust is None or cell.dust.shared_with is None or cell.dust.shared_with:
        yield Requirement("dust", lambda world: world.with_cell(dust=own_collector(cell)))
    if cell.media_history != "clean":
        yield Requirement("media history", lambda world: world.with_cell(media_history="clean"))


def _of_face(feature: Feature) -> Iterator[Requirement]:
    """What the face is to be and how it comes."""
    name = feature.name
    yield Requirement("heat", lambda world: replace(world, cool=True))
    if feature.finish.lay != "any":
        yield Requirement("lay", lambda world: with_finish(world, name, lay="any"))
    yield Requirement(
        "roughness", lambda world: with_finish(world, name, ra_low_um=0.0, ra_high_um=_NO_LIMIT_RA)
    )
    yield Requirement("start roughness", lambda world: with_start(world, name, roughness_um=_SMOOTH_UM))
    yield Requirement("depth", lambda world: with_start(world, name, depth_mm=(_SHALLOW_MM, _SHALLOW_MM)))
    if feature.access_mm is not None:
        yield Requirement("access", lambda world: world.with_face(name, access_mm=None))
    if feature.shape == "concave" and feature.radius_mm is not None:
        wheel = max(SMALLEST_WHEEL_MM, 2.0 * float(largest_wheel_radius(feature.radius_mm)) * 0.999)
        yield Requirement("hollow", lambda world: world.with_face(name, radius_mm=_WIDE_MM))
        yield Requirement("reach", lambda world: world.with_stations(lambda each: with_wheel(each, wheel)))


def _of_limits(job: Job, feature: Feature, knowledge: Knowledge) -> Iterator[Requirement]:
    """What the stations and the compliant tool can do, and what the part may lose."""
    cell, held, media = job.cell, job.cell.compliance, knowledge.tables.media
    yield Requirement(
        "surface speed", lambda world: world.with_stations(lambda each: with_any_speed(each, media))
    )
    if held is not None and held.force_n is not None:
        yield Requirement("force", lambda world: world.with_compliance(force_n=None))
    if held is not None and held.stroke_mm is not None:
        yield Requirement("stroke", lambda world: world.with_compliance(stroke_mm=None))
    if any(each.power_kw is not None for each in cell.stations):
        yield Requirement(
            "power", lambda world: world.with_stations(lambda each: each.model_copy(update={"power_kw": None}))
        )
    if job.part.wall_mm is not None:
        yield Requirement("wall", lambda world: with_wall(world, None))
    if feature.max_stock_mm is not None:
        yield Requirement("stock", lambda world: world.with_face(feature.name, max_stock_mm=None))


def own_collector(cell: Cell) -> Dust:
    """A collector like that of the cell, which serves this metal alone."""
    collector = cell.dust.collector if cell.dust and cell.dust.collector not in (None, "none") else "dry"
    return Dust(collector=collector, shared_with=())
