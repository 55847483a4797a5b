"""Reading rules: what is understood, and that every fault names its place, what it is and what would do."""

from __future__ import annotations

import pytest

from advisor.errors import Problem
from advisor.knowledge.rules import Advice, Conclusion, Condition, Note, Span
from tests.small import read_text_of_rules, rule_text, rules_of, small_vocabulary


def faults(**fields: str | None) -> list[Problem]:
    return read_text_of_rules(rule_text(**fields), small_vocabulary())[1]


def only(**fields: str | None) -> Problem:
    found = faults(**fields)
    assert len(found) == 1, found
    return found[0]


# ------------------------------------------------------------------ what is understood


@pytest.mark.parametrize(
    ("written", "conditions"),
    [
        ("{defect: scale}", [("defect", "in", ("scale",))]),
        ("{defect: [scale, burr]}", [("defect", "in", ("scale", "burr"))]),
        ("{defect: {not: burr}}", [("defect", "not in", ("burr",))]),
        ("{defect: {not: [burr, weld]}}", [("defect", "not in", ("burr", "weld"))]),
        (
            "{depth_mm: {above: 1, at most: 3}}",
            [("depth_mm", "above", (1.0,)), ("depth_mm", "at most", (3.0,))],
        ),
        (
            "{depth_mm: {at least: 1, below: 3}}",
            [("depth_mm", "at least", (1.0,)), ("depth_mm", "below", (3.0,))],
        ),
        ("{wet: {known: false}}", [("wet", "known", (False,))]),
        ("{wet: true, hot: false}", [("wet", "in", (True,)), ("hot", "in", (False,))]),
        ("{grade: {at least: P120}}", [("grade", "at least", ("P120",))]),
        ("{}", []),
    ],
)
def test_conditions_are_a_conjunction_of_single_tests(written: str, conditions: list[object]) -> None:
    (rule,) = rules_of(rule_text(when=written))
    assert [(item.attribute, item.operator, item.operand) for item in rule.when] == conditions


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("{should: {backing: [J, X]}}", Advice(strength="should", decision="backing", options=("J", "X"))),
        ("{avoid: {backing: 'Y'}}", Advice(strength="avoid", decision="backing", options=("Y",))),
        ("{may: {speed: {aim: low}}}", Advice(strength="may", decision="speed", aim="low")),
        (
            "{never: {speed: {above: 30}}}",
            Advice(strength="never", decision="speed", span=Span(low=30, low_open=True)),
        ),
        (
            "{must: {speed: {at least: 5, below: 30}}}",
            Advice(strength="must", decision="speed", span=Span(low=5, high=30, high_open=True)),
        ),
        (
            "{should: {grade: {at least: P80, at most: P180}}}",
            Advice(strength="should", decision="grade", span=Span(low=1, high=3), scale="P"),
        ),
        (
            "{should: {grade: [medium]}}",
            Advice(strength="should", decision="grade", span=Span(low=1, high=1), scale="web"),
        ),
        (
            "{should: {pressure: {at least: medium}}}",
            Advice(strength="should", decision="pressure", options=("medium", "high")),
        ),
        ("{conclude: {risk: high}}", Conclusion(attribute="risk", value="high")),
        ("{caution: Wear gloves.}", Note(kind="caution", text="Wear gloves.")),
        ("{outside: Pickling is better.}", Note(kind="outside", text="Pickling is better.")),
    ],
)
def test_a_consequence_is_advice_a_conclusion_or_a_sentence(written: str, meant: object) -> None:
    (rule,) = rules_of(rule_text(then=f"[{written}]"))
    assert rule.then == (meant,)


def test_a_remedy_answers_a_symptom_and_may_carry_a_change() -> None:
    (rule,) = rules_of(
        rule_text(
            when="{symptom: chatter}",
            then="[{remedy: Slow down., change: {speed: lower, backing: X}}]",
            examples="[{given: {symptom: chatter}, expect: fires}]",
        )
    )
    assert rule.notes("remedy")[0].change == {"speed": "lower", "backing": "X"}


def test_a_rule_keeps_its_place_its_sources_and_its_cases() -> None:
    text = "# a comment\n\n" + rule_text(
        source="[handbook, {source: common-practice, place: table 3}]",
        status="on trial",
        overrides="another",
        unless="{wet: true}",
    )
    rules, found = read_text_of_rules(text, small_vocabulary())
    assert found == []
    (rule,) = rules
    assert rule.place == "rules.yaml:3:9"
    assert [(item.source, item.place) for item in rule.source] == [
        ("handbook", None),
        ("common-practice", "table 3"),
    ]
    assert (rule.status, rule.overrides) == ("on trial", ("another",))
    assert rule.unless == (Condition(attribute="wet", operator="in", operand=(True,)),)
    assert [(item.expect, dict(item.given)) for item in rule.examples] == [
        ("fires", {"defect": "scale"}),
        ("silent", {"defect": "burr"}),
    ]


# ------------------------------------------------------------------ what is refused, with place and help


