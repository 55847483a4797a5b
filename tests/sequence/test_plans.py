"""What every chain keeps to, whatever the job: order of grades, windows, limits, rules, dishes, rivals."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

import pytest

from advisor.choices.model import ListChoice, RangeChoice
from advisor.choices.overrides import heard
from advisor.inference.matchers import available
from advisor.knowledge.files import read_files
from advisor.knowledge.locate import knowledge_folder
from advisor.knowledge.parse import parse_knowledge
from advisor.knowledge.rules import Advice, Span
from advisor.pipeline import Desk, recommend
from advisor.process.removal import cutting_share
from advisor.process.speed import rotational_speed
from advisor.render.json import to_json
from advisor.sequence.candidate import Candidate
from advisor.sequence.paths import PathFinder, Scope, steps_of, target_window, windows_meet
from advisor.sequence.plan import FeaturePlan, winner
from advisor.sequence.surface import PlannedStep
from tests import invented

every_job = pytest.mark.parametrize("name", invented.JOBS)
proud = pytest.mark.parametrize("name", invented.PROUD)


def scope_of(plan: FeaturePlan) -> Scope:
    finish = plan.feature.finish
    return Scope(plan.concerns, target_window(finish.ra_low_um, finish.ra_high_um, not plan.whole_band))


def finder_of(plan: FeaturePlan) -> PathFinder:
    return PathFinder(plan.desk, plan.desk.job.batch)


def every_path(name: str) -> Iterator[Sequence[PlannedStep]]:
    """The chain taken and its rivals."""
    plan = invented.plan(name)
    yield plan.path
    for rival in plan.rivals:
        yield rival.path


def signature(path: Sequence[PlannedStep]) -> tuple[object, ...]:
    return tuple((step.candidate.stage, *step.candidate.key) for step in path)


# ---------------------------------------------------------------- the order of the steps


@every_job
def test_stages_follow_one_another(name: str) -> None:
    """Only a film beside the main defect may be cleared after the first lines are refined."""
    rank = {"clear": 0, "refine": 1, "prepare": 2, "finish": 3}
    main = invented.job(name).features[0].start.defect
    for path in every_path(name):
        stages = [step.candidate.stage for step in path]
        places = [rank[step.candidate.stage] for step in path if step.defect in (None, main)]
        assert places == sorted(places)
        assert stages.count("finish") == 1 and stages.count("prepare") <= 1


@every_job
def test_each_step_starts_from_what_the_last_one_left(name: str) -> None:
    plan = invented.plan(name)
    start = finder_of(plan).start()
    for path in every_path(name):
        assert path[0].before == start
        for one, two in pairwise(path):
            remaining = two.before.remaining if one.after.remaining == 0.0 else one.after.remaining
            assert replace(one.after, remaining=remaining) == two.before


@every_job
def test_each_defect_is_met_at_its_whole_depth_and_followed_down(name: str) -> None:
    depth = {item.row.key: item.depth for item in finder_of(invented.plan(name)).defects}
    for path in every_path(name):
        left = dict(depth)
        for step in path:
            if step.defect is not None:
                assert step.before.remaining == pytest.approx(left[step.defect])
                left[step.defect] = step.after.remaining


@every_job
def test_every_coated_step_is_finer_than_the_one_before(name: str) -> None:
    """The first may be as coarse as it likes; a web between two belts leaves no scratch to be finer than."""
    for path in every_path(name):
        last = math.inf
        for step in path:
            grade = step.candidate.grade
            if grade is not None and grade.scale == "P":
                assert grade.um < last, signature(path)
                last = grade.um


@every_job
def test_jumps_stay_inside_what_the_receiving_step_allows(name: str) -> None:
    seen = 0
    for path in every_path(name):
        for step in path[1:]:
            grade = step.candidate.grade
            if step.kind == "erase" and step.before.grain is not None and grade is not None:
                window = step.received["jump"]
                jump = step.before.grain / grade.um
                assert window.low - 1e-9 <= jump <= window.high + 1e-9
                assert obeys("jump", jump, step, receiving=True)
                seen += 1
    if name in ("oar-lock", "bell-cap"):
        assert seen


@every_job
def test_a_blend_accepts_the_grade_it_finds(name: str) -> None:
    ranks = invented.knowledge().vocabulary.rank
    for path in every_path(name):
        for step in path:
            if step.kind == "blend" and step.before.grade is not None:
                scale, place = ranks[step.before.grade]
                if scale == "P":
                    window = step.received["accepts"]
                    assert window.low <= place <= window.high
                    assert obeys("accepts", float(place), step, receiving=True)


@every_job
def test_the_last_step_ends_inside_the_band(name: str) -> None:
    plan = invented.plan(name)
    low, high = scope_of(plan).target
    assert plan.path
    for path in every_path(name):
        ra = path[-1].after.ra
        assert low * (1 - 1e-9) <= ra <= high * (1 + 1e-9)
        assert plan.feature.finish.ra_low_um <= ra * 1e6 <= plan.feature.finish.ra_high_um


# ---------------------------------------------------------------- rivals


@every_job
def test_two_distinct_rivals_are_kept_unless_there_are_none(name: str) -> None:
    plan = invented.plan(name)
    signs = [signature(path) for path in every_path(name)]
    assert len(set(signs)) == len(signs)
    if len(plan.rivals) < 2:
        found = finder_of(plan).search(scope_of(plan), math.inf)
        assert {signature(steps_of(label)) for label in found} <= set(signs)


def test_most_jobs_have_two_rivals() -> None:
    assert sum(len(invented.plan(name).rivals) >= 2 for name in invented.JOBS) >= 8


@every_job
def test_no_rival_is_cheaper_than_the_cheapest(name: str) -> None:
    plan = invented.plan(name)
    found = finder_of(plan).search(scope_of(plan))
    cheapest = found[0].cost
    assert cheapest <= plan.cost <= 1.1 * cheapest
    assert plan.cost == pytest.approx(winner(found).cost)
    for rival in plan.rivals:
        assert rival.cost >= cheapest * (1 - 1e-12)
        assert rival.cost == pytest.approx(sum(step.cost for step in rival.path))
        assert rival.equal is (rival.cost <= 1.1 * plan.cost)
    costs = [rival.cost for rival in plan.rivals]
    assert costs == sorted(costs)


# ---------------------------------------------------------------- rules and limits


def obeys(decision: str, value: object, step: PlannedStep, receiving: bool = False) -> bool:
    """Whether a value keeps to every `must` and every `never` that the rules say for this very step."""
    facts = dict(step.candidate.situation)
    if receiving:
        facts |= {"previous.grade": step.before.grade, "previous.media": step.before.media}
    engine = invented.desk().decider.engine
    standing, _ = heard(engine.rules(decision, engine.signature(decision, facts)), decision)
    scale = step.candidate.tool.media.scale
    declared = invented.knowledge().vocabulary.decisions[decision]
    for item in standing:
        advice = item.advice
        if decision == "grade" and advice.scale not in (None, scale):
            continue
        if advice.strength in ("must", "never"):
            named = advice.options and declared.kind in ("list", "ordered")
            inside = value in advice.options if named else within(advice, value)
            if inside is (advice.strength == "never"):
                return False
    return True


def within(advice: Advice, value: object) -> bool:
    """Whether a number (or the place of a grade) lies in a span; `above` and `below` are open ends."""
    assert isinstance(value, int | float)
    span = advice.span or Span(low=None, high=None)
    low, high = span.low, span.high
    return (
        (low is None or (value > low if advice.strength == "never" else value >= low))
        and (high is None or (value < high if advice.strength == "never" else value <= high))
    )  # fmt: skip


@every_job
def test_no_chain_breaks_a_must_or_a_never(name: str) -> None:
    ranks = invented.knowledge().vocabulary.rank
    for path in every_path(name):
        for step in path:
            candidate = step.candidate
            for decision, choice in candidate.choices.items():
                value: object = candidate.values[decision]
                if decision == "grade" and isinstance(value, str):
                    value = ranks[value][1]
                if value is not None:
                    assert obeys(decision, value, step), (decision, value, signature(path))
                assert choice.conflict is None


def test_musts_and_nevers_are_heard_in_these_jobs_at_all() -> None:
    """Otherwise the test above would say nothing."""
    engine = invented.desk().decider.engine
    binding = {
        (rule.id, advice.strength)
        for name in invented.JOBS
        for path in every_path(name)
        for step in path
        for decision in step.candidate.choices
        for rule in engine.rules(decision, engine.signature(decision, step.candidate.situation))
        for advice in rule.advice()
        if advice.strength in ("must", "never") and advice.decision == decision
    }
    assert {strength for _, strength in binding} == {"must", "never"}
    assert len(binding) >= 4


@every_job
def test_chosen_values_stand_where_the_standing_says(name: str) -> None:
    """The option is among the best of its list, the value inside its window."""
    concerns = invented.plan(name).concerns
    for path in every_path(name):
        for step in path:
            for decision, choice in step.candidate.choices.items():
                value = step.candidate.values[decision]
                if isinstance(choice, ListChoice):
                    branching = decision in ("media", "grain")
                    assert value in (choice.candidates(concerns) if branching else (choice.winner,))
                elif isinstance(value, int | float) and decision != "force":  # eased on strips, held by power
                    assert choice.low - 1e-9 <= value <= choice.high + 1e-9


@every_job
def test_no_chain_asks_for_more_than_the_cell_gives(name: str) -> None:
    cell = invented.job(name).cell
    shelf = {station.name: station for station in cell.stations}
    for path in every_path(name):
        for step in path:
            candidate, setup = step.candidate, step.candidate.setup
            media, station = candidate.tool.media, shelf[candidate.tool.station.name]
            assert media.key in station.takes
            rpm = float(rotational_speed(setup.speed, setup.diameter))
            assert station.speed_rpm[0] * 0.999 <= rpm <= station.speed_rpm[1] * 1.001
            assert setup.diameter * 1e3 == pytest.approx(station.wheel_diameter_mm)
            marked = [media.marked_speed_m_s, station.marked_speed_m_s, media.speed_m_s[1]]
            assert all(setup.speed <= limit * 1.001 for limit in marked if limit is not None)
            if station.power_kw is not None:
                drawn = float(candidate.effect.force_ratio) * setup.force * setup.speed
                assert drawn <= 0.8 * station.power_kw * 1e3 * 1.001
            if setup.hardness is not None and station.wheel_hardness:
                assert setup.hardness in station.wheel_hardness
            if cell.compliance and cell.compliance.force_n:
                low, high = cell.compliance.force_n
                assert low * 0.999 <= setup.force <= high * 1.001
            assert cell.wet or candidate.values["lubricant"] not in ("oil", "emulsion")
            assert candidate.situation["handling"] in cell.handling
            assert candidate.situation["handling"] in media.handling


@every_job
def test_stock_stays_inside_what_may_go(name: str) -> None:
    most = invented.plan(name).feature.max_stock_mm
    if most is not None:
        for path in every_path(name):
            assert sum(step.stock for step in path) * 1e3 <= most * (1 + 1e-9)


# ---------------------------------------------------------------- passes and feed


@every_job
def test_passes_are_whole_and_inside_their_window(name: str) -> None:
    for path in every_path(name):
        for step in path:
            assert isinstance(step.passes, int)
            window = step.received["passes"]
            assert step.passes >= 1 and window.low <= step.passes <= window.high
            assert obeys("passes", step.passes, step, receiving=True)


def over_the_face(step: PlannedStep) -> bool:
    """A step whose passes go over the whole face and whose depth falls with the feed."""
    return (
        step.kind != "blend"
        and not step.local
        and step.candidate.effect.fixed_depth is None
        and (step.dish == 0.0 and step.stock > 0.0)
    )


@every_job
def test_the_feed_is_trimmed_so_that_whole_passes_take_exactly_the_stock(name: str) -> None:
    for path in every_path(name):
        for step in filter(over_the_face, path):
            setup = step.candidate.setup
            depth = float(step.candidate.effect.depth(step.feed)) / (1.0 - setup.overlap)
            assert setup.slowest_feed * (1 - 1e-9) <= step.feed <= setup.fastest_feed * (1 + 1e-9)
            if step.feed < setup.fastest_feed * (1 - 1e-9):
                assert step.passes * depth == pytest.approx(step.need, rel=1e-9)
            else:  # even at full feed the passes asked for take more
                assert step.passes * depth >= step.need * (1 - 1e-9)
            assert step.removal == pytest.approx(step.passes * depth, rel=1e-9)


@every_job
def test_the_metal_taken_costs_the_energy_that_the_spindle_gives(name: str) -> None:
    """Volume times specific energy is power times cutting time, by another way than the search goes."""
    area = invented.plan(name).desk.area_cm2 / 1e4
    for path in every_path(name):
        for step in filter(over_the_face, path):
            if step.defect is not None and invented.knowledge().tables.defects[step.defect].local:
                continue
            setup, effect = step.candidate.setup, step.candidate.effect
            share = 1.0
            if effect.contact is not None:
                share = float(cutting_share(effect.contact.grain_pressure, effect.minimum_pressure))
            strokes = step.passes * area / (setup.step_over * step.feed)
            work = float(effect.power) * share * setup.media.removal_factor * strokes
            assert work == pytest.approx(step.removal * area * float(effect.specific_energy), rel=1e-9)
            fixed = float(invented.plan(name).desk.expected(
                step.candidate.tool.media, step.candidate.grain, step.candidate.grade
            )["step_seconds"])  # fmt: skip
            assert step.time == pytest.approx(strokes + fixed, rel=1e-9)


# ---------------------------------------------------------------- local defects


@proud
def test_the_dish_beside_a_strip_stays_under_its_limit(name: str) -> None:
    asked = invented.job(name)
    feature = asked.features[0]
    limits = [0.15, feature.max_stock_mm, asked.part.wall_mm / 10 if asked.part.wall_mm else None]
    most = min(limit for limit in limits if limit is not None)
    for path in every_path(name):
        assert sum(step.dish for step in path) * 1e3 <= most * (1 + 1e-9)
    if name == "pedal-arm":
        assert most == pytest.approx(0.12)


def test_a_thin_wall_bears_less_of_a_dish_than_a_thick_one() -> None:
    def dish(wall: str) -> float:
        asked = invented.job_of(
            alloy="s30400", part={"wall": wall}, finish="ground-fine",
            start={"defect": "weld-bead", "depth": "0.3 mm"},
        )  # fmt: skip
        plan = invented.plans_of(asked)[0]
        assert plan.path
        for path in [plan.path, *(rival.path for rival in plan.rivals)]:
            assert sum(step.dish for step in path) <= min(0.15, float(wall.split()[0]) / 10) * 1e-3
        return finder_of(plan).moves.most_dish * 1e3

    assert dish("0.5 mm") == pytest.approx(0.05)
    assert dish("20 mm") == pytest.approx(0.15)


def test_a_strip_on_a_rubber_wheel_dishes_and_the_sheet_says_how_much() -> None:
    asked = invented.job_of(
        alloy="s30400", start={"defect": "weld-bead", "depth": "0.8 mm"}, finish="ground-fine",
    )  # fmt: skip
    plan = invented.plans_of(asked)[0]
    dished = [step for step in plan.path if step.dish > 0]
    assert dished and all(step.candidate.setup.hardness is not None for step in dished)
    sheet = recommend(asked, invented.desk())
    shown = {
        step.number: limit.value for step in sheet.features[0].steps for limit in step.limits
        if limit.limit == "dish beside the strip"
    }  # fmt: skip
    numbers = [number for number, step in enumerate(plan.path, start=1) if step in dished]
    assert shown == pytest.approx(
        {number: step.dish * 1e3 for number, step in zip(numbers, dished, strict=True)}
    )


def test_clearing_is_decided_anew_for_each_band_of_what_is_left() -> None:
    """The last tenth of a stub does not want what its first millimetre wants."""
    asked = invented.job_of(
        alloy="s31603", start={"defect": "gate-stub", "depth": "1 mm"}, finish="ground-fine"
    )
    plan = invented.plans_of(asked)[0]
    finder = finder_of(plan)
    whole, rest = (finder.field("clear", plan.concerns, 0, depth) for depth in (1e-3, 0.1e-3))
    assert whole is not rest
    assert (whole.situation["remaining_mm"], rest.situation["remaining_mm"]) == (1.0, pytest.approx(0.1))
    assert whole.situation["stock.demand"] == "heavy" and rest.situation["stock.demand"] == "moderate"

    def grades(candidates: Sequence[Candidate]) -> list[float]:
        return [item.grade.um for item in candidates if item.grade and item.grade.scale == "P"]

    assert max(grades(whole.candidates)) > max(grades(rest.candidates))
    assert finder.field("clear", plan.concerns, 0, 0.9e-3) is whole  # one band, one decision


def test_steps_that_clear_in_turn_are_decided_for_what_each_of_them_finds() -> None:
    plan = invented.plan("pump-throat")
    clearing = [step for path in every_path("pump-throat") for step in path if step.kind == "clear"]
    assert any(step.before.stage == "clear" for step in clearing)
    for step in clearing:
        assert step.candidate.situation["remaining_mm"] == pytest.approx(step.before.remaining * 1e3)
    assert sum(step.kind == "clear" for step in plan.path) >= 2


@proud
def test_what_stands_proud_is_cleared_and_nothing_is_left_of_it(name: str) -> None:
    for path in every_path(name):
        assert any(step.kind == "clear" for step in path)
        assert path[-1].after.remaining == 0.0 and path[-1].after.left == 0.0


def test_a_bead_with_spatter_beside_it() -> None:
    """Two things that stand proud: the second is levelled from its own height."""
    asked = invented.job_of(
        alloy="s30400", finish="satin-medium", cell="hand-tools",
        start={"defect": "weld-bead", "depth": "0.8 mm", "also": ["spatter"]},
    )  # fmt: skip
    plan = invented.plans_of(asked)[0]
    spatter = finder_of(plan).defects[1]
    assert spatter.row.key == "spatter" and plan.path
    for path in [plan.path, *(rival.path for rival in plan.rivals)]:
        taken = [step.need for step in path if step.defect == "spatter"]
        assert sum(taken) >= spatter.depth - 0.25e-3


@pytest.mark.parametrize("cell", ["hand-tools", "robot-carried-tool", "robot-floor-stand"])
@pytest.mark.parametrize("main", ["weld-bead", "gate-stub", "deep-scratch"])
def test_a_bead_and_its_tint_are_both_dealt_with(main: str, cell: str) -> None:
    asked = invented.job_of(
        alloy="s30400", start={"defect": main, "depth": "0.5 mm", "also": ["heat-tint"]},
        finish="satin-medium", cell=cell,
    )  # fmt: skip
    plan = invented.plans_of(asked)[0]
    finder = finder_of(plan)
    assert [item.row.key for item in finder.defects] == [main, "heat-tint"]
    assert plan.path
    tint = finder.defects[1]
    defects = invented.knowledge().tables.defects
    for path in [plan.path, *(rival.path for rival in plan.rivals)]:
        cleared = [step.defect for step in path if step.kind == "clear"]
        assert main in cleared
        whole = [step for step in path if step.defect is None or not defects[step.defect].local]
        assert "heat-tint" in cleared or sum(step.stock for step in whole) >= tint.depth
        order = [main, "heat-tint"]
        assert [key for key in cleared if key] == sorted([key for key in cleared if key], key=order.index)


@every_job
def test_what_covers_the_whole_face_is_taken_off_the_whole_face(name: str) -> None:
    """Skins, films and lines go only with the metal they lie in or on; a track beside does not count."""
    plan = invented.plan(name)
    defects = invented.knowledge().tables.defects
    for path in every_path(name):
        whole = [step for step in path if step.defect is None or not defects[step.defect].local]
        for at_hand in finder_of(plan).defects:
            if not at_hand.row.local:
                assert sum(step.stock for step in whole) >= at_hand.depth * (1 - 1e-9), signature(path)


def test_a_film_is_left_to_the_steps_that_follow_only_where_they_take_it_off() -> None:
    """A mill surface under scale: the scale is cleared, and what is left of the other goes with it."""
    asked = invented.job_of(
        alloy="g10180", finish="ground-medium", cell="bench-belt-and-buff",
        start={"defect": "mill-scale", "depth": "0.1 mm", "also": ["lacquer"]},
    )  # fmt: skip
    plan = invented.plans_of(asked)[0]
    finder = finder_of(plan)
    assert [item.row.key for item in finder.defects] == ["mill-scale", "lacquer"]
    for path in [plan.path, *(rival.path for rival in plan.rivals)]:
        cleared = {step.defect for step in path if step.kind == "clear"}
        taken = sum(step.stock for step in path)
        assert "mill-scale" in cleared
        assert "lacquer" in cleared or taken >= finder.defects[1].depth


# ---------------------------------------------------------------- one step that clears and finishes


def test_windows_meet_only_where_they_have_a_value_in_common() -> None:
    candidate = invented.plan("oar-lock").path[0].candidate

    def with_force(low: float, high: float) -> Candidate:
        choice = RangeChoice("force", low, high, low, "low")
        return Candidate(
            candidate.stage, candidate.tool, candidate.grain, candidate.grade,
            {**candidate.choices, "force": choice}, candidate.values, candidate.situation, candidate.setup,
            candidate.effect, candidate.life,
        )  # fmt: skip

    assert windows_meet(with_force(1.0, 2.0), with_force(2.0, 3.0))
    assert not windows_meet(with_force(1.0, 2.0), with_force(2.1, 3.0))
    assert windows_meet(with_force(1.0, 9.0), with_force(2.0, 3.0))


@every_job
def test_a_step_that_clears_and_finishes_stands_in_both_stages(name: str) -> None:
    plan = invented.plan(name)
    finder = finder_of(plan)
    for path in every_path(name):
        last = path[-1]
        if last.kind == "clear":
            defect = len(finder.defects) - 1
            twins = finder.field("clear", plan.concerns, defect, last.before.remaining).candidates
            (twin,) = [item for item in twins if item.key == last.candidate.key]
            assert windows_meet(twin, last.candidate)
            assert not last.candidate.tool.media.blends
            assert last.after.left == 0.0


def test_one_step_serves_an_extrusion_that_is_only_keyed() -> None:
    """Die lines of a few hundredths under a keyed surface: the belt that clears them leaves the key."""
    (only,) = invented.plan("cover-strip").path
    assert (only.kind, only.candidate.stage) == ("clear", "finish")


# ---------------------------------------------------------------- the wheel and the shape


def wheel_steps(**feature: object) -> tuple[PlannedStep, ...]:
    asked = invented.job_of(
        alloy="s31603", start={"defect": "machining-marks"}, finish="satin-medium", cell="robot-carried-tool",
        features=[{"name": "place", "area": "40 cm2", **feature}],
    )  # fmt: skip
    (plan,) = invented.plans_of(asked)
    assert plan.path
    return plan.path


def test_a_hollow_gets_a_narrow_wheel_and_an_open_face_a_wide_one() -> None:
    hollow = wheel_steps(shape="concave", radius="60 mm", width="18 mm")
    face = wheel_steps(shape="flat", width="80 mm")
    widths = [[step.candidate.values["wheel_width"] for step in steps] for steps in (hollow, face)]
    narrow = [width for width in widths[0] if isinstance(width, float)]
    wide = [width for width in widths[1] if isinstance(width, float)]
    assert narrow and wide
    assert max(narrow) <= 18.0
    assert min(wide) > max(narrow)


def test_the_edge_of_a_wheel_in_a_hollow_is_dressed_and_fits_it() -> None:
    """A square edge would mark the hollow; dressed rounder than 0.9 of its radius it would not touch."""
    finder = finder_of(invented.plans_of(invented.job_of(
        alloy="s31603", start={"defect": "machining-marks"}, finish="satin-medium", cell="robot-carried-tool",
        features=[{"name": "place", "shape": "concave", "radius": "60 mm", "width": "18 mm"}],
    ))[0])  # fmt: skip
    flat = finder_of(invented.plans_of(invented.job_of(
        alloy="s31603", start={"defect": "machining-marks"}, finish="satin-medium", cell="robot-carried-tool",
        features=[{"name": "place", "shape": "flat", "width": "80 mm"}],
    ))[0])  # fmt: skip

    def edges(finder: PathFinder) -> list[float]:
        found = []
        for stage in ("clear", "refine", "finish"):
            depth = finder.start().remaining
            for item in finder.field(stage, 0, 0 if stage == "clear" else -1, depth).candidates:
                edge = item.values["wheel_edge"]
                if isinstance(edge, int | float) and item.tool.media.key == "belt":
                    found.append(float(edge))
        return found

    rounded, square = edges(finder), edges(flat)
    assert rounded and square
    assert min(rounded) >= 2.0 and max(rounded) <= 0.9 * 60.0
    assert max(square) < min(rounded)


def test_nothing_wider_than_the_pocket_goes_into_it() -> None:
    for step in wheel_steps(shape="flat", width="80 mm", access="30 mm"):
        width = step.candidate.values["wheel_width"]
        assert width is None or (isinstance(width, int | float) and width <= 30.0)
        assert step.candidate.tool.media.smallest_access_mm <= 30.0


# ---------------------------------------------------------------- the same again


@pytest.mark.parametrize("name", ["oar-lock", "kettle-seam", "bell-cap"])
def test_the_same_job_on_a_fresh_desk_gives_the_same_bytes(name: str) -> None:
    again = recommend(invented.job(name), Desk(invented.knowledge(), "plain"))
    assert to_json(again) == to_json(invented.sheet(name))


@every_job
def test_what_was_asked_before_changes_nothing(name: str) -> None:
    """A desk remembers; what it remembers must not depend on the jobs before."""
    again = recommend(invented.job(name), invented.desk())
    assert to_json(again) == to_json(invented.sheet(name))


@pytest.mark.skipif(available() != "durable-rules", reason="durable-rules does not import here")
def test_both_matchers_give_the_same_bytes() -> None:
    durable = Desk(invented.knowledge(), "durable-rules")
    try:
        for name in invented.JOBS:
            assert to_json(recommend(invented.job(name), durable)) == to_json(invented.sheet(name)), name
    finally:
        durable.close()


def test_the_order_of_the_rules_changes_nothing() -> None:
    """The same rules in files of other names and the other way round: the same fingerprint, the same bytes."""
    root = knowledge_folder()
    files = read_files(root)
    rules = [name for name in files if name.startswith("rules/")]
    shuffled = {name: content for name, content in files.items() if name not in rules}
    for place, name in enumerate(reversed(rules)):
        head, *each = re.split(rb"(?m)^(?=- rule:)", files[name])
        shuffled[f"rules/{place:02}.yaml"] = head + b"".join(
            text if text.endswith(b"\n") else text + b"\n" for text in reversed(each)
        )
    other, problems = parse_knowledge(shuffled, root)
    assert not problems and other is not None
    known = {rule.id: rule for rule in invented.knowledge().rules}
    assert {rule.id for rule in other.rules} == set(known)
    assert any(rule.place != known[rule.id].place for rule in other.rules)
    assert other.fingerprint == invented.knowledge().fingerprint
    there = Desk(other, "plain")
    for name in invented.JOBS:
        assert to_json(recommend(invented.job(name), there)) == to_json(invented.sheet(name)), name
