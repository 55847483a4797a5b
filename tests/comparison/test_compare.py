"""Two sheets side by side: what differs is found and nothing else, and each difference has its cause."""

from __future__ import annotations

import json
from itertools import product
from typing import Any

import pytest

from advisor.comparison.compare import compare
from advisor.comparison.model import Change, Comparison
from advisor.comparison.show import changes_text, to_json, to_text
from advisor.job import parse_job, read_job, set_field
from advisor.job import to_json as job_json
from advisor.knowledge.locate import demo_jobs
from advisor.pipeline import Desk, recommend
from advisor.sheet.model import Sheet
from tests import invented

NAMES = ("oar-lock", "tap-lever", "bell-cap", "counter-top", "pump-throat")


def with_field(name: str, field: str, value: str) -> Sheet:
    changed = set_field(job_json(invented.job(name)), field, value)
    return recommend(parse_job(changed, invented.knowledge()), invented.desk())


def changes(found: Comparison) -> list[Change]:
    steps = [item for face in found.faces for pair in face.steps for item in pair.changes]
    return [*found.whole, *steps, *(item for face in found.faces for item in face.changes)]


@pytest.mark.parametrize("name", NAMES)
def test_a_sheet_beside_itself_has_nothing_apart(name: str) -> None:
    found = compare(invented.sheet(name), invented.sheet(name))
    assert found.same and not changes(found) and not found.job and not found.within_draws
    assert "Both advise the same." in to_text(found)


@pytest.mark.parametrize("name", NAMES)
def test_another_name_of_the_job_moves_only_the_draws(name: str) -> None:
    found = compare(invented.sheet(name), with_field(name, "name", "someone-elses"))
    assert [item.field for item in found.job] == ["name"]
    assert not [item for item in changes(found) if item.kind == "setting"]
    assert found.same and found.within_draws


@pytest.mark.parametrize(("first", "second"), list(product(NAMES, NAMES)))
def test_what_differs_on_one_side_differs_on_the_other(first: str, second: str) -> None:
    there = compare(invented.sheet(first), invented.sheet(second))
    back = compare(invented.sheet(second), invented.sheet(first))
    assert there.same is back.same is (first == second)

    def settings(found: Comparison, turned: bool) -> set[tuple[str, str, str]]:
        sides = [(item.field, json.dumps(item.first), json.dumps(item.second)) for item in changes(found)]
        return {(field, two, one) if turned else (field, one, two) for field, one, two in sides}

    assert settings(there, False) == settings(back, True)


def test_a_depth_is_named_as_the_cause_of_another_grade() -> None:
    named, rules = set(), set()
    for depth in ("0.02 mm", "0.06 mm", "0.12 mm", "0.5 mm"):
        found = compare(invented.sheet("oar-lock"), with_field("oar-lock", "start.depth", depth))
        assert [(item.field, item.first, item.second) for item in found.job] == [
            ("start.depth", "0.3 mm", depth)
        ]
        behind = [cause for item in changes(found) if item.field == "grade" for cause in item.causes]
        named |= {part.name for cause in behind for part in cause.apart}
        rules |= {cause.rule for cause in behind if cause.rule}
    assert "remaining_mm" in named
    assert rules and rules <= set(invented.knowledge().rule)


DECIDED = ("media", "grain", "grade", "backing", "build", "coat", "top_coat", "lubricant", "pressure", "passes")


@pytest.mark.parametrize(
    ("name", "field", "value"),
    [
        ("oar-lock", "start.depth", "0.8 mm"),
        ("oar-lock", "alloy", "c36000"),
        ("tap-lever", "feature.radius", "90 mm"),
        ("counter-top", "finish", "mirror"),
        ("bell-cap", "batch", "1"),
    ],
)
def test_every_setting_that_differs_has_a_cause(name: str, field: str, value: str) -> None:
    found = compare(invented.sheet(name), with_field(name, field, value))
    settings = [item for item in changes(found) if item.kind == "setting" and item.field in DECIDED]
    for item in settings:
        assert item.causes, item
        for cause in item.causes:
            assert cause.on != "both" or not cause.rule
            assert cause.apart or not cause.formula
            assert cause.text


def test_a_rule_that_is_gone_is_named_behind_what_it_decided() -> None:
    """Faithful: without a rule, the difference is put down to that rule."""
    base = invented.knowledge()
    sheet = invented.sheet("counter-top")
    step = sheet.features[0].steps[-1]
    rules = [sheet.reasons[key].rule for key in step.reasons["grade"]]
    gone = next(rule for rule in rules if rule)
    desk = Desk(base.with_rules([rule for rule in base.rules if rule.id != gone]), "plain")
    found = compare(sheet, recommend(invented.job("counter-top"), desk))
    assert found.first.fingerprint != found.second.fingerprint
    named = {cause.rule for item in changes(found) for cause in item.causes if cause.on == "first"}
    assert found.same or gone in named
    assert "program 0" in to_text(found)


def test_faces_and_steps_without_a_counterpart_are_shown_alone() -> None:
    fields: dict[str, Any] = dict(invented.JOBS["tap-lever"])
    (face,) = fields["features"]
    more = invented.sheet_of(**{**fields, "features": [face, {**invented.PLAIN_FACE, "name": "back"}]})
    found = compare(invented.sheet("tap-lever"), more)
    assert [(pair.first, pair.second) for pair in found.faces] == [("round", "round"), (None, "back")]
    assert all(pair.first is None for pair in found.faces[1].steps)
    assert "(no such face) | back" in to_text(found)


def test_the_report_is_json_with_every_change() -> None:
    found = compare(invented.sheet("oar-lock"), invented.sheet("bell-cap"))
    told = json.loads(to_json(found))
    assert told["same"] is False and told["first"]["name"] == "first"
    assert len(told["faces"][0]["steps"]) == len(found.faces[0].steps)


def test_two_demo_jobs_are_told_for_a_reader_without_braces_and_each_figure_once() -> None:
    """What an engineer reads beside each other: paired faces field by field, limits of force by what bounds."""
    desk = invented.desk()
    sheets = {path.stem: recommend(read_job(path, desk.knowledge), desk) for path in sorted(demo_jobs().glob("*.yaml"))}
    for first, second in (("vent-lever", "gutter-corner"), ("glazing-bar", "vent-lever")):
        found = compare(sheets[first], sheets[second])
        told = to_text(found)
        assert "{" not in told and "[]" not in told
        for pair in (pair for face in found.faces for pair in face.steps if pair.changes):
            lines = list(changes_text(pair.changes))
            heads = [line.split(":")[0] for line in lines if line.startswith("  ") and not line.startswith("   ")]
            values = [head for head in heads if not head.strip().startswith("only ")]
            assert len(values) == len(set(values)), values
        paired = [item.field for item in found.job if " | " in item.field]
        assert any(field.endswith(".width") for field in paired)
        alone = [face.first for face in found.faces if face.second is None]
        assert {f"features[{name}]" for name in alone} <= {item.field for item in found.job}
        limits = [
            item for face in found.faces for pair in face.steps for item in pair.changes
            if item.field.startswith("force_limits.")
        ]  # fmt: skip
        assert limits and all(item.unit == "N" for item in limits)