@pytest.mark.parametrize(
    ("fields", "place", "what", "given", "allowed", "nearest"),
    [
        ({"when": "{defct: scale}"}, "3:10", "unknown attribute", "defct", "stage, defect", "defect"),
        (
            {"when": "{defect: skale}"},
            "3:18",
            "unknown value of defect",
            "skale",
            "scale, burr, weld",
            "scale",
        ),
        ({"when": "{grade: P121}"}, "3:17", "unknown value of grade", "P121", "P60", "P120"),
        (
            {"when": "{depth_mm: {atleast: 1}}"},
            "3:21",
            "unknown comparison",
            "atleast",
            "at least",
            "at least",
        ),
        ({"when": "{depth_mm: {above: 51}}"}, "3:28", "outside its range", "51", "0 to 50 mm", None),
        ({"when": "{wet: 'yes'}"}, "3:15", "wet is a flag", "yes", "true, false", None),
        ({"then": "[{shoud: {backing: J}}]"}, "4:10", "says one thing", "shoud", "must, should", "should"),
        ({"then": "[{should: {backng: J}}]"}, "4:20", "unknown decision", "backng", "media", "backing"),
        (
            {"then": "[{should: {media: bellt}}]"},
            "4:27",
            "unknown option of media",
            "bellt",
            "belt, disc",
            "belt",
        ),
        ({"then": "[{should: {grade: P122}}]"}, "4:27", "unknown grade", "P122", "P60", "P120"),
        ({"then": "[{should: {speed: {aim: lo}}}]"}, "4:33", "unknown aim", "lo", "low, middle, high", "low"),
        (
            {"then": "[{should: {speed: {at most: 61}}}]"},
            "4:37",
            "outside its range",
            "61",
            "0 to 60 m/s",
            None,
        ),
        ({"then": "[{conclude: {rissk: low}}]"}, "4:22", "rules conclude", "rissk", "risk, demand", "risk"),
        ({"concern": "safty"}, "5:12", "unknown concern", "safty", "safety, specification", "safety"),
        ({"source": "handbok"}, "8:11", "unknown source", "handbok", "common-practice", "handbook"),
        ({"status": "trustd"}, "10:11", "unknown status", "trustd", "on trial, trusted", "trusted"),
        ({"unles": "{wet: true}"}, "10:3", "unknown key in a rule", "unles", "rule, title", "unless"),
        (
            {"examples": "[{given: {defct: scale}, expect: fires}]"},
            "9:23",
            "unknown attribute",
            "defct",
            "stage, defect",
            "defect",
        ),
        (
            {"examples": "[{given: {defect: scale}, expect: fire}]"},
            "9:47",
            "unknown expectation",
            "fire",
            "fires, silent",
            "fires",
        ),
    ],
)
def test_a_fault_names_file_line_column_what_given_allowed_and_nearest(
    fields: dict[str, str], place: str, what: str, given: str, allowed: str, nearest: str | None
) -> None:
    problem = only(**fields)
    assert problem.place == f"rules.yaml:{place}"
    assert what in problem.what
    assert problem.given == given
    assert problem.allowed is not None and allowed in problem.allowed
    assert problem.nearest == nearest


