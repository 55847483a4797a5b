"""A what-if says what a change does, and it is what the changed job gets."""

from __future__ import annotations

from itertools import pairwise
from xml.etree import ElementTree

import pytest

from advisor.errors import InputError
from advisor.job import Job, parse_job, set_field
from advisor.job import to_json as job_json
from advisor.pipeline import Desk, recommend
from advisor.sheet.model import Sheet
from advisor.whatif.ask import what_if
from advisor.whatif.chains import Chooser
from advisor.whatif.change import changed_job, read_change
from advisor.whatif.limits import limits_of, rule_limits
from advisor.whatif.model import WhatIf, WhatIfRange
from advisor.whatif.picture import to_svg
from advisor.whatif.show import to_json, to_text
from tests import invented


def single(name: str, *changes: str) -> WhatIf:
    found = what_if(invented.job(name), changes, invented.desk())
    assert isinstance(found, WhatIf)
    return found


def ranged(name: str, *changes: str) -> WhatIfRange:
    found = what_if(invented.job(name), changes, invented.desk())
    assert isinstance(found, WhatIfRange)
    return found


def chains(sheet: Sheet) -> list[list[tuple[object, ...]]]:
    return [[(s.stage, s.media, s.grain, s.grade) for s in face.steps] for face in sheet.features]


def sheet_with(job: Job, field: str, value: str) -> Sheet:
    return recommend(parse_job(set_field(job_json(job), field, value), invented.knowledge()), invented.desk())


@pytest.mark.parametrize("name", invented.JOBS)
def test_the_bare_choice_is_that_of_the_sheet(name: str) -> None:
    chosen = Chooser(invented.desk()).choice(invented.job(name))
    sheet = invented.sheet(name)
    assert chosen.handling == sheet.handling.value
    assert [[step.abrasive for step in face.steps] for face in chosen.faces] == chains(sheet)


@pytest.mark.parametrize(
    ("name", "changes"),
    [
        ("oar-lock", ["start.depth=0.8 mm"]),
        ("tap-lever", ["feature.radius=90 mm", "after=none"]),
        ("bell-cap", ["alloy=s31603", "finish=satin-fine", "batch=5"]),
        ("pump-throat", ["cell.stations[small wheels].power=0.2 kW"]),
        ("counter-top", ["features[face].edges=keep"]),
    ],
)
def test_what_differs_is_what_differs_between_the_two_sheets(name: str, changes: list[str]) -> None:
    job = invented.job(name)
    station = job.cell.stations[0].name
    changes = [text.replace("[small wheels]", f"[{station}]") for text in changes]
    found = single(name, *changes)
    pairs = [read_change(text) for text in changes]
    changed = recommend(
        changed_job(job, [(item.field, item.value) for item in pairs], invented.knowledge()), invented.desk()
    )
    assert [item.field for item in found.comparison.job if "defect" not in item.field] == sorted(
        {item.field.replace("feature.", f"features[{job.features[0].name}].") for item in pairs},
        key=[item.field for item in found.comparison.job].index,
    )
    moved = [item for face in found.comparison.faces for pair in face.steps for item in pair.changes]
    same = chains(invented.sheet(name)) == chains(changed)
    grades = [item for item in moved if item.field in ("media", "grain", "grade", "stage")]
    alone = [p for face in found.comparison.faces for p in face.steps if None in (p.first, p.second)]
    assert same is not bool(grades or alone)


def test_predictions_that_the_change_does_not_touch_are_not_shown() -> None:
    """Two faces, one changed: the other's bands rest on the same draws and stay what they are."""
    fields = dict(invented.JOBS["tap-lever"])
    (face,) = fields["features"]
    job = invented.job_of(**{**fields, "features": [face, {**invented.PLAIN_FACE, "name": "back"}]})
    found = what_if(job, ["features[round].radius=9 mm"], invented.desk())
    assert isinstance(found, WhatIf)
    back = next(each for each in found.comparison.faces if each.second == "back")
    assert back.same and "Not changed: back." in to_text(found)


