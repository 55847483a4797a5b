"""Ladders of grits against every ladder written out: a worked example, drawn ones, and the real moves."""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import combinations, count

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.process import removal, roughness, timing
from advisor.sequence import candidates as candidates_module
from advisor.sequence.candidate import Candidate
from advisor.sequence.paths import MOST_STEPS, PathFinder, PathLabel, Scope, steps_of, target_window
from advisor.sequence.plan import winner
from advisor.sequence.search import Label, cheapest_paths
from advisor.sequence.surface import PlannedStep, Surface
from tests import invented

MICRON = 1e-6
#: Mean grain in um of the FEPA P grades.
P = {"P60": 269.0, "P80": 201.0, "P120": 125.0, "P180": 82.0, "P240": 58.5, "P320": 46.2, "P400": 35.0}

#: What a change from one grit (None: the surface found) to the next takes, in s; None where it may not be.
Change = Callable[[str | None, str], float | None]
Ladder = tuple[str, ...]


def by_search(
    grits: Sequence[str], change: Change, done: Callable[[str], bool]
) -> tuple[float, Ladder] | None:
    def expand(label: Label[str | None]) -> Iterator[Label[str | None]]:
        for grit in grits:
            cost = change(label.move, grit)
            if cost is not None:
                yield Label(grit, (label.cost + cost, label.criteria[1] + 1.0), grit, label)

    start: Label[str | None] = Label(None, (0.0, 0.0), None)
    found = cheapest_paths([start], expand, lambda label: label.move is not None and done(label.move))
    if not found:
        return None
    return found[0].cost, tuple(grit for grit in found[0].moves() if grit is not None)


def by_writing_out(
    grits: Sequence[str], change: Change, done: Callable[[str], bool]
) -> tuple[float, Ladder] | None:
    """Every choice of grits from coarse to fine that ends where it should and stops there first."""
    costs: list[tuple[float, Ladder]] = []
    for length in range(1, len(grits) + 1):
        for ladder in combinations(grits, length):
            if not done(ladder[-1]) or any(done(grit) for grit in ladder[:-1]):
                continue
            legs = [change(one, two) for one, two in zip((None, *ladder[:-1]), ladder, strict=True)]
            if all(leg is not None for leg in legs):
                costs.append((sum(leg for leg in legs if leg is not None), ladder))
    return min(costs) if costs else None


# ---------------------------------------------------------------- the worked example of the research notes

#: Floor Ra of 0.012 um for each um of grain, Rt eight times Ra, stock of twice the Rt found, 0.5 um in a
#: second at P80 in proportion to the grain; from Ra 6.3 um to 0.45 um.
WORKED = ("P80", "P120", "P180", "P240", "P320", "P400")


def worked(changeover: float) -> Change:
    def change(before: str | None, grit: str) -> float | None:
        if before is not None and P[grit] >= P[before]:
            return None
        ra = 6.3 * MICRON if before is None else 0.012 * P[before] * MICRON
        stock = float(roughness.stock_to_erase(roughness.peak_to_valley(ra, 8.0), 0.0, 2.0, 0.0, 0.5))
        return changeover + stock / (0.5 * MICRON * P[grit] / P["P80"])

    return change


@pytest.mark.parametrize(
    ("changeover", "ladder", "total"),
    [
        (0.0, ("P80", "P180", "P400"), 571.626),
        (10.0, ("P80", "P180", "P400"), 601.626),
        (30.0, ("P120", "P400"), 659.830),
        (60.0, ("P120", "P400"), 719.830),
        (120.0, ("P120", "P400"), 839.830),
        (300.0, ("P120", "P400"), 1199.830),
    ],
)
def test_worked_example(changeover: float, ladder: Ladder, total: float) -> None:
    """The dearer a change of belt, the fewer the steps."""
    found = by_search(WORKED, worked(changeover), lambda grit: 0.012 * P[grit] <= 0.45)
    assert found is not None
    assert found[1] == ladder
    assert found[0] == pytest.approx(total, abs=5e-4)
    written = by_writing_out(WORKED, worked(changeover), lambda grit: 0.012 * P[grit] <= 0.45)
    assert written is not None and (written[1], written[0]) == (ladder, pytest.approx(found[0], rel=1e-12))


def test_worked_example_has_32_ladders() -> None:
    ends = [grit for grit in WORKED if 0.012 * P[grit] <= 0.45]
    assert ends == ["P400"]
    assert sum(math.comb(len(WORKED) - 1, more) for more in range(len(WORKED))) == 32


# ---------------------------------------------------------------- drawn ladders on the process formulas


