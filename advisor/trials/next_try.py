"""What to change for the next try: one thing at a time, in order of promise, and never the same twice."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from advisor.knowledge.rules import Rule
from advisor.knowledge.vocabulary import Value
from advisor.pipeline import Desk
from advisor.sheet.explain import Explainer
from advisor.trials.advice import Advice, Miss, Move, Refused, Tried
from advisor.trials.bench import open_bench
from advisor.trials.binding import safety_cautions
from advisor.trials.by_numbers import by_numbers, place_of
from advisor.trials.case import Case, open_case
from advisor.trials.log import Log
from advisor.trials.misses import NUMBER_OF, misses
from advisor.trials.model import Trial
from advisor.trials.remedies import remedies, ways_asked
from advisor.trials.run import Barred, Run, SetUp
from advisor.trials.show import measured_words, set_up_words
from advisor.trials.weigh import Ranked, direction_of, now_of
from advisor.units import show

#: Two values of a setting closer than this share are the same setting.
_SAME = 0.03
#: What makes a set-up another one.
_COUNTED = (
    "media", "grain", "grade", "backing", "wheel_hardness", "wheel_face", "lubricant", "direction", "force",
    "surface_speed", "feed", "overlap", "wheel_width",
)  # fmt: skip
_OPPOSITE = {"up": "down", "down": "up"}


def next_try(trial: Trial, log: Log, desk: Desk) -> Advice:
    """The advice for the try after this one. Raises InputError where the sheet has no such step."""
    case = open_case(open_bench(trial, desk), log)
    base = case.base
    found = tuple(misses(case, base if isinstance(base, Run) else None))
    advice = Advice(
        trial=trial.id,
        job=trial.job.name,
        feature=trial.feature,
        step=trial.step,
        extra=trial.extra,
        failed=trial.failed,
        cautions=tuple(_cautions(case, base)),
        missed=found,
        tried=tuple(_tried(case)),
        remarks=tuple(_remarks(case, base, found)),
    )
    if isinstance(base, Barred):
        return advice
    ranked: list[Ranked] = []
    refused: list[Refused] = []
    for item in _all(case, base, found):
        kept = item if isinstance(item, Refused) else _seen_before(case, base, item) or item
        if isinstance(kept, Refused):
            refused.append(kept)
        else:
            ranked.append(kept)
    ranked.sort(key=lambda each: each.place)
    return advice.model_copy(
        update={"moves": tuple(_once(ranked)), "not_offered": tuple(dict.fromkeys(refused))}
    )


def _all(case: Case, base: Run, found: Sequence[Miss]) -> Iterator[Ranked | Refused]:
    """Every move and every refusal; what a sign and a number both ask for is told once, with the number."""
    numbers = {miss.what: miss for miss in found if miss.what != "symptom"}
    told = set()
    for miss in found:
        if miss.symptom is None:
            continue
        number = numbers.get(NUMBER_OF[miss.symptom]) if miss.symptom in NUMBER_OF else None
        for item in remedies(case, base, miss, number):
            if isinstance(item, Ranked) and number is not None and item.move.chance is not None:
                told.add(item.move.decision)
                as_number = item.move.model_copy(update={"against": number.what})
                yield replace(item, place=place_of(case, as_number, 0))
            else:
                yield item
    signs = [miss for miss in found if miss.symptom is not None and miss.symptom not in NUMBER_OF]
    asked = [(sign, *way) for sign in signs for way in ways_asked(case, base, sign)]
    for miss in numbers.values():
        for item in by_numbers(case, base, miss):
            if isinstance(item, Refused) or item.move.decision not in told:
                yield item if isinstance(item, Refused) else _against_a_sign(case, base, item, asked) or item


def _against_a_sign(
    case: Case, base: Run, item: Ranked, asked: Sequence[tuple[Miss, str, str, Rule]]
) -> Refused | None:
    """The refusal of a change that a number asks for, where a sign that was seen asks for the opposite."""
    if item.weighed is None:
        return None
    decision, value = item.weighed.setting.decision, item.weighed.setting.value
    way = direction_of(case, base, decision, value)
    ways = {(each, asks): (sign, rule) for sign, each, asks, rule in asked}
    if way is None or (decision, way) in ways or (decision, _OPPOSITE[way]) not in ways:
        return None
    sign, rule = ways[decision, _OPPOSITE[way]]
    because = f"what was seen ({sign.text.partition(':')[0]}) asks for the opposite"
    return Refused(do=item.move.do, because=because, kind="forbidden", rule=rule.id)


def _once(ranked: Iterable[Ranked]) -> Iterator[Move]:
    """Each change once, at the place where it promises most."""
    seen = set()
    for item in ranked:
        key = (item.move.do, tuple(sorted(item.move.settings.items())))
        if key not in seen:
            seen.add(key)
            yield item.move


def _seen_before(case: Case, base: Run, item: Ranked) -> Refused | None:
    """The refusal of a change that was tried on this job already, with what came of it."""
    move, weighed = item.move, item.weighed
    if weighed is None:
        done = [trial for trial in case.tries if move.rule and move.rule in trial.followed]
        return _refusal(move, done[-1], "was done") if done else None
    decision, value = weighed.setting.decision, weighed.setting.value
    for trial in case.tries:
        signed = move.chance is None and move.against in trial.symptoms
        if trial.id == case.trial.id or not (signed or _may_be(case.asked(trial), weighed.run)):
            continue
        one = case.ran(trial)
        if isinstance(one, Barred):
            continue
        if _same(one, weighed.run):
            return _refusal(move, trial, "was tried")
        old, new = now_of(case, one, decision), now_of(case, base, decision)
        if not signed or old is None or new is None:
            continue
        gone = direction_of(case, one, decision, new.value)  # the way from that try to this one
        if gone is not None and gone == direction_of(case, base, decision, value):
            return _refusal(
                move, trial, "is the way that was gone since then, and the sign stayed: it was there"
            )
    return None


def _may_be(asked: SetUp, other: Run) -> bool:
    """Whether a try can be the same as a set-up, told from what was set alone; the rest need not be worked out."""
    written = [key for key in _COUNTED if asked.get(key) is not None]
    return all(_alike(asked[key], other.values.get(key)) for key in written)


def _same(one: Run, other: Run) -> bool:
    """Whether two set-ups are the same to anyone at the machine."""
    alike = all(_alike(one.values.get(key), other.values.get(key)) for key in _COUNTED)
    return alike and one.passes == other.passes


def _alike(old: Value | None, new: Value | None) -> bool:
    if isinstance(old, (int, float)) and isinstance(new, (int, float)):
        return abs(old - new) <= _SAME * max(abs(old), abs(new))
    return old == new


def _refusal(move: Move, trial: Trial, how: str) -> Refused:
    found = ", ".join([*measured_words(trial), *trial.symptoms]) or "nothing was written down"
    because = f"it {how} in trial {trial.id} ({trial.verdict}: {found})"
    return Refused(do=move.do, because=because, kind="tried", rule=move.rule, trial=trial.id)


def _tried(case: Case) -> Iterator[Tried]:
    for trial in case.tries:
        found = ", ".join([*measured_words(trial), *trial.symptoms])
        yield Tried(
            trial=trial.id, date=trial.when[0] or None, set_up=set_up_words(trial), found=found, verdict=trial.verdict
        )


def _cautions(case: Case, base: Run | Barred) -> Iterator[str]:
    """The safety cautions of the step; they come first and cannot be switched off."""
    facts = base.facts if isinstance(base, Run) else case.bench.step.candidate.situation
    explain = Explainer(case.desk.knowledge)
    for rule in safety_cautions(case.desk, dict(facts)):
        for note in rule.notes("caution"):
            yield explain.sentence(note.text, facts)


def _remarks(case: Case, base: Run | Barred, found: Sequence[Miss]) -> Iterator[str]:
    for each in base.obstacles:
        yield f"What was tried goes against something here: {each.text}"
    if isinstance(base, Barred):
        yield "So no change of it can be checked against the limits of this cell; none is offered."
        return
    slipped = list(case.slips(base))
    for what, reading, expected in slipped:
        said = f"Ra {show(reading, 'um')}" if what == "roughness" else f"{show(reading, 'um')} taken off"
        yield (
            f"{said} cannot be of this set-up: about {show(expected, 'um')} is expected. Look at the unit, the grade "
            "and the gauge, measure again, and correct the trial; until then this reading counts for nothing here."
        )
    if found or slipped:
        return
    if case.trial.failed:
        yield (
            "The trial failed, but nothing says how: measure Ra or the depth, or name what it looked like "
            "(symptoms), in a new trial that corrects this one."
        )
    else:
        yield "Nothing was missed: keep this set-up."