def test_a_change_to_what_the_job_says_already_changes_nothing() -> None:
    found = single("oar-lock", "start.depth=300 um")
    assert found.comparison.same and "nothing differs" in to_text(found)


def test_over_a_range_each_stretch_is_what_its_points_get() -> None:
    found = ranged("oar-lock", "start.depth=0.05 mm..0.6 mm")
    assert found.stretches[0].low == 0.05 and found.stretches[-1].high == 0.6
    assert found.switches and len(found.switches) == len(found.stretches) - 1
    for stretch in found.stretches:
        for value in (stretch.low, stretch.high):
            sheet = sheet_with(invented.job("oar-lock"), "start.depth", f"{value:.12g} mm")
            told = [[(s.stage, s.media, s.grain, s.grade) for s in face.steps] for face in stretch.faces]
            assert told == chains(sheet)
    for switch in found.switches:
        assert (switch.above - switch.below) / switch.above <= 0.0101
        assert not switch.comparison.same


RANGES = {
    "kettle-seam": "start.depth=0.5 mm..1.4 mm",
    "tap-lever": "feature.width=16 mm..60 mm",
    "pump-throat": "feature.start.depth=0.4 mm..2 mm",
    "cover-strip": "batch=2..300",
    "hub-cap": "cell.stations[0].wheel_diameter=150 mm..300 mm",
}


@pytest.mark.parametrize("name", RANGES)
def test_each_switch_is_right_on_both_sides_and_told_with_its_reason(name: str) -> None:
    """Every job's switches are worked out again on a desk that has seen nothing."""
    job, change = invented.job(name), RANGES[name]
    change = change.replace("stations[0]", f"stations[{job.cell.stations[0].name}]")
    found = ranged(name, change)
    desk = Desk(invented.knowledge(), "plain")
    for switch in found.switches:
        below, above = (
            Chooser(desk).choice(changed_job(job, [(found.field, _value(found, end))], invented.knowledge()))
            for end in (switch.below, switch.above)
        )
        assert below != above
        gap = switch.above - switch.below
        assert gap == 1 if found.field == "batch" else gap / switch.above <= 0.0101
        assert not switch.comparison.same
        spoken = {rule.id for rule in invented.knowledge().rules}
        assert set(switch.rules) <= spoken
    desk.close()
    told = to_text(found)
    assert told.count("Between ") == len(found.switches)
    assert "as given" in to_svg(found) or found.given is None or not found.low <= found.given <= found.high


def _value(found: WhatIfRange, end: float) -> str:
    return str(round(end)) if found.field == "batch" else f"{end:.12g} {found.unit}"


def test_the_picture_shows_only_the_faces_that_change_and_numbers_that_do_not_overlap() -> None:
    fields = dict(invented.JOBS["tap-lever"])
    (face,) = fields["features"]
    job = invented.job_of(**{**fields, "features": [face, {**invented.PLAIN_FACE, "name": "back"}]})
    found = what_if(job, ["features[round].radius=5 mm..60 mm"], invented.desk())
    assert isinstance(found, WhatIfRange) and found.switches and found.given == 14.0
    root = ElementTree.fromstring(to_svg(found))
    texts = list(root.iter("{http://www.w3.org/2000/svg}text"))
    said = ["".join(each.itertext()) for each in texts]
    assert "round" in said and "back" not in said and "Not changed anywhere: back" in said
    assert "as given, 14 mm" in said
    places = sorted((float(t.get("y", 0)), float(t.get("x", 0))) for t in texts if t.get("class") == "n")
    assert all(x2 - x1 >= 30 for (y1, x1), (y2, x2) in pairwise(places) if y1 == y2)


