"""The deep checks: each finds what it is for, and says nothing where there is nothing."""

from __future__ import annotations

import json
from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.check.finding import Code
from advisor.check.meaning import Meaning
from advisor.check.run import codes, examine
from advisor.check.sarif import to_sarif
from advisor.inference.tests import conjunction
from advisor.knowledge.base import Knowledge
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.rules import Advice, Citation, Conclusion, Condition, Example, Note, Rule, Span

PACKAGED = load_knowledge()


def _rule(
    identity: str, when: dict[str, Any], *then: Any, unless: dict[str, Any] | None = None, **more: Any
) -> Rule:
    def conditions(said: dict[str, Any]) -> tuple[Condition, ...]:
        found = []
        for key, value in said.items():
            if isinstance(value, dict):
                found += [
                    Condition(attribute=key, operator=word, operand=(end,)) for word, end in value.items()
                ]
            else:
                operand = tuple(value) if isinstance(value, (list, tuple)) else (value,)
                found.append(Condition(attribute=key, operator="in", operand=operand))
        return tuple(found)

    fields: dict[str, Any] = {
        "id": identity, "title": identity, "when": conditions(when), "unless": conditions(unless or {}),
        "then": then, "concern": "form", "because": f"Because of {identity}.", "not_for": "Other cases.",
        "source": (Citation(source="common-practice"),), "topic": "test", "place": f"rules/test.yaml:{len(identity)}:1",
        "examples": (Example(given={}, expect="silent"),),
    }  # fmt: skip
    return Rule.model_validate({**fields, **more})


def _base(*rules: Rule) -> Knowledge:
    return PACKAGED.with_rules(rules)


def _found(code: str, *rules: Rule) -> list[str]:
    return [finding.says for finding in examine(_base(*rules)).findings if finding.code.code == code]


def _at_rules(code: str, *rules: Rule) -> list[str]:
    """What is found at rules; the packaged tables have findings of their own."""
    findings = examine(_base(*rules)).findings
    return [finding.says for finding in findings if finding.code.code == code and finding.rules]


BELT = Advice(strength="should", decision="media", options=("belt",))
J = Advice(strength="should", decision="backing", options=("J",))
CLEAR = {"stage": "clear", "media": "belt"}

CASES: dict[str, tuple[list[Rule], list[Rule]]] = {
    "K101": (
        [_rule("one", CLEAR, J), _rule("other", CLEAR, J)],
        [_rule("one", CLEAR, J), _rule("other", {**CLEAR, "cell.wet": True}, J)],
    ),
    "K102": (
        [_rule("one", CLEAR, J), _rule("other", {**CLEAR, "media": "file-belt"}, J)],
        [_rule("one", CLEAR, J), _rule("other", {"stage": "finish", "media": "file-belt"}, J)],
    ),
    "K103": (
        [_rule("broad", CLEAR, J), _rule("narrow", {**CLEAR, "cell.wet": True}, J)],
        [_rule("broad", CLEAR, J), _rule("narrow", {"stage": "finish", "media": "belt"}, J)],
    ),
    "K104": (
        [
            _rule("one", CLEAR, J, because="A stiff cloth bridges a narrow hollow and cuts only both of its rims."),
            _rule("other", {"stage": "finish"}, BELT,
                  because="A stiff cloth bridges the narrow hollow and cuts only both of its rims."),
        ],
        [
            _rule("one", CLEAR, J, because="A stiff cloth bridges a narrow hollow and cuts only both of its rims."),
            _rule("other", {"stage": "finish"}, BELT,
                  because="A soft wheel reaches the bottom of a wide groove and leaves neither rim marked."),
        ],
    ),
    "K203": (
        [_rule("idle", {"alloy.family": "zinc-die-cast", "alloy.group": ["zinc", "steel"]}, J)],
        [_rule("busy", {"alloy.family": ["zinc-die-cast", "carbon-steel"], "alloy.group": ["zinc", "steel"]}, J)],
    ),
    "K201": (
        [_rule("never", {"part.wall_mm": {"below": 2.0, "above": 3.0}}, J)],
        [_rule("sometimes", {"part.wall_mm": {"above": 2.0, "below": 3.0}}, J)],
    ),
    "K202": (
        [_rule("no-alloy", {"alloy.family": "zinc-die-cast", "alloy.group": "steel"}, J)],
        [_rule("an-alloy", {"alloy.family": "zinc-die-cast", "alloy.group": "zinc"}, J)],
    ),
    "K204": (
        [_rule("silenced", {"stage": "clear"}, J, unless={"stage": ["clear", "refine"]})],
        [_rule("heard", {"stage": ["clear", "finish"]}, J, unless={"stage": ["clear", "refine"]})],
    ),
    "K205": (
        [_rule("empty-exception", {"stage": "clear"}, J, unless={"stage": "finish"})],
        [_rule("exception", {"stage": "clear"}, J, unless={"cell.wet": True})],
    ),
    "K301": (
        [
            _rule("wants", CLEAR, Advice(strength="must", decision="backing", options=("J",))),
            _rule("forbids", {"stage": "clear"}, Advice(strength="never", decision="backing", options=("J", "X"))),
        ],
        [
            _rule("wants", CLEAR, Advice(strength="must", decision="backing", options=("J",))),
            _rule("forbids", {"stage": "finish"}, Advice(strength="never", decision="backing", options=("J", "X"))),
        ],
    ),
    "K302": (
        [
            _rule("low", {"batch": {"at most": 10.0}}, Conclusion(attribute="heat.sensitivity", value="low")),
            _rule("high", {"batch": {"at least": 10.0}}, Conclusion(attribute="heat.sensitivity", value="high")),
        ],
        [
            _rule("low", {"batch": {"below": 10.0}}, Conclusion(attribute="heat.sensitivity", value="low")),
            _rule("high", {"batch": {"at least": 10.0}}, Conclusion(attribute="heat.sensitivity", value="high")),
        ],
    ),
    "K303": (
        [
            _rule("hard", CLEAR, Advice(strength="should", decision="wheel_hardness", span=Span(low=60))),
            _rule("soft", {"stage": "clear"}, Advice(strength="should", decision="wheel_hardness", span=Span(high=40))),
        ],
        [
            _rule("hard", CLEAR, Advice(strength="should", decision="wheel_hardness", span=Span(low=40))),
            _rule("soft", {"stage": "clear"}, Advice(strength="should", decision="wheel_hardness", span=Span(high=60))),
        ],
    ),
    "K602": (
        [_rule("demand", CLEAR, Advice(strength="must", decision="backing", options=("J",)),
               source=(Citation(source="from-memory"),))],
        [_rule("demand", CLEAR, Advice(strength="must", decision="backing", options=("J",)))],
    ),
    "K701": (
        [_rule("soft", CLEAR, J, because="Take the optimal cloth.")],
        [_rule("plain", CLEAR, J, because="A light cloth follows the curve.")],
    ),
    "K702": (
        [_rule("loose", CLEAR, Note(kind="check", text="Stop after 17 turns."))],
        [_rule("held", {**CLEAR, "batch": {"above": 17.0}}, Note(kind="check", text="Stop after 17 turns."))],
    ),
}  # fmt: skip


