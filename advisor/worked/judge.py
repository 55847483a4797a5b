"""Holds a sheet against what a worked job expects of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from advisor.errors import Problem, shorten
from advisor.sheet.model import Feature, Note, Sheet
from advisor.sheet.step import Step
from advisor.units import figure
from advisor.worked.facts import holds
from advisor.worked.model import Expectation, Fact, Worked

Value = str | float | None


def judge(worked: Worked, sheet: Sheet) -> list[Problem]:
    """Every expectation that the sheet does not meet, in the order of the file; none where all is well."""
    problems: list[Problem] = []
    for expectation in worked.expect:
        wanted = expectation.feature
        features = [item for item in sheet.features if wanted in (None, item.name)]
        if expectation.step is None:
            problems += _judge_plan(expectation, features, sheet)
        else:
            for feature in features:
                problems += _judge_steps(expectation, feature)
    return problems


# ------------------------------------------------------------------ steps


def _judge_steps(expectation: Expectation, feature: Feature) -> list[Problem]:
    steps = _selected(expectation, feature)
    found: list[Problem] = []
    if expectation.must:
        found += _judge_must(expectation, feature, steps)
    for fact in expectation.may:
        wrong = [step for step in steps if value_of(fact.name, step) is not None and not _meets(fact, step)]
        if wrong:
            found.append(_problem(expectation, feature, f"only {fact} may come out", _shown([fact], wrong)))
    for fact in expectation.never:
        wrong = [step for step in steps if _meets(fact, step)]
        if wrong:
            found.append(_problem(expectation, feature, f"{fact} must not come out", _shown([fact], wrong)))
    return found


def _judge_must(expectation: Expectation, feature: Feature, steps: Sequence[Step]) -> list[Problem]:
    facts = expectation.must
    asked = " and ".join(map(str, facts))
    if not steps:
        what = f"there is no step that must have {asked}"
        return [_problem(expectation, feature, what, _plan(feature))]
    if expectation.step == "any":
        if any(_all(facts, step) for step in steps):
            return []
        return [_problem(expectation, feature, f"no step has {asked}", _shown(facts, steps))]
    found = []
    for fact in facts:
        wrong = [step for step in steps if not _meets(fact, step)]
        if wrong:
            found.append(_problem(expectation, feature, f"{fact} must come out", _shown([fact], wrong)))
    return found


def _selected(expectation: Expectation, feature: Feature) -> Sequence[Step]:
    steps = [step for step in feature.steps if _all(expectation.among, step)]
    if expectation.step == "first":
        return steps[:1]
    if expectation.step == "last":
        return steps[-1:]
    if expectation.step in ("any", "every"):
        return steps
    return [step for step in steps if step.stage == expectation.step]


def _all(facts: Iterable[Fact], step: Step) -> bool:
    return all(_meets(fact, step) for fact in facts)


def _meets(fact: Fact, step: Step) -> bool:
    return _holds(fact, value_of(fact.name, step))


def value_of(name: str, step: Step) -> Value:
    """What a step says of a fact, in the unit in which the file's values are kept; None where nothing."""
    wheel = step.wheel
    if name == "wheel_cover":
        return None if wheel is None else wheel.cover
    if name == "wheel_face":
        return None if wheel is None else wheel.face
    if name == "wheel_hardness":
        return None if wheel is None else wheel.hardness_shore_a
    if name == "surface_speed":
        return step.surface_speed_m_s
    if name == "force":
        return step.force_n
    if name == "ra":
        return None if step.ra_um is None else step.ra_um.expected
    value: Value = getattr(step, name)
    return value


def _holds(fact: Fact, value: Value) -> bool:
    if value is None:
        return False
    if fact.span is not None:
        return isinstance(value, (int, float)) and holds(fact.span, value)
    text = str(value)
    if fact.kind == "words":
        return any(option.casefold() in text.casefold() for option in fact.options)
    return text in fact.options


# ------------------------------------------------------------------ the plan as a whole


