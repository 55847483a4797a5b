"""What must, may and never ask of a sheet, on small plans written by hand."""

from __future__ import annotations

import pytest

from advisor.knowledge.rules import Span
from advisor.sheet.model import Blocked, Feature, Handling, Knowledge, Note, Program, Sheet
from advisor.sheet.step import Step
from advisor.worked.judge import judge
from advisor.worked.model import Expectation, Fact, Worked

BELT = Fact(name="media", kind="key", options=("belt",), text="belt")
WAX = Fact(name="lubricant", kind="key", options=("wax",), text="wax")
DRY = Fact(name="lubricant", kind="key", options=("dry",), text="dry")
SLOW = Fact(name="surface_speed", kind="number", span=Span(high=10), text="at most 10 m/s")
REFUSED = Fact(name="refused", kind="flag", options=("true",), text="true")

CLEAR = Step(number=1, stage="clear", media="belt", lubricant="wax", surface_speed_m_s=10, grain_um=200)
REFINE = Step(number=2, stage="refine", media="belt", lubricant="dry", surface_speed_m_s=20, grain_um=80)
FINISH = Step(number=3, stage="finish", media="buff", grain_um=None)


def sheet(*steps: Step, **more: object) -> Sheet:
    face = Feature(name="face", shape="flat", steps=steps, blocked=(Blocked(text="no wheel fits"),) * (not steps))
    return Sheet.model_validate(
        {
            "program": Program(version="0"),
            "job": {},
            "knowledge": Knowledge(fingerprint="none", rules=0),
            "handling": Handling(value="part-in-hand"),
            "features": (face,),
            **more,
        }
    )


PLAN = sheet(CLEAR, REFINE, FINISH)


def faults(on: Sheet, **expected: object) -> list[str]:
    expectation = Expectation.model_validate({"place": "a.yaml:1:1", "why": "Because.", **expected})
    worked = Worked.model_construct(key="a", title="A", expect=(expectation,))
    return [str(problem) for problem in judge(worked, on)]


@pytest.mark.parametrize(
    ("expected", "met"),
    [
        ({"step": "first", "must": (BELT,)}, True),
        ({"step": "last", "must": (BELT,)}, False),
        ({"step": "last", "among": (BELT,), "must": (DRY,)}, True),
        ({"step": "every", "must": (BELT,)}, False),
        ({"step": "refine", "must": (BELT, DRY)}, True),
        ({"step": "prepare", "must": (BELT,)}, False),  # no such step: must is not met by nothing
        ({"step": "prepare", "may": (BELT,)}, True),
        ({"step": "prepare", "never": (BELT,)}, True),
        ({"step": "any", "must": (DRY,)}, True),
        ({"step": "any", "must": (DRY, SLOW)}, False),  # one step is dry, another slow, none is both
        ({"step": "first", "must": (SLOW,)}, True),  # exactly on the limit
        ({"step": "every", "may": (DRY,)}, False),
        ({"step": "finish", "may": (DRY,)}, True),  # a buff that says nothing of it is free
        ({"step": "finish", "must": (DRY,)}, False),
        ({"step": "finish", "never": (DRY, WAX)}, True),
        ({"step": "every", "never": (WAX,)}, False),
        ({"must": (REFUSED,)}, False),
        ({"never": (REFUSED,)}, True),
    ],
)
def test_must_may_and_never(expected: dict[str, object], met: bool) -> None:
    assert (faults(PLAN, **expected) == []) is met


@pytest.mark.parametrize(("name", "high", "met"), [("steps", 3, True), ("steps", 2, False), ("jump", 2.5, True),
                                                   ("jump", 2.4, False)])  # fmt: skip
def test_steps_and_the_largest_jump_are_counted(name: str, high: float, met: bool) -> None:
    fact = Fact(name=name, kind="number", span=Span(high=high), text=f"at most {high}")
    assert (faults(PLAN, must=(fact,)) == []) is met


def test_a_refusal_meets_what_asks_for_it_and_nothing_that_asks_for_steps() -> None:
    refusal = sheet()
    assert faults(refusal, must=(REFUSED,)) == []
    (told,) = faults(refusal, step="last", must=(BELT,))
    assert "no plan: no wheel fits" in told
    wheel = Fact(name="blocked", kind="notes", options=("wheel",), text="'wheel'")
    assert faults(refusal, must=(wheel,)) == []
    assert faults(refusal, never=(wheel,)) != []


def test_each_note_asked_for_is_found_by_its_rule_or_its_words() -> None:
    told = sheet(CLEAR, cautions=(Note(text="Lead is in the dust.", rule="lead-in-the-alloy"),))
    both = Fact(name="caution", kind="notes", options=("lead-in-the-alloy", "in the DUST"), text="both")
    more = Fact(name="caution", kind="notes", options=("in the dust", "beryllium"), text="more")
    assert faults(told, must=(both,)) == []
    assert len(faults(told, must=(more,))) == 1
    assert len(faults(told, never=(both,))) == 2


def test_a_note_of_another_face_does_not_count() -> None:
    other = sheet(CLEAR, cautions=(Note(text="Lead.", features=("back",)),))
    lead = Fact(name="caution", kind="notes", options=("lead",), text="'lead'")
    assert faults(other, must=(lead,)) != []


def test_a_fault_names_the_face_the_fact_what_came_out_and_why() -> None:
    (told,) = faults(PLAN, step="first", must=(DRY,))
    assert told == "a.yaml:1:1: face: lubricant dry must come out (Because.), given 'step 1 clear: wax'"
