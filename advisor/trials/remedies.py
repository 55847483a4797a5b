"""Changes that the rules advise against a symptom: taken apart into one setting each, and weighed."""

from __future__ import annotations

from collections.abc import Iterator

from advisor.knowledge.places import NOTES
from advisor.knowledge.rules import Rule
from advisor.knowledge.vocabulary import Value
from advisor.reasons import join_sources
from advisor.sheet.explain import Explainer
from advisor.trials.advice import Miss, Move, Refused
from advisor.trials.case import Case
from advisor.trials.run import Barred, Run
from advisor.trials.settings import choices_of
from advisor.trials.weigh import Ranked, Weighed, as_move, direction_of, now_of, weigh

_UP = {"higher": "up", "harder": "up", "finer": "up", "lower": "down", "softer": "down", "coarser": "down"}
#: By how much a setting is moved where nothing measured says how much; the symbols of the coefficients.
_SHARE = {"surface_speed": "one_try_speed", "overlap": "one_try_overlap"}
#: What a remedy says of the step before.
_BEFORE = ("jump", "accepts")


def remedies(case: Case, base: Run, miss: Miss, number: Miss | None) -> Iterator[Ranked | Refused]:
    """What the rules advise against one symptom, the most particular rule first, gentle things first.

    `number` is the miss of a reading that is the same trouble as the symptom; it then says how much.
    """
    knowledge, engine = case.desk.knowledge, case.desk.decider.engine
    situation = {**base.facts, "symptom": miss.symptom, "jump": _jump(case)}
    explain = Explainer(knowledge)
    fired = engine.rules(NOTES, engine.signature(NOTES, situation))
    speaking = [rule for rule in fired if any(each.attribute == "symptom" for each in rule.when)]
    order = knowledge.tables.symptoms[str(miss.symptom)].order
    for row, rule in enumerate(speaking):
        harm = 0.0 if rule.concern == "safety" else 1.0
        particular = -float(len(rule.when)) + (0.5 if rule.status == "on trial" else 0.0)
        why, source = (
            explain.sentence(rule.because, situation),
            join_sources([each.source for each in rule.source]),
        )
        for note in rule.notes("remedy"):
            said = explain.sentence(note.text, situation)
            if not note.change:
                move = Move(
                    against=str(miss.symptom), decision=None, do=said, why=why, rule=rule.id, source=source
                )
                yield Ranked((harm, order, 0.0 if row == 0 else 1.0, particular, row), move)
            for place, (decision, wanted) in enumerate(note.change.items()):
                found = _one(case, base, rule, decision, wanted, number)
                if isinstance(found, Refused):
                    yield found
                    continue
                told = {"against": str(miss.symptom), "why": f"{why} The rule says: {said}", "source": source}
                where = (harm, order, 0.0 if row == 0 else 1.0, particular + place, row)
                yield Ranked(where, found.move.model_copy(update=told), found.weighed)


def ways_asked(case: Case, base: Run, miss: Miss) -> Iterator[tuple[str, str, Rule]]:
    """Every setting that the rules would move against a symptom, with the way (up or down) and the rule."""
    engine = case.desk.decider.engine
    situation = {**base.facts, "symptom": miss.symptom, "jump": _jump(case)}
    for rule in engine.rules(NOTES, engine.signature(NOTES, situation)):
        if any(each.attribute == "symptom" for each in rule.when):
            for note in rule.notes("remedy"):
                for decision, wanted in note.change.items():
                    if wanted in _UP:
                        yield decision, _UP[wanted], rule


def _jump(case: Case) -> float | None:
    own, before = case.step.candidate.grade, case.step.before.grain
    return before / own.um if own is not None and before is not None else None


def _one(
    case: Case, base: Run, rule: Rule, decision: str, wanted: str, number: Miss | None
) -> Ranked | Refused:
    """One setting of a remedy, moved as far as the readings or one careful try say."""
    if decision in _BEFORE:
        return _step_before(case, rule, decision)
    way = _UP.get(wanted)
    declared = case.desk.decider.vocabulary.decisions[decision]
    if way is None:
        now = now_of(case, base, decision)
        if now is not None and now.value == wanted:
            return Refused(
                do=f"{declared.title}: {wanted}", because="that is what ran", kind="no room", rule=rule.id
            )
        weighed = weigh(case, base, decision, wanted, number)
        if isinstance(weighed, Refused):
            return weighed
        return _offered(case, base, weighed, rule)
    refused: Refused | None = None
    options = _along(case, base, decision, way)
    weighed_all = []
    for value in options:
        weighed = weigh(case, base, decision, value, number)
        if isinstance(weighed, Refused):
            refused = refused or weighed
            continue
        weighed_all.append(weighed)
        if number is None or (decision == "grade" and number.what == "removal"):
            break
    if not weighed_all:
        because = f"there is no room left to go {wanted}"
        title = "force" if decision == "force" else declared.title
        return refused or Refused(do=f"{title}: {wanted}", because=because, kind="no room", rule=rule.id)
    return _offered(case, base, max(weighed_all, key=lambda each: each.chance or 0.0), rule)