def _judge_plan(expectation: Expectation, features: Sequence[Feature], sheet: Sheet) -> list[Problem]:
    found: list[Problem] = []
    for word, facts in (
        ("must", expectation.must),
        ("may", expectation.may),
        ("never", expectation.never),
    ):
        for fact in facts:
            if fact.kind == "notes":
                found += _judge_notes(expectation, fact, word, features, sheet)
            elif fact.name == "handling":
                found += _judge_value(expectation, fact, word, sheet.handling.value, None)
            else:
                for feature in features:
                    value = _plan_value(fact.name, feature)
                    found += _judge_value(expectation, fact, word, value, feature)
    return found


def _judge_value(
    expectation: Expectation, fact: Fact, word: str, value: Value, feature: Feature | None
) -> list[Problem]:
    good = _holds(fact, value)
    fine = {"must": good, "may": good or value is None, "never": not good}[word]
    if fine:
        return []
    what = {"must": f"{fact} must come out", "may": f"only {fact} may come out"}
    shown = figure(value) if isinstance(value, (int, float)) else value
    return [_problem(expectation, feature, what.get(word, f"{fact} must not come out"), shown)]


def _plan_value(name: str, feature: Feature) -> Value:
    if name == "refused":
        return "false" if feature.steps else "true"
    if name == "steps":
        return len(feature.steps) or None
    sizes = [step.grain_um for step in feature.steps if step.grain_um is not None]
    return max((before / after for before, after in pairwise(sizes)), default=None)


def _judge_notes(
    expectation: Expectation, fact: Fact, word: str, features: Sequence[Feature], sheet: Sheet
) -> list[Problem]:
    notes = list(_notes(fact.name, features, sheet))
    problems = []
    for option in fact.options:
        said = next((text for rule, text in notes if option == rule or _within(option, text)), None)
        if (said is None) == (word == "must"):
            word_of = "is not said" if said is None else "must not be said"
            problems.append(_problem(expectation, None, f"{fact.name} '{option}' {word_of}", said))
    return problems


def _within(option: str, text: str) -> bool:
    return option.casefold() in text.casefold()


def _notes(name: str, features: Sequence[Feature], sheet: Sheet) -> Iterable[tuple[str | None, str]]:
    """The sentences of the sheet that a fact speaks of, each with the rule that says it."""
    if name == "assumed":
        return [(None, f"{said.field} {said.value} {said.why}") for said in sheet.assumed]
    if name == "blocked":
        return [(item.rule, f"{item.limit or ''} {item.text}") for feature in features for item in feature.blocked]
    if name == "check":
        steps = [step for feature in features for step in feature.steps]
        return [(None, text) for step in steps for text in (*step.go_on_when, *step.if_not)]
    told: dict[str, tuple[Note, ...]] = {
        "caution": (*sheet.cautions, *sheet.precautions),
        "outside": sheet.outside,
        "after": sheet.after,
    }
    names = {feature.name for feature in features}
    return [(note.rule, note.text) for note in told[name] if not note.features or names & set(note.features)]


# ------------------------------------------------------------------ words


def _problem(expectation: Expectation, feature: Feature | None, what: str, given: Value) -> Problem:
    where = f"{feature.name}: " if feature is not None else ""
    text = None if given is None else shorten(str(given), 200)
    return Problem(expectation.place, f"{where}{what} ({expectation.why})", given=text)


def _shown(facts: Sequence[Fact], steps: Sequence[Step]) -> str:
    return "; ".join(
        f"step {step.number} {step.stage}: " + ", ".join(_show(value_of(fact.name, step)) for fact in facts)
        for step in steps
    )


def _show(value: Value) -> str:
    if isinstance(value, (int, float)):
        return figure(value)
    return value or "nothing"


def _plan(feature: Feature) -> str:
    if feature.steps:
        return "; ".join(f"{step.stage} {step.media} {step.grade or ''}".strip() for step in feature.steps)
    return "no plan: " + "; ".join(item.text for item in feature.blocked)