@given(
    grits=st.lists(st.sampled_from(list(P)), min_size=2, unique=True),
    energy=st.floats(5e9, 60e9), ra=st.floats(1.0, 12.0), multiple=st.floats(0.6, 1.5),
    changeover=st.floats(0.0, 200.0), most_jump=st.floats(1.4, 6.0), load=st.floats(500.0, 3000.0),
    wanted=st.floats(0.3, 2.0),
)  # fmt: skip
def test_drawn_ladders(
    grits: list[str], energy: float, ra: float, multiple: float, changeover: float, most_jump: float,
    load: float, wanted: float,
) -> None:  # fmt: skip
    """With whole passes, a threshold of pressure, and a limit on the jump, as the real search has them."""
    ladder = sorted(grits, key=lambda grit: -P[grit])

    def floor(grit: str) -> float:
        return float(roughness.floor_ra(0.0057, P[grit] * MICRON, 1.1, 1.0, 110e3, 0.3))

    def change(before: str | None, grit: str) -> float | None:
        if before is not None and not 1.0 < P[before] / P[grit] <= most_jump:
            return None
        grain = P[grit] * MICRON
        found = ra * MICRON if before is None else floor(before)
        need = float(roughness.stock_to_erase(10.0 * found, 10.0 * floor(grit), multiple, 0.0, 0.5))
        spent = removal.specific_energy(energy, grain, 0.5)
        depth = float(removal.depth_per_pass(0.4, spent, load, 25.0, 0.05, 80e3, 15e3))
        passes = timing.whole_passes(need, depth)
        return changeover + float(timing.area_time(0.012, 0.03, 0.05, passes)) + 8.0

    def done(grit: str) -> bool:
        return floor(grit) <= wanted * MICRON

    searched, written = by_search(ladder, change, done), by_writing_out(ladder, change, done)
    assert (searched is None) == (written is None)
    if searched is not None and written is not None:
        assert searched[0] == pytest.approx(written[0], rel=1e-12)
        legs = zip((None, *searched[1][:-1]), searched[1], strict=True)
        assert sum(change(one, two) or 0.0 for one, two in legs) == pytest.approx(searched[0], rel=1e-12)


# ---------------------------------------------------------------- the real moves on the packaged knowledge

#: A backstand with two wheels and a web: few enough candidates to write every chain out.
SMALL_CELL = {
    "operator": "person", "handling": ["part-in-hand"], "media_history": "clean",
    "stations": [
        {"name": "backstand", "takes": ["belt", "nonwoven-belt"], "power": "4 kW",
         "speed": ["800 rpm", "2600 rpm"], "wheel_diameter": "250 mm", "wheel_hardness": [30, 60]},
    ],
    "changeover": {"belt": "60 s", "wheel": "180 s"},
}  # fmt: skip
SMALL: Mapping[str, Mapping[str, object]] = {
    "hinge-leaf": {"alloy": "s30400", "start": {"defect": "machining-marks"}, "finish": "ground-fine"},
    "cleat": {
        "alloy": "g10180",
        "start": {"defect": "mill-scale", "depth": "0.1 mm"},
        "finish": "ground-fine",
    },
    "tray-rim": {"alloy": "s30400", "start": {"defect": "previous-grinding"}, "finish": "satin-medium"},
}


def finder_of(name: str) -> tuple[PathFinder, Scope]:
    asked = invented.job_of(name, **{**SMALL[name], "cell": SMALL_CELL})
    plan = invented.plans_of(asked)[0]
    assert plan.path, name
    target = target_window(plan.feature.finish.ra_low_um, plan.feature.finish.ra_high_um, not plan.whole_band)
    return PathFinder(plan.desk, asked.batch), Scope(plan.concerns, target)


def chains(finder: PathFinder, scope: Scope) -> Iterator[tuple[PlannedStep, ...]]:
    """Every admissible chain for a face with one defect over its whole area, written out step by step.

    Clear, each time finer and from the band of depth that is reached; then refine; perhaps prepare;
    finish inside the target. A step that clears may be the last one where both stages agree on it.
    """
    (defect,) = finder.defects
    assert not defect.row.local

    def stage(name: str, remaining: float = 0.0) -> Sequence[Candidate]:
        return finder.field(name, scope.concerns, 0 if name == "clear" else -1, remaining).candidates

    def onward(candidate: Candidate, surface: Surface, last: bool) -> Iterator[PlannedStep]:
        if candidate.tool.media.blends:
            yield from finder.moves.blend(candidate, surface, scope.target if last else None)
        else:
            yield from finder.moves.erase(candidate, surface)

    def walk(surface: Surface, steps: tuple[PlannedStep, ...]) -> Iterator[tuple[PlannedStep, ...]]:
        if surface.stage == "finish":
            if scope.target[0] <= surface.ra <= scope.target[1]:
                yield steps
            return
        if len(steps) == MOST_STEPS:
            return
        for planned in further(surface):
            yield from walk(planned.after, (*steps, planned))

    def further(surface: Surface) -> Iterator[PlannedStep]:
        if surface.defect == 0:
            clearing = stage("clear", surface.remaining)
            stops = [limit / 1e3 for limit in DEPTH_LIMITS if 4e-5 < limit / 1e3 < 0.9 * surface.remaining]
            for candidate in clearing:
                grain = candidate.grade.um if candidate.grade else None
                if surface.grain is None or grain is None or grain < surface.grain:
                    for stop in (0.0, *stops):
                        yield from finder.moves.clear(candidate, surface, defect, stop)
            twins = {candidate.key for candidate in clearing}
            for candidate in stage("finish"):
                if candidate.key in twins and not candidate.tool.media.blends:
                    for planned in finder.moves.clear(candidate, surface, defect, 0.0):
                        if planned.after.left == 0.0:
                            yield planned
            return
        if surface.stage != "prepare":
            for name in ("refine", "prepare"):
                for candidate in stage(name):
                    yield from onward(candidate, surface, False)
        for candidate in stage("finish"):
            yield from onward(candidate, surface, True)

    yield from walk(finder.start(), ())