def test_sentences_that_name_different_numbers_are_not_the_same_sentence() -> None:
    """Rows of one table are told by rules that differ in a figure, and each is needed."""

    def measured(stage: str, cut_off: str, places: str) -> Rule:
        text = f"Go on when Ra, taken with a cut-off of {cut_off} mm, lies inside the band at {places} places."
        return _rule(stage, {"stage": stage}, Note(kind="check", text=text))

    one = measured("finish", "0.8", "three")
    assert _found("K104", one, measured("clear", "0.8", "four"))
    assert not _found("K104", one, measured("clear", "2.5", "four"))


@pytest.mark.parametrize("code", CASES)
def test_a_check_finds_its_fault_and_lets_sound_rules_be(code: str) -> None:
    faulty, sound = CASES[code]
    assert _at_rules(code, *faulty)
    assert not _at_rules(code, *sound)


LOW = Conclusion(attribute="heat.sensitivity", value="low")
GRADE = Advice(strength="should", decision="grade", span=Span(low=60))
OXIDE = Advice(strength="should", decision="grain", options=("aluminium-oxide",))
COATED = {"stage": ["clear", "refine", "finish"]}

#: What is found where nobody speaks, and a rule that ends it.
SILENCE: dict[str, tuple[str, Rule, Rule]] = {
    "K401": (
        "no rule tests the conclusion heat.sensitivity",
        _rule("draws", {"stage": "clear"}, LOW), _rule("tests", {"heat.sensitivity": "low"}, J),
    ),
    "K402": (
        "concludes heat.sensitivity: low, medium, high",
        _rule("tests", {"heat.sensitivity": "low"}, J), _rule("draws", {"stage": "clear"}, LOW),
    ),
    "K404": (
        "no condition names stage: refine, prepare, finish",
        _rule("one", {"stage": "clear"}, J), _rule("other", {"stage": "refine"}, J),
    ),
    "K405": (
        "no rule ever speaks for media: belt, slack-belt", _rule("one", CLEAR, J), _rule("other", CLEAR, BELT),
    ),
    "K501": (
        "no grain for brass with belt to clear or refine or finish",
        _rule("one", CLEAR, J), _rule("other", COATED, OXIDE),
    ),
    "K502": (
        "laser-edge, burr, ", _rule("one", CLEAR, J), _rule("other", {"stage": "clear", "defect": "burr"}, BELT),
    ),
    "K503": (
        "satin-fine, satin-extra-fine", _rule("one", CLEAR, J),
        _rule("other", {"stage": "finish", "finish.key": "satin-fine"}, BELT),
    ),
    "K504": ("no word on the grade of belt to", _rule("one", CLEAR, J), _rule("other", {"media": "belt"}, GRADE)),
    "K601": (
        "nobody cites assda-surface", _rule("one", CLEAR, J),
        _rule("other", {"stage": "finish"}, J, source=(Citation(source="assda-surface"),)),
    ),
}  # fmt: skip


