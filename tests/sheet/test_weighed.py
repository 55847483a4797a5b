"""A rule that a sheet does not name has no part in it."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.choices.model import Conflict
from advisor.job.model import Job
from advisor.knowledge.rules import Rule
from advisor.pipeline import Desk, recommend
from advisor.reasons import Trail
from advisor.render.json import to_json
from advisor.sequence.candidates import StageField
from advisor.sheet.explain import Explainer
from advisor.sheet.model import Sheet
from advisor.sheet.set_aside import conflicts
from advisor.sheet.weighed import named_rules
from tests import invented
from tests.strategies import swept_jobs

jobs = st.one_of(swept_jobs(), st.sampled_from(tuple(invented.JOBS)).map(invented.job))


def without(rule: Rule, job: Job) -> Sheet:
    """The sheet of a job on a base from which one rule is gone."""
    base = invented.knowledge()
    left = base.with_rules([other for other in base.rules if other.id != rule.id])
    return recommend(job, Desk(left, "plain"))


def said(sheet: Sheet) -> dict[str, Any]:
    """All of a sheet but the fingerprint and the count of the rules."""
    found: dict[str, Any] = json.loads(to_json(sheet))
    del found["knowledge"]
    return found


@settings(max_examples=25, deadline=None)
@given(jobs, st.data())
def test_deleting_a_rule_that_a_sheet_does_not_name_changes_nothing_in_it(
    job: Job, data: st.DataObject
) -> None:
    sheet = recommend(job, invented.desk())
    text = to_json(sheet)
    silent = [rule for rule in invented.knowledge().rules if f'"{rule.id}"' not in text]
    # Half of the time a rule that divides the clearing by depth: those can act without ever firing.
    by_depth = [rule for rule in silent if any(test.attribute == "remaining_mm" for test in rule.when)]
    rule = data.draw(st.sampled_from(by_depth if by_depth and data.draw(st.booleans()) else silent))
    assert said(without(rule, job)) == said(sheet), rule.id


def test_what_was_heard_is_named_once() -> None:
    sheet = invented.sheet("oar-lock")
    assert sheet.weighed and not set(sheet.weighed) & named_rules(sheet)
    assert set(sheet.weighed) <= set(invented.knowledge().rule)


def test_what_to_measure_next_names_the_rules_that_wait_for_it() -> None:
    sheet = invented.sheet("oar-lock")
    assert sheet.waiting
    for attribute, rules in sheet.waiting.items():
        title = invented.knowledge().vocabulary.attributes[attribute].title
        (line,) = (each for each in sheet.measure_next if each.startswith(title))
        assert f" {len(rules)} rule" in line
        for rule in rules:
            assert attribute in {test.attribute for test in invented.knowledge().rule[rule].when}


def test_a_contradiction_is_shown_only_of_stages_that_are_worked() -> None:
    """The rules of the others are among those weighed, so a rule that is not named still had no part."""
    plan = invented.plan("crane-plate")
    worked = {step.candidate.stage for step in plan.path}
    rule = invented.knowledge().rules[0]
    conflict = Conflict("grain", (rule,), "two rules that cannot both be followed", hidden=False)
    fields = [replace(plan.fields[0], stage=stage, conflicts=(conflict,)) for stage in ("clear", "prepare")]
    assert "clear" in worked and "prepare" not in worked

    def shown(field: StageField) -> tuple[object, ...]:
        explain = Explainer(invented.knowledge())
        return conflicts([replace(plan, fields=(field,))], explain, Trail())

    assert len(shown(fields[0])) == 1 and not shown(fields[1])
    refused = replace(plan, path=(), fields=(fields[1],))
    assert len(conflicts([refused], Explainer(invented.knowledge()), Trail())) == 1
