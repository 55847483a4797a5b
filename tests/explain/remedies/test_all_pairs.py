"""On a tiny shop every single change and every pair is tried one by one, and the search finds what that finds."""

from __future__ import annotations

import random
from functools import cache
from itertools import combinations, count
from typing import Any

import pytest

from advisor.choices.decide import Decider
from advisor.errors import InputError
from advisor.explain.answer_not import explain_not
from advisor.explain.forced import Wish
from advisor.explain.point import Place, Question, places
from advisor.explain.remedies.change import Change, changed, left_out
from advisor.explain.remedies.jobs import Jobs
from advisor.explain.remedies.outlook import Outlook
from advisor.explain.remedies.proposals import single_changes
from advisor.explain.remedies.replan import Replanner
from advisor.explain.remedies.search import Search
from advisor.explain.smallest import Smallest
from advisor.figures.coefficients import CoefficientBook
from advisor.job import Job
from advisor.knowledge.base import Knowledge
from advisor.pipeline import Desk, WorkedOut, recommend, sheet_of, work_out
from tests import invented
from tests.explain.remedies import tiny

#: Jobs of the tiny shop: two rules keep the slack belt out, one of them does, and both under a finer finish.
JOBS: dict[str, dict[str, Any]] = {
    "two rules": {},
    "one rule": {"environment": "indoor"},
    "the finish too": {"finish": "satin-fine"},
}
#: What is asked of which of them, and whether two changes together do what neither does alone.
ASKED = (
    ("two rules", "media", "slack-belt", True),
    ("one rule", "media", "slack-belt", False),
    ("the finish too", "media", "slack-belt", True),
    ("two rules", "grade", "P80", None),
)
#: Always among the changes that are tried.
LIFTING = (
    "environment=outdoor", "part.contour=low", "without rule slack-near-the-sea",
    "without rule slack-on-a-strong-curve",
)  # fmt: skip


@cache
def worked(name: str) -> tuple[WorkedOut, Place]:
    found = work_out(tiny.job(**JOBS[name]), Desk(tiny.knowledge(), "plain"))
    return found, places(found, sheet_of(found, tiny.knowledge()))[0]


@cache
def desk_without(silent: frozenset[str]) -> tuple[Knowledge, Decider]:
    rules = tuple(rule for rule in tiny.rules() if rule.id not in silent)
    base = tiny.knowledge().model_copy(update={"rules": rules})
    base = Knowledge.model_construct(**{name: getattr(base, name) for name in Knowledge.model_fields})
    return base, Desk(base, "plain").decider


def wins(job: Job, changes: tuple[Change, ...], wish: Wish) -> bool:
    """By the plans of a job read from its text and a knowledge without the rules: nothing is shared."""
    base, decider = desk_without(left_out(changes))
    try:
        asked = changed(job, changes, base)
    except InputError:
        return False
    desk = Desk.__new__(Desk)
    desk.knowledge, desk.decider = base, decider
    return wish.met_in(invented.plans_of(asked, desk)[0].path)


@pytest.mark.parametrize(("name", "decision", "option", "paired"), ASKED)
def test_the_search_finds_what_trying_everything_finds(
    name: str, decision: str, option: str, paired: bool | None
) -> None:
    found, place = worked(name)
    wish, base = Wish(place.step.stage, decision, option), tiny.knowledge()
    assert not wish.met_in(place.plan.path)
    rules = [rule.id for rule in base.rules]
    every = single_changes(
        found.job, place.plan.feature, place.plan.desk.facts, base, rules, ("belt", "slack-belt")
    )
    drawn = random.Random(name).sample([each for each in every if not each.at_limit], 16)
    picked = [each for each in every if each in drawn or str(each) in LIFTING]  # the nearest first again

    alone = {each for each in picked if wins(found.job, (each,), wish)}
    won = {each.place for each in alone}
    rest = [each for each in picked if each.place not in won]
    pairs = {
        frozenset((one.place, two.place))
        for one, two in combinations(rest, 2)
        if one.place != two.place and wins(found.job, (one, two), wish)
    }
    assert paired is None or bool(pairs) is paired
    search = searched(found, place, wish)
    assert search.singles(picked)
    assert {change.place for (change,) in search.found} == won
    assert search.pairs()
    assert {frozenset(each.place for each in both) for both in search.found if len(both) == 2} == pairs


def searched(found: WorkedOut, place: Place, wish: Wish) -> Search:
    base, feature = tiny.knowledge(), place.plan.feature.name
    book = CoefficientBook(base.tables.coefficients.values())
    outlook = Outlook(
        found, base, feature, wish, Replanner(base, found.decider, book), Jobs(found.job, feature, base)
    )
    ticks = count()
    return Search(outlook, 1e9, lambda: float(next(ticks)), lambda note: None, 10_000, 10_000)


def smallest(name: str) -> Smallest:
    found, _ = worked(name)
    ticks = count()
    question = Question(option="slack-belt")
    answer = explain_not(
        question,
        found,
        sheet_of(found, tiny.knowledge()),
        tiny.knowledge(),
        lambda note: None,
        1e9,
        lambda: float(next(ticks)),
    )
    assert answer.smallest is not None
    return answer.smallest


def test_where_two_rules_forbid_it_both_must_be_lifted() -> None:
    told = smallest("two rules")
    assert len(told.remedies) >= 3 and all(len(remedy.changes) == 2 for remedy in told.remedies)
    sides = {
        "slack-near-the-sea": ("environment", "without rule slack-near-the-sea"),
        "slack-on-a-strong-curve": ("part.contour", "without rule slack-on-a-strong-curve"),
    }
    for remedy in told.remedies:
        for side in sides.values():
            assert any(change.startswith(side) for change in remedy.changes), remedy
    assert not taken(tiny.job())
    assert not taken(tiny.job(environment="indoor"))
    assert not taken(tiny.job(part={"contour": "low"}))
    assert taken(tiny.job(environment="indoor", part={"contour": "low"}))


def test_where_one_rule_forbids_it_one_change_does() -> None:
    told = smallest("one rule")
    assert ("part.contour=low",) in [remedy.changes for remedy in told.remedies]


def taken(job: Job) -> bool:
    sheet = recommend(job, Desk(tiny.knowledge(), "plain"))
    return sheet.features[0].steps[0].media == "slack-belt"
