"""A job planned again with one quantity at another value is planned as it would be from nothing."""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.choices.model import Choice
from advisor.job import Job
from advisor.pipeline import Desk, WorkedOut, work_out
from advisor.sequence.plan import FeaturePlan
from advisor.whatif.change import changed_job
from advisor.whatif.limits import conditions_by_attribute, limits_of
from advisor.whatif.nearby import Nearby
from advisor.whatif.quantities import HARDNESS, Quantity, knowledge_with, quantities, with_value
from tests import invented

#: Every kind of quantity on faces of every shape, with a local defect, a film and a wall among them.
FACES = [
    {"name": "flat", "shape": "flat", "width": "40 mm", "area": "60 cm2", "max_stock": "0.6 mm"},
    {"name": "round", "shape": "convex", "radius": "16 mm", "width": "26 mm", "cross_radius": "80 mm",
     "start": {"defect": "parting-line", "depth": "0.2 mm"}},
    {"name": "hollow", "shape": "concave", "radius": "42 mm", "width": "22 mm", "area": "12 cm2", "access": "60 mm",
     "start": {"defect": "weld-bead", "depth": ["0.4 mm", "0.7 mm"], "also": ["heat-tint"]}},
    {"name": "rim", "shape": "edge", "width": "3 mm", "area": "4 cm2", "edges": "break", "edge_radius": "0.3 mm",
     "start": {"defect": "burr", "depth": "0.2 mm", "roughness": "4 um"}},
]  # fmt: skip
#: Thin stainless is among them, where heat eases the force and the wall counts.
ALLOYS = ("s31603", "z33525", "6063", "g10180")


@cache
def job(alloy: str, face: int) -> Job:
    return invented.job_of(
        "ladle-arm", alloy=alloy, start={"defect": "casting-skin"}, finish="satin-medium", batch=60,
        part={"mass": "0.8 kg", "size": "190 mm", "wall": "1.5 mm"}, features=[FACES[face]],
    )  # fmt: skip


@cache
def at_hand(alloy: str, face: int) -> tuple[WorkedOut, Nearby]:
    found = work_out(job(alloy, face), invented.desk())
    return found, Nearby(found, invented.desk(), conditions_by_attribute(invented.knowledge()))


def afresh(asked: Job, quantity: Quantity, value: float) -> WorkedOut:
    """The changed job worked out by the usual way, on knowledge changed where the quantity stands there."""
    base = invented.knowledge()
    if quantity.field != HARDNESS:
        return work_out(changed_job(asked, [(quantity.field, quantity.text(value))], base), invented.desk())
    desk = Desk(knowledge_with(base, asked, quantity, value), "plain")
    return work_out(asked, desk)


def told(plan: FeaturePlan) -> list[object]:
    """A plan with all that was chosen for its steps, and what they cost."""

    def said(choice: Choice | None) -> object:
        return getattr(choice, "winner", None) or getattr(choice, "value", None)

    steps = [
        (step.candidate.stage, step.candidate.key, step.passes, round(step.cost, 9), round(step.after.ra, 15),
         sorted((name, said(choice)) for name, choice in step.candidate.choices.items()))
        for step in plan.path
    ]  # fmt: skip
    return [*steps, [(rival.why, round(rival.cost, 9)) for rival in plan.rivals]]


@settings(max_examples=30)
@given(st.sampled_from(ALLOYS), st.integers(0, len(FACES) - 1), st.data())
def test_a_plan_near_by_is_the_plan_from_nothing(alloy: str, face: int, drawn: st.DataObject) -> None:
    """In whatever order quantities are looked at: what was kept of one look does no harm to the next."""
    found, nearby = at_hand(alloy, face)
    quantity = drawn.draw(st.sampled_from(quantities(found.job, invented.knowledge())))
    limits = [
        limit for limit in nearby_limits(quantity) if quantity.value / 2.2 <= limit <= quantity.value * 2.2
    ]
    factors = st.floats(0.45, 2.2).map(lambda factor: factor * quantity.value)
    value = quantity.rounded(drawn.draw(st.one_of(factors, st.sampled_from(limits)) if limits else factors))
    low, high = quantity.possible
    if not low <= value <= high:
        return
    choice, plans = nearby.at(quantity, value)
    fresh = afresh(found.job, quantity, value)
    assert choice.handling == str(fresh.handling.winner)
    assert [told(plan) for plan in plans] == [told(item.plan) for item in fresh.planned]


def nearby_limits(quantity: Quantity) -> list[float]:
    return list(limits_of(quantity.field, quantity.unit, job("s31603", 0), invented.knowledge()))


@pytest.mark.parametrize("face", range(len(FACES)))
def test_every_quantity_of_the_job_is_there_once(face: int) -> None:
    asked = job("s31603", face)
    found = quantities(asked, invented.knowledge())
    fields = [each.field for each in found]
    assert len(set(fields)) == len(fields)
    given = {key for key in FACES[face] if key not in ("name", "shape", "edges", "start")}
    wanted = {f"features[{FACES[face]['name']}].{key}" for key in given | {"area"}}
    wanted |= {"part.mass", "part.size", "part.wall", "batch", HARDNESS}
    here = f"features[{FACES[face]['name']}]."
    own = here if "start" in FACES[face] else ""
    assert set(fields) == wanted | {f"{own}start.depth", f"{here}start.roughness"}


WHOLE = {
    "alloy": "s31603", "finish": "satin-medium", "features": FACES, "batch": 60, "cell": "robot-floor-stand",
    "part": {"mass": "0.8 kg", "wall": "3 mm"},
}  # fmt: skip


@pytest.mark.parametrize("roughness", [{}, {"roughness": "5 um"}], ids=["assumed", "given"])
def test_a_value_put_in_is_the_value_of_the_changed_job(roughness: dict[str, str]) -> None:
    """Also where faces share the job's start, and where they inherit a part of it."""
    start = {"defect": "casting-skin", **roughness}
    for asked in (invented.job_of("ladle-arm", **{**WHOLE, "start": start}), job("s30400", 1), job("s31603", 3)):
        for quantity in quantities(asked, invented.knowledge()):
            if quantity.field == HARDNESS:
                continue
            value = quantity.rounded(quantity.value * 1.3)
            by_file = changed_job(asked, [(quantity.field, quantity.text(value))], invented.knowledge())
            put_in = with_value(asked, quantity, value)
            apart = {"assumed": ()}
            first, second = (each.model_copy(update=apart).model_dump() for each in (by_file, put_in))
            for each in (first, second):
                for one in [each, *each["features"]]:
                    one.pop("own_start", None)
                    for key in ("depth_from", "roughness_from"):
                        (one.get("start") or {}).pop(key, None)
                each.pop("start")
            assert first == second, quantity.field