def _offered(case: Case, base: Run, weighed: Weighed, rule: Rule) -> Ranked:
    return Ranked((), as_move(case, base, weighed, "", "", rule, None), weighed)


def _along(case: Case, base: Run, decision: str, way: str) -> list[Value]:
    """The values to one side of today's, the one nearest to a careful try first."""
    values = case.values(base)
    today = now_of(case, base, decision)
    if decision in ("wheel_width", "wheel_edge", "overlap"):
        listed: tuple[Value, ...] = tuple(_aside(case, base, decision, way))
    else:
        listed = choices_of(case, decision, base)
    side = [value for value in listed if direction_of(case, base, decision, value) == way]
    if today is None or not isinstance(today.value, (int, float)):
        return side if way == "up" else side[::-1]
    share = float(values[_SHARE.get(decision, "one_try_share")])
    here = float(today.value)
    wanted = here * (1.0 + share) if way == "up" else here / (1.0 + share)
    if decision == "wheel_hardness":
        return sorted(side, key=lambda value: abs(float(value) - here))
    return sorted(side, key=lambda value: abs(float(value) - wanted))


def _aside(case: Case, base: Run, decision: str, way: str) -> Iterator[float]:
    """The next width, edge or overlap; these are few, or a small step on."""
    today = base.values.get(decision)
    if not isinstance(today, (int, float)):
        return
    sign = 1.0 if way == "up" else -1.0
    if decision == "overlap":
        low, high = base.tool.media.overlap_percent
        step = float(case.values(base)["one_try_overlap"]) * 100.0
        yield min(max(float(today) + sign * step, low), high)
    elif decision == "wheel_edge":
        low, high = base.tool.media.edge_mm or (0.0, 0.0)
        yield min(max(float(today) + sign, low), high)
    else:
        shelf = base.tool.station.wheel_width_mm or (6, 10, 12, 15, 20, 25, 30, 40, 50, 60, 75, 100)
        low, high = base.tool.media.width_mm
        fits = sorted(float(width) for width in shelf if low <= width <= high)
        nearer = [width for width in fits if (width - float(today)) * sign > 0]
        if nearer:
            yield nearer[0] if way == "up" else nearer[-1]


def _step_before(case: Case, rule: Rule, decision: str) -> Ranked | Refused:
    """A remedy in the step before: one grade between, or a finer one."""
    before, own = case.bench.before, case.step.candidate.grade
    do = (
        "Put one grade between this step and the one before"
        if decision == "jump"
        else "Finish the step before finer"
    )
    if before is None or before.candidate.grade is None or own is None:
        return Refused(do=do, because="there is no such step before this one", kind="no room", rule=rule.id)
    was = before.candidate.grade
    grades = [case.desk.knowledge.tables.grades[key] for key in before.candidate.tool.media.grades]
    between = [
        grade for grade in grades if grade.um < was.um and (decision == "accepts" or grade.um > own.um)
    ]
    if not between:
        because = f"there is no grade between {was.key} and {own.key}"
        return Refused(do=do, because=because, kind="no room", rule=rule.id)
    middle = (was.um * own.um) ** 0.5
    chosen = min(between, key=lambda grade: abs(grade.um - middle)) if decision == "jump" else between[0]
    other = case.before_with(chosen.key)
    if isinstance(other, Barred):
        return Refused(do=do, because=other.obstacles[0].text, kind="forbidden", rule=other.obstacles[0].rule)
    done = f"a step with {chosen.key} between {was.key} and {own.key}" if decision == "jump" else ""
    text = f"Put in {done}" if done else f"Finish the step before with {chosen.key} instead of {was.key}"
    move = Move(
        against="",
        decision=decision,
        do=text,
        now=was.key,
        to=chosen.key,
        why="",
        rule=rule.id,
        before={} if done else {"grade": chosen.key},
    )
    return Ranked((), move)