@pytest.mark.parametrize(
    ("fields", "place", "what"),
    [
        ({"because": None}, "1:3", "a rule has no 'because'"),
        ({"examples": None}, "1:3", "a rule has no 'examples'"),
        ({"title": "''"}, "2:10", "title is not text"),
        ({"rule": "Big_Case"}, "1:9", "small words joined by hyphens"),
        ({"rule": "a--case"}, "1:9", "small words joined by hyphens"),
        ({"when": "[defect]"}, "3:9", "conditions are not a mapping"),
        ({"when": "{defect: ~}"}, "3:18", "defect is not a single value"),
        ({"when": "{defect: []}"}, "3:18", "an empty list asks nothing"),
        ({"when": "{defect: {}}"}, "3:18", "nothing is asked of defect"),
        ({"when": "{depth_mm: '3 mm'}"}, "3:20", "depth_mm is a number in mm"),
        ({"when": "{depth_mm: true}"}, "3:20", "depth_mm is a number in mm"),
        ({"when": "{defect: {at least: scale}}"}, "3:29", "has no order"),
        ({"when": "{wet: {above: true}}"}, "3:23", "has no order"),
        ({"when": "{depth_mm: {at least: 3, above: 2}}"}, "3:20", "one end is given twice"),
        ({"when": "{depth_mm: {at least: 3, at most: 2}}"}, "3:20", "no value lies between"),
        ({"when": "{depth_mm: {above: 2, at most: 2}}"}, "3:20", "no value lies between"),
        ({"when": "{grade: {at least: P120, at most: P80}}"}, "3:17", "no value lies between"),
        ({"when": "{grade: {at least: P60, at most: fine}}"}, "3:17", "two scales"),
        ({"when": "{pressure: {above: medium, below: high}}"}, None, None),
        ({"when": "{pressure: {above: medium, below: medium}}"}, "3:20", "no value lies between"),
        ({"when": "{risk: {known: true}}"}, "3:24", "only a job's or table's attribute"),
        ({"when": "{media: {known: false}}"}, "3:25", "only a job's or table's attribute"),
        ({"when": "{wet: {known: maybe}}"}, "3:23", "only a job's or table's attribute"),
        ({"unless": "{}"}, "10:11", "tests nothing"),
        ({"then": "[]"}, "4:9", "a rule must say something"),
        ({"then": "[{should: {backing: J}, avoid: {backing: X}}]"}, "4:10", "says one thing"),
        ({"then": "[{should: {backing: J, media: belt}}]"}, "4:19", "speaks on one decision"),
        ({"then": "[{should: {backing: []}}]"}, "4:29", "names no option"),
        ({"then": "[{should: {pressure: []}}]"}, "4:30", "names no option"),
        ({"then": "[{should: {backing: {at least: J}}}]"}, "4:29", "backing has no order"),
        ({"then": "[{should: {pressure: [low, high]}}]"}, "4:30", "side by side"),
        ({"then": "[{should: {grade: [P60, P120]}}]"}, "4:27", "side by side"),
        ({"then": "[{should: {grade: [P60, fine]}}]"}, "4:27", "keeps to one scale"),
        ({"then": "[{should: {grade: {at least: P60, at most: fine}}}]"}, "4:27", "keeps to one scale"),
        ({"then": "[{should: {speed: {}}}]"}, "4:27", "says nothing"),
        ({"then": "[{should: {speed: 30}}]"}, "4:27", "is not a mapping"),
        ({"then": "[{should: {speed: {at least: 30, at most: 20}}}]"}, "4:27", "lower end lies above"),
        ({"then": "[{should: {speed: {at least: 30, above: 20}}}]"}, "4:27", "one end is given twice"),
        ({"then": "[{never: {speed: {at least: 20, at most: 30}}}]"}, "4:26", "on one side only"),
        ({"then": "[{never: {pressure: medium}}]"}, "4:29", "on one side only"),
        ({"then": "[{never: {grade: P120}}]"}, "4:26", "on one side only"),
        ({"then": "[{avoid: {speed: {at most: 9, aim: low}}}]"}, "4:39", "unknown key"),
        ({"then": "[{conclude: {texture: satin}}]"}, "4:22", "not an attribute that rules conclude"),
        ({"then": "[{conclude: {risk: low, hot: true}}]"}, "4:21", "a conclusion sets one attribute"),
        ({"then": "[{remedy: Slow down.}]"}, "4:9", "a remedy answers a symptom"),
        ({"then": "[{caution: Slow down., change: {speed: lower}}]"}, "4:10", "says one thing"),
        ({"because": "A {radius_mm} mm curve bridges."}, "6:12", "a value that the rule does not test"),
        ({"not_for": "None."}, "7:12", "must say where the rule misleads"),
        ({"not_for": "n/a"}, "7:12", "must say where the rule misleads"),
        ({"not_for": "unknown"}, "7:12", "must say where the rule misleads"),
        ({"examples": "[{given: [scale], expect: fires}]"}, "9:22", "is not a mapping"),
        ({"examples": "[{expect: fires}]"}, "9:14", "an example has no 'given'"),
    ],
)
def test_what_makes_no_sense_is_refused_at_its_place(
    fields: dict[str, str | None], place: str | None, what: str | None
) -> None:
    found = faults(**fields)
    if what is None:
        assert found == []
        return
    assert any(what in problem.what for problem in found), found
    assert f"rules.yaml:{place}" in {problem.place for problem in found if what in problem.what}


@pytest.mark.parametrize("strength", ["must", "never"])
@pytest.mark.parametrize(
    ("concern", "allowed"),
    [
        ("safety", True),
        ("specification", True),
        ("corrosion", True),
        ("form", True),
        ("look", False),
        ("economy", False),
    ],
)
def test_only_the_first_four_concerns_may_carry_must_or_never(
    strength: str, concern: str, allowed: bool
) -> None:
    found = faults(concern=concern, then=f"[{{{strength}: {{backing: J}}}}]")
    assert (found == []) is allowed
    for problem in found:
        assert problem.given == concern
        assert problem.allowed == "corrosion, form, safety, specification"


def test_all_faults_of_a_file_are_gathered_at_once() -> None:
    text = (
        rule_text(rule="one", when="{defct: scale, depth_mm: {above: 99}}", concern="safty", source="handbok")
        + rule_text(rule="sound")
        + rule_text(rule="two", then="[{should: {backing: Z}}]", not_for="none")
    )
    rules, found = read_text_of_rules(text, small_vocabulary())
    assert [rule.id for rule in rules] == ["sound"]
    assert sorted(int(problem.place.split(":")[1]) for problem in found) == [3, 3, 5, 8, 22, 25]
    assert {problem.given for problem in found} == {"defct", "99", "safty", "handbok", "Z", "none"}


def test_a_shown_value_must_be_tested_in_when_not_in_unless() -> None:
    shown = "{depth_mm} mm is deep."
    assert faults(when="{depth_mm: {above: 1}}", because=f"'{shown}'") == []
    assert "does not test" in only(unless="{depth_mm: {above: 1}}", because=f"'{shown}'").what
