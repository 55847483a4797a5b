"""Two sheets of one job side by side: every setting that differs is found, and nothing else is."""

from __future__ import annotations

from typing import Any

import pytest

from advisor.impact.compare import differences
from advisor.impact.model import Change, Difference, Edits, JobImpact, Report
from advisor.impact.show import line, summary, to_text
from advisor.job.read import read_job
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.locate import demo_jobs
from advisor.pipeline import Desk, recommend
from advisor.sheet.model import Band, Note, Sheet


def _sheet() -> Sheet:
    knowledge = load_knowledge()
    desk = Desk(knowledge, "plain")
    return recommend(read_job(demo_jobs() / "vent-lever.yaml", knowledge), desk)


SHEET = _sheet()


def _with(sheet: Sheet, step: int = 0, **more: Any) -> Sheet:
    """The sheet with some fields of one step of its first feature changed."""
    feature = sheet.features[0]
    steps = list(feature.steps)
    steps[step] = steps[step].model_copy(update=more)
    return _featured(sheet, steps=tuple(steps))


def _featured(sheet: Sheet, **more: Any) -> Sheet:
    first, *rest = sheet.features
    return sheet.model_copy(update={"features": (first.model_copy(update=more), *rest)})


def _found(new: Sheet) -> list[tuple[str, str, int | None]]:
    return [(item.kind, item.field, item.step) for item in differences(SHEET, new)]


def test_a_sheet_does_not_differ_from_itself() -> None:
    assert differences(SHEET, SHEET) == ()


@pytest.mark.parametrize(
    ("field", "value", "kind", "shown"),
    [
        ("grain", "another", "grain", "grain"),
        ("backing", "another", "setting", "backing"),
        ("pressure", "another", "setting", "pressure"),
        ("lubricant", "another", "setting", "lubricant"),
        ("top_coat", "another", "setting", "top_coat"),
        ("direction", "in circles", "setting", "direction"),
        ("passes", 59, "setting", "passes"),
        ("force_n", 999.0, "setting", "force"),
        ("surface_speed_m_s", 1.0, "setting", "surface speed"),
        ("feed_mm_s", 1.0, "setting", "feed"),
        ("ra_um", Band(low=8, expected=9, high=10), "prediction", "expected Ra"),
    ],
)
def test_one_setting_that_differs_is_one_difference(field: str, value: object, kind: str, shown: str) -> None:
    assert getattr(SHEET.features[0].steps[0], field) != value
    assert _found(_with(SHEET, **{field: value})) == [(kind, shown, 1)]


def test_another_grade_or_media_is_another_chain_too() -> None:
    assert _found(_with(SHEET, grade="P24")) == [("steps", "steps", None), ("grade", "grade", 1)]
    assert _found(_with(SHEET, media="buff"))[:2] == [("steps", "steps", None), ("media", "media", 1)]


def test_a_wheel_and_a_window_say_which_of_their_numbers_moved() -> None:
    step = SHEET.features[0].steps[0]
    assert step.wheel is not None
    wheel = step.wheel.model_copy(update={"hardness_shore_a": 91.0})
    (item,) = differences(SHEET, _with(SHEET, wheel=wheel))
    assert (
        line(item)
        == f"arm side, step 1: wheel hardness {step.wheel.hardness_shore_a:g} Shore A -> 91 Shore A"
    )
    windows = step.windows.model_copy(update={"feed_mm_s": (1.0, 2.0)})
    (item,) = differences(SHEET, _with(SHEET, windows=windows))
    assert (item.kind, item.field, item.new) == ("window", "feed window", "1 to 2 mm/s")


def test_a_step_left_out_is_told_once_and_the_others_are_still_held_against_each_other() -> None:
    steps = SHEET.features[0].steps
    assert _found(_featured(SHEET, steps=steps[:-1])) == [("steps", "steps", None)]
    moved = steps[0].model_copy(update={"backing": "YY"})
    found = _found(_featured(SHEET, steps=(moved, *steps[1:-1])))
    assert found == [("steps", "steps", None), ("setting", "backing", 1)]


def test_a_feature_that_is_refused_is_a_refusal_and_not_a_change_of_steps() -> None:
    (item, *rest) = differences(SHEET, _featured(SHEET, steps=()))
    assert (item.kind, item.new) == ("refusal", "no process")
    assert rest == []


def test_sentences_that_went_and_came_are_named() -> None:
    note = Note(text="Mind the draught.")
    more = SHEET.model_copy(update={"cautions": (*SHEET.cautions, note)})
    (item,) = differences(SHEET, more)
    assert line(item) == "caution added: Mind the draught."
    (item,) = differences(more, SHEET)
    assert line(item) == "caution gone: Mind the draught."
    turned = SHEET.model_copy(update={"cautions": tuple(reversed(SHEET.cautions))})
    assert differences(SHEET, turned) == (), "their order decides nothing"
    (item,) = differences(
        SHEET, _with(SHEET, go_on_when=(*SHEET.features[0].steps[0].go_on_when, "It rings."))
    )
    assert line(item) == "arm side, step 1: check added: It rings."


def test_handling_is_told_first() -> None:
    handling = SHEET.handling.model_copy(update={"value": "tool-in-hand"})
    (item,) = differences(SHEET, SHEET.model_copy(update={"handling": handling}))
    assert line(item) == "handling part-in-hand -> tool-in-hand"


def _report(*changes: Change) -> Report:
    job = JobImpact(key="jobs/a", title="A", changes=changes)
    return Report(old="x", new="y", edits=Edits(added=("one",)), jobs=3, changed=(job,))


MOVED = Difference(kind="setting", field="backing", feature="rim", step=1, old="X", new="J")


def test_the_text_says_how_sure_it_is_of_the_rules() -> None:
    sure = to_text(_report(Change(difference=MOVED, rules=("one",), shown=True)))
    assert "  rim, step 1: backing X -> J\n    through the rule one\n" in sure
    spoke = to_text(_report(Change(difference=MOVED, rules=("one", "two"))))
    assert "through rules that differ and spoke here: one, two" in spoke
    rows = to_text(_report(Change(difference=MOVED, rows=("media: belt",))))
    assert "through what differs in media: belt" in rows
    assert sure.endswith("1 of 3 recommendations changes.\n")


def test_changes_through_the_same_rule_stand_together() -> None:
    other = MOVED.model_copy(update={"step": 2})
    both = to_text(_report(*(Change(difference=item, rules=("one",), shown=True) for item in (MOVED, other))))
    assert both.count("through the rule one") == 1


def test_the_summary_counts() -> None:
    assert summary(_report()) == "1 of 3 recommendations changes."
    assert "3 jobs" in summary(Report(old="x", new="y", edits=Edits(), jobs=3, changed=()))
