"""All hypothesis strategies in one place: small vocabularies, rule bases over them, and situations."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from hypothesis import strategies as st

from advisor.choices.model import Spoken
from advisor.coverage.grid import Combination, FaceMaker, Grid
from advisor.inference.properties import Conjunction
from advisor.job.model import Job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.rules import Advice, Citation, Conclusion, Condition, Example, Note, Rule, Span
from advisor.knowledge.vocabulary import BINDING_CONCERNS, CONCERNS, Attribute, Decision, Value, Vocabulary
from tests.small import GRADES, knowledge_of

#: Few numbers, so that situations often lie exactly on a limit.
NUMBERS = (0.0, 0.5, 1.0, 2.0, 3.0)
BOUNDS = ("at least", "at most", "above", "below")


@dataclass(frozen=True)
class Words:
    """A vocabulary with the attributes that rules may conclude: in a row, and in a circle of flags."""

    vocabulary: Vocabulary
    row: tuple[str, ...]
    circle: tuple[str, ...]

    @property
    def given(self) -> tuple[str, ...]:
        """What a situation may say at the start."""
        return tuple(key for key, item in self.vocabulary.attributes.items() if item.set_by != "rule")


@st.composite
def words(draw: st.DrawFn) -> Words:
    """A small vocabulary with every kind of attribute and decision."""
    attributes = [_attribute(f"flag{i}", "flag", "job") for i in range(draw(st.integers(1, 2)))]
    for i in range(draw(st.integers(1, 3))):
        values = tuple("abcd"[: draw(st.integers(2, 4))])
        attributes.append(_attribute(f"choice{i}", "choice", draw(st.sampled_from(("job", "table"))), values))
    attributes += [_attribute(f"number{i}", "number", "job") for i in range(draw(st.integers(1, 2)))]
    attributes.append(_attribute("found.grade", "grade", "plan"))
    row = []
    for i in range(draw(st.integers(1, 4))):
        kind = draw(st.sampled_from(("flag", "choice", "number")))
        row.append(_attribute(f"row{i}", kind, "rule", ("a", "b", "c") if kind == "choice" else ()))
    circle = [_attribute(f"circle{i}", "flag", "rule") for i in range(draw(st.integers(0, 3)))]
    decisions = [
        _decision("media", "list", 0, ("belt", "disc", "brush")),
        _decision("pressure", "ordered", 1, ("low", "medium", "high")),
        _decision("grade", "grade", 2),
        _decision("speed", "number", 3),
    ][: draw(st.integers(1, 4))]
    vocabulary = Vocabulary(
        attributes={item.key: item for item in (*attributes, *row, *circle)},
        decisions={item.key: item for item in decisions},
        grades=dict(GRADES),
    )
    return Words(vocabulary, tuple(item.key for item in row), tuple(item.key for item in circle))


def _attribute(key: str, kind: str, set_by: str, values: tuple[str, ...] = ()) -> Attribute:
    return Attribute.model_validate(
        {
            "key": key,
            "title": key,
            "means": key,
            "kind": kind,
            "set_by": set_by,
            "values": values,
        }
    )


def _decision(key: str, kind: str, order: int, options: tuple[str, ...] = ()) -> Decision:
    return Decision.model_validate(
        {
            "key": key,
            "title": key,
            "means": key,
            "kind": kind,
            "options": options,
            "taken_for": "feature",
            "order": order,
        }
    )


def values_of(attribute: Attribute) -> st.SearchStrategy[Value]:
    """A value that an attribute can have."""
    if attribute.kind == "flag":
        return st.booleans()
    if attribute.kind == "number":
        return st.sampled_from(NUMBERS)
    return st.sampled_from(tuple(GRADES) if attribute.kind == "grade" else attribute.values)


@st.composite
def conditions(draw: st.DrawFn, attribute: Attribute) -> Condition:
    """Any condition that a rule may put on an attribute."""
    operators = ["in", "in", "not in"]
    if attribute.kind in ("number", "grade", "ordered"):
        operators += BOUNDS
    if attribute.set_by in ("job", "table"):
        operators.append("known")
    operator = draw(st.sampled_from(operators))
    operand: tuple[Value, ...]
    if operator == "known":
        operand = (draw(st.booleans()),)
    elif operator in BOUNDS:
        operand = (draw(values_of(attribute)),)
    else:
        operand = tuple(draw(st.lists(values_of(attribute), min_size=1, max_size=3, unique=True)))
    return Condition.model_validate({"attribute": attribute.key, "operator": operator, "operand": operand})


@st.composite
def _tests(
    draw: st.DrawFn, words: Words, names: Sequence[str], least: int, most: int
) -> tuple[Condition, ...]:
    picked = draw(st.lists(st.sampled_from(names), min_size=least, max_size=most))
    return tuple(draw(conditions(words.vocabulary.testable[name])) for name in picked)


@st.composite
def _concluding(draw: st.DrawFn, words: Words, number: int) -> Rule:
    """A rule that concludes something, from what stands before it or round the circle."""
    target = draw(st.sampled_from((*words.row, *words.circle)))
    if target in words.circle:
        names = [*words.given, *words.row]
        when = draw(_tests(words, names, 0, 2))
        links = draw(st.lists(st.sampled_from(words.circle), max_size=2))
        when += tuple(Condition(attribute=link, operator="in", operand=(True,)) for link in links)
        then = Conclusion(attribute=target, value=True)
    else:
        names = [*words.given, *words.row[: words.row.index(target)]]
        when = draw(_tests(words, names, 0, 3))
        then = Conclusion(attribute=target, value=draw(values_of(words.vocabulary.attributes[target])))
    unless = draw(st.one_of(st.just(()), _tests(words, names, 1, 2)))
    return _rule(number, when, unless, (then,), draw(st.sampled_from(CONCERNS)))


@st.composite
def _advising(draw: st.DrawFn, words: Words, number: int, earlier: Sequence[Rule]) -> Rule:
    """A rule with advice on a decision, testing anything that is known by then."""
    decision = draw(st.sampled_from(list(words.vocabulary.decisions.values())))
    before = words.vocabulary.order[: decision.order]
    names = [*words.given, *words.row, *words.circle, *before]
    when = draw(_tests(words, names, 0, 4))
    unless = draw(st.one_of(st.just(()), _tests(words, names, 1, 2)))
    then: list[Any] = [draw(_advice(decision)) for _ in range(draw(st.integers(1, 2)))]
    if draw(st.booleans()):
        then.append(Note(kind="caution", text="Mind this."))
    same = [rule.id for rule in earlier if any(item.decision == decision.key for item in rule.advice())]
    strikes = draw(st.lists(st.sampled_from(same), max_size=2, unique=True)) if same else []
    return _rule(number, when, unless, tuple(then), draw(st.sampled_from(CONCERNS[:4])), tuple(strikes))


@st.composite
def _advice(draw: st.DrawFn, decision: Decision) -> Advice:
    strength = draw(st.sampled_from(("must", "should", "may", "avoid")))
    options: tuple[str, ...] = ()
    span, scale = None, None
    if decision.kind in ("list", "ordered"):
        options = (draw(st.sampled_from(decision.options)),)
    else:
        low, high = sorted((draw(st.sampled_from(NUMBERS)), draw(st.sampled_from(NUMBERS))))
        span, scale = Span(low=low, high=high), "P" if decision.kind == "grade" else None
    return Advice.model_validate(
        {
            "strength": strength,
            "decision": decision.key,
            "options": options,
            "span": span,
            "scale": scale,
        }
    )


def _rule(
    number: int,
    when: tuple[Condition, ...],
    unless: tuple[Condition, ...],
    then: tuple[Any, ...],
    concern: str,
    overrides: tuple[str, ...] = (),
) -> Rule:
    return Rule.model_validate(
        {
            "id": f"case-{number}",
            "title": "A case",
            "when": when,
            "unless": unless,
            "then": then,
            "concern": concern,
            "because": "It is so.",
            "not_for": "Other cases.",
            "source": (Citation(source="common-practice"),),
            "overrides": overrides,
            "examples": (Example(given={}, expect="silent"),),
            "topic": "drawn",
            "place": f"rules.yaml:{number}:1",
        }
    )


@st.composite
def rule_bases(draw: st.DrawFn, most: int = 14) -> tuple[Words, Knowledge]:
    """A vocabulary with rules that chain, go round in a circle, silence and strike one another."""
    drawn = draw(words())
    rules: list[Rule] = []
    for number in range(draw(st.integers(1, most))):
        concluding = draw(st.booleans())
        rules.append(draw(_concluding(drawn, number) if concluding else _advising(drawn, number, rules)))
    return drawn, knowledge_of(rules, drawn.vocabulary)


@st.composite
def situations(draw: st.DrawFn, words: Words) -> dict[str, Value | None]:
    """A total situation in which anything may be unknown; nothing is concluded yet."""
    facts: dict[str, Value | None] = dict.fromkeys(words.vocabulary.testable)
    for key in (*words.given, *words.vocabulary.decisions):
        facts[key] = draw(st.one_of(st.none(), values_of(words.vocabulary.testable[key])))
    return facts


def conjunctions(most_properties: int = 130, most_rules: int = 40) -> st.SearchStrategy[list[Conjunction]]:
    """Rules as the matchers see them, over more properties than one ruleset bears."""
    bits = st.lists(st.integers(0, most_properties - 1), min_size=0, max_size=5, unique=True)
    masks = bits.map(lambda places: sum(1 << place for place in places))
    return st.lists(masks, min_size=1, max_size=most_rules).map(
        lambda needs: [Conjunction(number, mask) for number, mask in enumerate(needs)]
    )


# ---------------------------------------------------------------- advice as the choices hear it

OPTIONS = ("J", "X", "Y", "YY")


@st.composite
def listed_advice(draw: st.DrawFn, most: int = 8, strengths: Sequence[str] = ()) -> list[Spoken]:
    """Fired advice on a list decision; what must be and what never may be keeps to the four concerns."""
    spoken = []
    for number in range(draw(st.integers(0, most))):
        strength = draw(
            st.sampled_from(strengths or ("must", "should", "should", "may", "avoid", "avoid", "never"))
        )
        options = draw(st.lists(st.sampled_from(OPTIONS), min_size=1, max_size=3, unique=True))
        advice = Advice.model_validate({"strength": strength, "decision": "backing", "options": options})
        spoken.append(Spoken(_speaker(number, draw(_concern(strength)), advice), advice))
    return spoken


@st.composite
def range_advice(draw: st.DrawFn, most: int = 7, strengths: Sequence[str] = ()) -> list[Spoken]:
    """Fired advice on a stretch from 0 to 10, with windows, open ends and aims."""
    spoken = []
    for number in range(draw(st.integers(0, most))):
        strength = draw(st.sampled_from(strengths or ("must", "should", "should", "may", "avoid", "never")))
        low, high = sorted((draw(st.integers(0, 10)), draw(st.integers(0, 10))))
        shape = draw(st.sampled_from(("both", "low", "high") if strength != "never" else ("low", "high")))
        aims = ("low", "middle", "high", None) if strength in ("must", "should", "may") else (None,)
        advice = Advice.model_validate(
            {
                "strength": strength,
                "decision": "speed",
                "aim": draw(st.sampled_from(aims)),
                "span": {
                    "low": float(low) if shape != "high" else None,
                    "high": float(high) if shape != "low" else None,
                },
            }
        )
        spoken.append(Spoken(_speaker(number, draw(_concern(strength)), advice), advice))
    return spoken


def _concern(strength: str) -> st.SearchStrategy[str]:
    binding = strength in ("must", "never")
    return st.sampled_from([item for item in CONCERNS if not binding or item in BINDING_CONCERNS])


def _speaker(number: int, concern: str, advice: Advice) -> Rule:
    return _rule(number, (), (), (advice,), concern)


# ---------------------------------------------------------------- whole jobs on the packaged knowledge


@st.composite
def swept_jobs(draw: st.DrawFn) -> Job:
    """A job of one standard face: any family, defect, shape, finish and packaged cell, plan or no plan."""
    knowledge = load_knowledge()
    grid = Grid.of(knowledge)
    combination = Combination(
        draw(st.sampled_from(tuple(grid.families))),
        draw(st.sampled_from(grid.defects)),
        draw(st.sampled_from(grid.shapes)),
        draw(st.sampled_from(grid.finishes)),
    )
    cell = knowledge.tables.cells[draw(st.sampled_from(grid.cells))]
    return FaceMaker(knowledge).job(combination, grid.families[combination.family], cell)