def test_no_switch_is_missed_between_the_points_of_a_fine_comb() -> None:
    """Against brute force on points that the answer was not made from."""
    found = ranged("tap-lever", "feature.radius=4 mm..70 mm")
    count = 19
    chooser, job = Chooser(invented.desk()), invented.job("tap-lever")
    for place in range(count):
        value = 4.0 + 66.0 * (place + 0.5) / count
        inside = [s for s in found.stretches if s.low <= value <= s.high]
        if not inside:
            continue  # in the last per cent before a switch
        chosen = chooser.choice(changed_job(job, [("feature.radius", f"{value:.12g} mm")], invented.knowledge()))
        (face,) = inside[0].faces
        assert [(s.stage, s.media, s.grain, s.grade, s.set_up) for s in face.steps] == [
            (s.stage, s.media, s.grain, s.grade, dict(s.set_up)) for s in chosen.faces[0].steps
        ]


def test_a_switch_at_a_limit_of_a_rule_names_the_rule() -> None:
    found = ranged("tap-lever", "feature.radius=15 mm..45 mm")
    named = {rule for switch in found.switches for rule in switch.rules}
    drawn = {rule for rules in rule_limits("feature.radius_mm", invented.knowledge()).values() for rule in rules}
    assert named and named <= drawn


def test_limits_are_told_in_the_unit_of_the_range() -> None:
    in_mm = limits_of("feature.radius", "mm", invented.job("tap-lever"), invented.knowledge())
    in_inch = limits_of("feature.radius", "in", invented.job("tap-lever"), invented.knowledge())
    assert [round(value * 25.4, 9) for value in in_inch] == [round(value, 9) for value in in_mm]
    assert len(in_mm) > 3


def test_a_range_with_other_changes_counts_them_in() -> None:
    found = ranged("oar-lock", "finish=mirror", "batch=1..40")
    assert [item.field for item in found.changes] == ["finish"]
    last = found.stretches[0].faces[0].steps[-1]
    assert last.media == "buff"


def test_the_answers_are_told_in_text_in_json_and_as_a_picture() -> None:
    found = ranged("oar-lock", "start.depth=0.05 mm..0.6 mm")
    text = to_text(found)
    assert text.startswith(f"{invented.job('oar-lock').name}: start.depth from 0.05 to 0.6 mm")
    assert "|A" in text and to_json(found) == to_json(found)
    picture = to_svg(found)
    assert picture == to_svg(found)
    root = ElementTree.fromstring(picture)
    bars = [each for each in root.iter("{http://www.w3.org/2000/svg}rect") if len(each)]
    runs = {face.text() for stretch in found.stretches for face in stretch.faces}
    assert len(bars) >= len(runs)


WRONG = {
    "start.depht=0.3 mm": "unknown key, given 'depht'.*nearest: depth",
    "features[face].radiu=3 mm": "nearest: radius",
    "features[fce].radius=3 mm": "nearest: face",
    "start.depth=3 kg": "is a mass; a length is needed",
    "start.depth=0.3": "a length needs a unit",
    "start.depth=0.1..0.3": "a length needs a unit",
    "start.depth=0.1 mm..0.3 kg": "different kinds",
    "start.depth=0.1 mm..0.3 furlong": "unknown unit 'furlong'",
    "start.depth=0.3 mm..0.1 mm": "must rise",
    "start.depth=a..b": "needs a quantity at both ends",
    "alloy=unobtainium": "unknown alloy",
    "cell.stations[nowhere].power=2 kW": "no stations of this name",
    "no change": "not a change",
    "": "not a change",
    "=3 mm": "not a change",
}


@pytest.mark.parametrize("text", WRONG)
def test_what_cannot_be_changed_is_refused_with_one_message_that_helps(text: str) -> None:
    with pytest.raises(InputError, match=WRONG[text]) as caught:
        what_if(invented.job("oar-lock"), [text], invented.desk())
    assert len(caught.value.problems) == 1
    assert str(caught.value).startswith("--change")


def test_all_that_is_wrong_is_said_at_once() -> None:
    with pytest.raises(InputError) as caught:
        what_if(invented.job("oar-lock"), ["a", "b=1..2", "c=1..2", "d=1", "d=2"], invented.desk())
    assert len(caught.value.problems) == 3
    with pytest.raises(InputError, match="nothing to change"):
        what_if(invented.job("oar-lock"), [], invented.desk())