#: Depths (mm) at which some packaged rule changes its mind about what is left of a defect.
DEPTH_LIMITS = sorted({
    float(condition.operand[0])
    for rule in invented.knowledge().rules if rule.status != "retired"
    for condition in (*rule.when, *rule.unless)
    if condition.attribute == "remaining_mm" and condition.operator in ("at least", "at most", "above", "below")
})  # fmt: skip


@pytest.mark.parametrize("name", SMALL)
def test_real_moves_against_every_chain(name: str) -> None:
    finder, scope = finder_of(name)
    found = finder.search(scope)
    every = list(chains(finder, scope))
    cheapest = min(sum(step.cost for step in chain) for chain in every)
    assert len(every) > 2
    assert found[0].cost == pytest.approx(cheapest, rel=1e-12)
    assert sum(step.cost for step in steps_of(found[0])) == pytest.approx(cheapest, rel=1e-12)


@pytest.mark.parametrize("name", SMALL)
def test_of_equals_the_fewest_steps_win_and_then_the_finest_start(name: str) -> None:
    finder, scope = finder_of(name)

    def order(chain: Sequence[PlannedStep]) -> tuple[int, float, float]:
        first = chain[0].candidate.grade
        return len(chain), first.um if first else 1.0, sum(step.cost for step in chain)

    every = list(chains(finder, scope))
    limit = 1.1 * min(sum(step.cost for step in chain) for chain in every)
    wanted = min(order(chain) for chain in every if order(chain)[2] <= limit)
    taken = order(steps_of(winner(finder.search(scope))))
    assert taken[:2] == wanted[:2]
    assert taken[2] == pytest.approx(wanted[2], rel=1e-12)


def cheapest_without_dominance(finder: PathFinder, scope: Scope) -> float:
    """The cheapest cost over states told apart in every figure: nothing is dropped for being worse."""
    order = count()
    start: PathLabel = finder.origin()
    queue: list[tuple[float, int, PathLabel]] = [(0.0, next(order), start)]
    seen: set[object] = set()
    while queue:
        cost, _, label = heapq.heappop(queue)
        if finder._done(label, scope):
            return cost
        state = (label.move.after if label.move else None, label.criteria[1], *label.criteria[5:])
        stock = sum(step.stock for step in steps_of(label))
        if (state, stock) in seen:
            continue
        seen.add((state, stock))
        for further in finder._expand(label, scope):
            heapq.heappush(queue, (further.cost, next(order), further))
    return math.inf


@pytest.mark.parametrize("name", invented.JOBS)
def test_no_cheaper_chain_is_lost_with_the_labels_that_are_dropped(name: str) -> None:
    """Strips, dishes, films and stock limits included."""
    plan = invented.plan(name)
    target = target_window(plan.feature.finish.ra_low_um, plan.feature.finish.ra_high_um, not plan.whole_band)
    finder, scope = PathFinder(plan.desk, invented.job(name).batch), Scope(plan.concerns, target)
    assert finder.search(scope)[0].cost == pytest.approx(cheapest_without_dominance(finder, scope), rel=1e-12)


@pytest.mark.parametrize("name", invented.JOBS)
def test_no_cheaper_chain_is_lost_with_the_candidates_that_are_left_out(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = invented.plan(name)
    target = target_window(plan.feature.finish.ra_low_um, plan.feature.finish.ra_high_um, not plan.whole_band)
    scope = Scope(plan.concerns, target)
    pruned = PathFinder(plan.desk, invented.job(name).batch).search(scope)
    monkeypatch.setattr(candidates_module, "undominated", lambda found, cell: list(found))
    whole = PathFinder(plan.desk, invented.job(name).batch).search(scope)
    assert whole[0].cost == pytest.approx(pruned[0].cost, rel=1e-12)
