"""Explanations are faithful: rules that decide do, and smallest changes make the option win and are minimal."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import combinations, count
from typing import Any

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from advisor.choices.model import ListChoice, RangeChoice
from advisor.explain.answer_not import explain_not
from advisor.explain.link import Link
from advisor.explain.point import Place, Question, places
from advisor.explain.why import why
from advisor.job import parse_job, set_field
from advisor.job.model import Job
from advisor.job.write import cell_json, to_json
from advisor.pipeline import Desk, recommend, sheet_of, work_out
from advisor.sheet.model import Sheet
from tests import invented
from tests.strategies import swept_jobs

jobs = st.one_of(swept_jobs(), st.sampled_from(tuple(invented.JOBS)).map(invented.job))
#: Decisions whose value stands on the sheet under their own name.
SHOWN = ("media", "grain", "grade", "backing", "build", "coat", "top_coat", "lubricant")
#: Decisions in which one option is taken outright, and cost has no say.
OUTRIGHT = ("backing", "build", "coat", "top_coat", "lubricant")


def ticking() -> Callable[[], float]:
    """A clock that moves on by one with every look at it, so that a search ends in the same place each time."""
    ticks = count()
    return lambda: float(next(ticks))


def rules_of(link: Link) -> Iterator[Link]:
    """The rules that speak for what is taken, nearest first."""
    return (inner for inner in link.because if inner.kind == "ruled" and not inner.what.startswith("struck"))


@settings(max_examples=12, deadline=None)
@given(jobs, st.data())
def test_a_rule_said_to_decide_does_and_one_that_is_not_does_not(job: Job, data: st.DataObject) -> None:
    base = invented.knowledge()
    found = work_out(job, invented.desk())
    sheet = sheet_of(found, base)
    spoken = [
        (place, decision, rule)
        for place in places(found, sheet)
        for decision in OUTRIGHT
        if isinstance(place.planned.candidate.choices.get(decision), ListChoice)
        for link in [why(place, decision, found, sheet, base)]
        if link is not None
        for rule in rules_of(link)
        if len({each.decision for each in base.rule[str(rule.rule)].advice()}) == 1
    ]
    assume(spoken)
    place, decision, rule = data.draw(st.sampled_from(spoken))
    left = base.with_rules([each for each in base.rules if each.id != rule.rule])
    after = recommend(job, Desk(left, "plain"))
    step = same_step(place, after)
    assume(step is not None)
    assert (getattr(step, decision) != getattr(place.step, decision)) is rule.alone, (rule.rule, decision)


def same_step(place: Place, sheet: Sheet) -> Any:
    """The step of another sheet that is set up in the same way, as far as media, grain and grade go."""
    (feature,) = (each for each in sheet.features if each.name == place.feature.name)
    wanted = (place.step.stage, place.step.media, place.step.grain, place.step.grade)
    return next(
        (each for each in feature.steps if (each.stage, each.media, each.grain, each.grade) == wanted), None
    )


@settings(max_examples=3, deadline=None)
@given(jobs, st.data())
def test_smallest_changes_make_the_option_win_and_no_part_of_them_does(job: Job, data: st.DataObject) -> None:
    base = invented.knowledge()
    found = work_out(job, invented.desk())
    sheet = sheet_of(found, base)
    lost = [
        (place, decision, row.option)
        for place in places(found, sheet)
        for decision in SHOWN
        for choice in [place.planned.candidate.choices.get(decision)]
        if isinstance(choice, ListChoice)
        for row in choice.options
        if row.standing in ("lost", "equal", "winner") and row.option != getattr(place.step, decision)
    ]
    assume(lost)
    hold(job, *data.draw(st.sampled_from(lost)))


def test_a_grade_that_lost_on_cost_has_ways_to_win() -> None:
    job = invented.job("oar-lock")
    found = work_out(job, invented.desk())
    place = places(found, sheet_of(found, invented.knowledge()))[0]
    window = place.planned.candidate.choices["grade"]
    assert isinstance(window, RangeChoice)
    keys = invented.knowledge().vocabulary.on_scale["P"][int(window.low) : int(window.high) + 1]
    taken = {each.step.grade for each in places(found, sheet_of(found, invented.knowledge()))}
    free = [key for key in keys if key in place.planned.candidate.tool.media.grades and key not in taken]
    row = keys.index(str(place.step.grade))
    beside = min(free, key=lambda key: abs(keys.index(key) - row))
    assert hold(job, place, "grade", beside) >= 3


def hold(job: Job, place: Place, decision: str, option: str) -> int:
    """Hold every smallest change to its promise; how many there are."""
    base = invented.knowledge()
    found = work_out(job, invented.desk())
    question = Question(place.feature.name, place.step.number, decision, option)
    sheet = sheet_of(found, base)
    answer = explain_not(question, found, sheet, base, lambda note: None, 800.0, ticking())
    if answer.smallest is None:  # another step of the stage takes it already
        return 0
    for remedy in answer.smallest.remedies:
        assert wins(job, remedy.changes, place, decision, option), remedy.changes
        for fewer in range(len(remedy.changes)):
            for part in combinations(remedy.changes, fewer):
                assert not wins(job, part, place, decision, option), (remedy.changes, part)
    return len(answer.smallest.remedies)


def wins(job: Job, changes: tuple[str, ...], place: Place, decision: str, option: str) -> bool:
    """Whether a job with changes typed as for `what-if` gets the option, read from its sheet alone."""
    base, data = invented.knowledge(), dict(to_json(job))
    silent = {each.removeprefix("without rule ") for each in changes if each.startswith("without rule ")}
    for each in changes:
        if each.startswith("without rule "):
            continue
        field, _, value = each.partition("=")
        if field.startswith("cell.") and isinstance(data["cell"], str):
            data["cell"] = cell_json(job.cell)
        data = set_field(data, field, value)
    if silent:
        base = base.with_rules([rule for rule in base.rules if rule.id not in silent])
    sheet = recommend(parse_job(data, base, "changed"), Desk(base, "plain"))
    (feature,) = (each for each in sheet.features if each.name == place.feature.name)
    return any(step.stage == place.step.stage and getattr(step, decision) == option for step in feature.steps)
