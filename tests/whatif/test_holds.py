"""How far the advice holds: what is claimed is so, and it rests on the rules that the sheet names."""

from __future__ import annotations

from functools import cache

import pytest

from advisor.audit.replay import read_stored, replay
from advisor.job import Job, parse_job
from advisor.pipeline import Desk, recommend
from advisor.render.json import to_json
from advisor.render.markdown import to_markdown
from advisor.sheet.model import Hold, Sheet
from advisor.sheet.weighed import named_rules
from advisor.whatif.chains import Chooser
from advisor.whatif.change import changed_job
from advisor.whatif.holds import MOST_PLANS, RINGS, TOLD, recommend_with_holds
from advisor.whatif.quantities import MOST, Quantity, quantities
from tests import invented

NAMES = ("oar-lock", "tap-lever")


@cache
def sheet(name: str) -> Sheet:
    return recommend_with_holds(invented.job(name), invented.desk())


def told() -> list[tuple[str, Hold]]:
    return [(name, hold) for name in NAMES for hold in sheet(name).holds or ()]


def quantity(job: Job, hold: Hold) -> Quantity:
    return next(each for each in quantities(job) if each.field == hold.field)


def chains(name: str, hold: Hold, value: float) -> object:
    """The chains of the whole job with the quantity at another value, worked out anew."""
    job = invented.job(name)
    text = quantity(job, hold).text(value)
    return Chooser(invented.desk()).choice(changed_job(job, [(hold.field, text)], invented.knowledge())).chains


def test_there_is_something_to_tell() -> None:
    assert len(told()) >= 2
    assert all(len(sheet(name).holds or ()) <= TOLD for name in NAMES)


def test_what_is_said_to_hold_holds_at_both_ends() -> None:
    for name, hold in told():
        whole = Chooser(invented.desk()).choice(invented.job(name)).chains
        assert hold.low <= hold.value <= hold.high
        for value in {hold.low, hold.high}:
            assert chains(name, hold, value) == whole, hold.text


def test_what_is_said_to_come_beyond_comes_beyond() -> None:
    for name, hold in told():
        whole = Chooser(invented.desk()).choice(invented.job(name)).chains
        for end, far, words in (
            (hold.low, hold.looked_at[0], hold.below),
            (hold.high, hold.looked_at[1], hold.above),
        ):
            if words is None:
                continue
            assert chains(name, hold, far) != whole, hold.text
            assert abs(far - end) <= 0.13 * hold.value


def test_a_line_names_the_face_the_value_and_the_rules() -> None:
    for name, hold in told():
        assert hold.text.startswith(f"{hold.feature}: holds ")
        assert hold.feature in [face.name for face in invented.job(name).features]
        assert hold.below or hold.above
        assert hold.looked_at[0] <= hold.low <= hold.high <= hold.looked_at[1]
        assert hold.looked_at[0] >= hold.value / RINGS[-1] * 0.999
        assert set(hold.rules) <= set(invented.knowledge().rule)
        assert hold.text in to_markdown(sheet(name)).replace("\\", "") or "(" in hold.text


def test_the_rest_of_the_sheet_is_that_of_a_plain_recommendation() -> None:
    for name in NAMES:
        plain = recommend(invented.job(name), invented.desk())
        assert plain.holds is None and plain.probed == ()
        assert sheet(name).model_copy(update={"holds": None, "probed": (), "made_with": ()}) == plain


def test_a_rule_that_the_sheet_does_not_name_has_no_part_in_how_far_it_holds() -> None:
    """Deleting it changes nothing but the fingerprint and the count of rules."""
    base = invented.knowledge()
    found = sheet("tap-lever")
    named = named_rules(found) | set(found.weighed) | set(found.probed)
    others = [rule.id for rule in base.rules if rule.id not in named]
    assert len(others) > 100
    gone = set(others[::2])  # half of them at once: each alone is a weaker test
    desk = Desk(base.with_rules([rule for rule in base.rules if rule.id not in gone]), "plain")
    without = recommend_with_holds(invented.job("tap-lever"), desk)
    kept = {"holds", "features", "handling", "operations"}
    assert without.model_dump(include=kept) == found.model_dump(include=kept)


def test_it_costs_a_bounded_number_of_plans(monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[Chooser] = []
    first = Chooser.__init__

    def noted(self: Chooser, *arguments: object) -> None:
        first(self, *arguments)  # type: ignore[arg-type]
        made.append(self)

    monkeypatch.setattr(Chooser, "__init__", noted)
    faces = [{**invented.PLAIN_FACE, "name": f"face {n}", "width": f"{20 + n} mm"} for n in range(6)]
    job = invented.job_of(
        alloy="s30400", start={"defect": "machining-marks"}, finish="satin-medium", features=faces
    )
    assert len(quantities(job)) <= MOST
    recommend_with_holds(job, invented.desk())
    assert made[-1].planned <= MOST_PLANS + 6 + 2 * TOLD * len(faces)


def test_a_face_without_a_process_has_nothing_that_holds() -> None:
    slot = {"name": "slot", "shape": "concave", "radius": "3 mm", "width": "5 mm", "area": "2 cm2"}
    job = invented.job_of(
        alloy="s31603", start={"defect": "casting-skin"}, finish="satin-medium", features=[slot]
    )
    found = recommend_with_holds(job, invented.desk())
    assert found.refused and found.holds == ()
    assert "## How far this holds" in to_markdown(found)


def test_a_sheet_with_it_is_replayed_with_it() -> None:
    text = to_json(sheet("tap-lever"))
    assert replay(read_stored(text), invented.desk()).follows
    (first, *_) = sheet("tap-lever").holds or ()
    edited = text.replace(first.text, first.text.replace("holds", "holds well"))
    assert [item.path for item in replay(read_stored(edited), invented.desk()).mismatches] == ["holds[0].text"]


def test_quantities_come_least_sure_first_and_each_knows_its_faces() -> None:
    round_face = {"name": "rim", "shape": "convex", "radius": "9 mm", "start": {"depth": "0.4 mm"}}
    data = {
        "name": "ladle", "alloy": "s30400", "start": {"defect": "casting-skin"}, "finish": "satin-medium",
        "features": [invented.PLAIN_FACE, round_face], "cell": "robot-floor-stand",
    }  # fmt: skip
    found = quantities(parse_job(data, invented.knowledge()))
    assert [(each.field, each.faces, each.given) for each in found] == [
        ("start.depth", ("face",), False),
        ("features[rim].start.depth", ("rim",), True),
        ("features[rim].area", ("rim",), False),
        ("features[rim].radius", ("rim",), True),
        ("features[face].width", ("face",), True),
        ("start.roughness", ("face",), False),
        ("features[rim].start.roughness", ("rim",), False),
    ]
