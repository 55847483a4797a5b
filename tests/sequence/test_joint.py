"""One order of set-ups for all features, against every combination of their paths written out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from itertools import product
from typing import Any

import pytest

from advisor.sequence.joint import joint_plan, setup_key, share_set_ups, visits
from advisor.sequence.paths import Path
from advisor.sequence.plan import FeaturePlan
from tests import invented

FACE = invented.PLAIN_FACE
SKIN = {"defect": "casting-skin", "depth": "0.1 mm"}

#: Parts with several faces: alike, unlike in shape, unlike in finish, and one with a bead.
PARTS: Mapping[str, Mapping[str, Any]] = {
    "twin": {
        "alloy": "s31603", "start": SKIN, "finish": "satin-fine",
        "features": [{**FACE, "name": "left"}, {**FACE, "name": "right", "area": "40 cm2"}],
    },
    "bracket": {
        "alloy": "z33525", "start": SKIN, "finish": "satin-fine",
        "features": [
            {**FACE, "name": "top"},
            {"name": "rim", "shape": "convex", "radius": "20 mm", "width": "12 mm", "area": "10 cm2"},
            {"name": "lip", "shape": "flat", "width": "20 mm", "area": "15 cm2",
             "start": {"defect": "parting-line", "depth": "0.2 mm"}, "finish": "satin-medium"},
        ],
    },
    "tray": {
        "alloy": "s30400", "start": {"defect": "machining-marks"}, "finish": "satin-medium",
        "features": [
            {**FACE, "name": "floor"},
            {**FACE, "name": "wall", "finish": "ground-fine"},
            {**FACE, "name": "seam", "start": {"defect": "weld-bead", "depth": "0.4 mm"}},
            {**FACE, "name": "rim", "area": "20 cm2", "finish": "ground-medium"},
        ],
    },
}  # fmt: skip
every_part = pytest.mark.parametrize("name", PARTS)


@cache
def alone(name: str, batch: int = 1) -> tuple[FeaturePlan, ...]:
    """The plans before anything is shared; a batch of one, so that every change of media counts."""
    plans = invented.plans_of(invented.job_of(name, **{**PARTS[name], "batch": batch}))
    assert all(plan.path for plan in plans)
    return plans


def offers(name: str) -> list[list[Path]]:
    return [[plan.path, *(rival.path for rival in plan.rivals)] for plan in alone(name)]


def stops(paths: Sequence[Path]) -> list[tuple[object, float]]:
    """The set-ups one after the other with what the change to each costs: always the coarsest that is next."""
    left = [list(path) for path in paths]
    order = ("clear", "refine", "prepare", "finish")
    found: list[tuple[object, float]] = []
    while any(left):
        heads = [path[0] for path in left if path]
        first = min(heads, key=lambda step: (
            -(step.candidate.grade.um if step.candidate.grade else 1e6), order.index(step.candidate.stage),
            repr(setup_key(step.candidate)),
        ))  # fmt: skip
        key = setup_key(first.candidate)
        for path in left:
            while path and setup_key(path[0].candidate) == key:
                path.pop(0)
        found.append((key, first.change))
    return found


def total(paths: Sequence[Path]) -> float:
    cutting = sum(step.cost - step.change for path in paths for step in path)
    return cutting + sum(change for _, change in stops(paths))


@every_part
def test_the_combination_is_the_neatest_within_a_tenth_of_the_cheapest(name: str) -> None:
    choices = offers(name)
    combinations = list(product(*choices))
    assert len(combinations) >= 4
    limit = 1.1 * min(map(total, combinations))

    def merit(paths: Sequence[Path]) -> tuple[float, ...]:
        starts = sum(path[0].candidate.grade.um for path in paths if path[0].candidate.grade)
        return sum(map(len, paths)), len(stops(paths)), starts, total(paths)

    wanted = min(merit(paths) for paths in combinations if total(paths) <= limit * (1 + 1e-12))
    joint = joint_plan(choices)
    taken = [paths[number] for paths, number in zip(choices, joint.picked, strict=True)]
    assert merit(taken) == pytest.approx(wanted, rel=1e-12)
    assert joint.cost == pytest.approx(total(taken), rel=1e-12)


@every_part
def test_every_step_is_served_once_and_in_its_order(name: str) -> None:
    plans, served = share_set_ups(alone(name))
    every = [pair for visit in served for pair in visit.serves]
    assert len(every) == len(set(every)) == sum(len(plan.path) for plan in plans)
    for row, plan in enumerate(plans):
        assert [step for feature, step in every if feature == row] == list(range(len(plan.path)))
    for visit in served:
        for row, step in visit.serves:
            assert setup_key(plans[row].path[step].candidate) == visit.key


@every_part
def test_coarse_comes_before_fine(name: str) -> None:
    """A finer set-up comes first only where its feature has to go on to a coarser one, as a web before a belt."""
    plans, served = share_set_ups(alone(name))
    sizes = [visit.step.candidate.grade.um for visit in served if visit.step.candidate.grade]
    falling = all(
        step.candidate.grade is not None and step.candidate.grade.um <= before.candidate.grade.um
        for plan in plans
        for before, step in zip(plan.path, plan.path[1:], strict=False)
        if before.candidate.grade is not None
    )
    if falling:
        assert sizes == sorted(sizes, reverse=True)


def test_two_faces_alike_share_every_set_up() -> None:
    plans, served = share_set_ups(alone("twin"))
    assert plans[0].path and len(plans[0].path) == len(plans[1].path)
    assert len(served) == len(plans[0].path)
    assert all({row for row, _ in visit.serves} == {0, 1} for visit in served)


@every_part
def test_sharing_never_costs_more_than_each_for_itself(name: str) -> None:
    choices = offers(name)
    apart = sum(step.cost for paths in choices for step in paths[0])
    assert joint_plan(choices).cost <= 1.1 * min(total(paths) for paths in product(*choices)) * (1 + 1e-12)
    assert min(total(paths) for paths in product(*choices)) <= apart * (1 + 1e-12)


@every_part
def test_a_path_given_up_becomes_a_rival(name: str) -> None:
    before = alone(name)
    after, _ = share_set_ups(before)
    for one, two in zip(before, after, strict=True):
        assert two.path in [one.path, *(rival.path for rival in one.rivals)]
        if two.path != one.path:
            assert two.rivals[0].path == one.path
            assert two.cost == pytest.approx(sum(step.cost for step in two.path))
        assert len(two.rivals) == len(one.rivals)


def test_a_feature_without_a_path_stays_as_it_is() -> None:
    blocked = invented.plans_of(invented.job_of(
        alloy="s31603", start=SKIN, finish="satin-fine",
        features=[{**FACE, "name": "face"}, {**FACE, "name": "pocket", "access": "5 mm"}],
    ))  # fmt: skip
    assert blocked[0].path and not blocked[1].path
    plans, served = share_set_ups(blocked)
    assert plans[1] is blocked[1]
    assert {row for visit in served for row, _ in visit.serves} == {0}
    assert share_set_ups(blocked[1:]) == ((blocked[1],), ())


def test_no_offer_is_a_mistake() -> None:
    with pytest.raises(ValueError, match="must offer"):
        joint_plan([[alone("twin")[0].path], []])
    assert list(visits([])) == []