@pytest.mark.parametrize("code", SILENCE)
def test_silence_is_found_until_somebody_speaks(code: str) -> None:
    says, alone, breaking = SILENCE[code]
    assert [said for said in _found(code, alone) if says in said]
    assert not [said for said in _found(code, alone, breaking) if says in said]


def test_a_rule_may_break_a_check_if_it_says_why_and_it_is_counted() -> None:
    wants, forbids = CASES["K301"][0]
    allowing = wants.model_copy(update={"allows": {"K301": "The refusal is meant."}})
    outcome = examine(_base(allowing, forbids))
    assert not [finding for finding in outcome.findings if finding.code.code == "K301"]
    assert [reason for _, reason in outcome.allowed] == ["The refusal is meant."]


def test_a_contradiction_shows_a_situation_in_which_both_rules_fire() -> None:
    wants, forbids = CASES["K301"][0]
    (finding,) = [item for item in examine(_base(wants, forbids)).findings if item.code.code == "K301"]
    for rule in (wants, forbids):
        assert conjunction(rule.when, finding.witness, PACKAGED.vocabulary) == "yes"


FLAGS = ("cell.wet", "finish.sample", "alloy.cast")
STAGES = ("clear", "refine", "prepare", "finish")


@st.composite
def _conditions(draw: st.DrawFn) -> dict[str, Any]:
    said: dict[str, Any] = {}
    if draw(st.booleans()):
        said["stage"] = draw(st.lists(st.sampled_from(STAGES), min_size=1, max_size=3, unique=True))
    for flag in FLAGS:
        if draw(st.booleans()):
            said[flag] = draw(st.booleans())
    if draw(st.booleans()):
        said["batch"] = {
            draw(st.sampled_from(["at least", "above", "at most", "below"])): draw(
                st.sampled_from([5.0, 9.0])
            )
        }
    return said or {"stage": ["clear"]}


@settings(max_examples=60)
@given(_conditions(), _conditions())
def test_whether_a_rule_can_ever_fire_is_decided_as_by_trying_everything(
    when: dict[str, Any], unless: dict[str, Any]
) -> None:
    rule = _rule("generated", when, J, unless=unless)
    base = Meaning(_base(rule))
    tried = False
    for stage, wet, sample, cast, batch in product(
        (None, *STAGES), *[(None, True, False)] * 3, (None, 1.0, 5.0, 7.0, 9.0, 12.0)
    ):
        situation = {
            "stage": stage,
            "cell.wet": wet,
            "finish.sample": sample,
            "alloy.cast": cast,
            "batch": batch,
        }
        fires = conjunction(rule.when, situation, PACKAGED.vocabulary) == "yes"
        silenced = conjunction(rule.unless, situation, PACKAGED.vocabulary) == "yes"
        tried = tried or (fires and not silenced)
    assert (base.find(base.fires(rule)) is not None) == tried


def test_the_packaged_knowledge_has_neither_error_nor_warning() -> None:
    outcome = examine(PACKAGED)
    assert [finding.says for finding in outcome.findings if finding.code.severity != "note"] == []
    assert all(reason.endswith(".") for _, reason in outcome.allowed)


def test_every_code_is_known_once_and_tells_how_to_mend() -> None:
    for key, code in codes().items():
        assert isinstance(code, Code)
        assert key == code.code
        assert all((code.what, code.why, code.mend))


def test_sarif_has_what_the_standard_requires() -> None:
    wants, forbids = CASES["K301"][0]
    log = json.loads(to_sarif(examine(_base(wants, forbids)).findings, codes()))
    assert log["version"] == "2.1.0"
    assert log["$schema"].endswith("sarif-schema-2.1.0.json")
    (run,) = log["runs"]
    known = {rule["id"] for rule in run["tool"]["driver"]["rules"]}
    assert run["tool"]["driver"]["name"]
    assert run["results"]
    for result in run["results"]:
        assert result["ruleId"] in known
        assert result["level"] in ("error", "warning", "note")
        assert result["message"]["text"]
        region = result["locations"][0]["physicalLocation"].get("region", {"startLine": 1})
        assert region["startLine"] >= 1
