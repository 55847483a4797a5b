"""Weighs one change of one setting: is it allowed here, what should come of it, and what has to follow it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from advisor.inference.tests import conjunction
from advisor.knowledge.rules import Rule
from advisor.knowledge.vocabulary import Value
from advisor.trials.advice import Expected, Miss, Move, Refused
from advisor.trials.case import Case
from advisor.trials.chance import chance_within
from advisor.trials.run import Barred, Run
from advisor.trials.settings import Setting, setting

#: The 5th and 95th percentile of a normal lie this many deviations from its middle.
_ENDS = 1.6448536269514722
#: Settings that are moved without passes having to follow: they are themselves about how much comes off.
_OWN_STOCK = ("passes", "feed", "surface_speed", "overlap")
_MOST_WATCHED = 2
_UP, _DOWN = ("higher", "harder", "finer"), ("lower", "softer", "coarser")
_NOT_SET = ("handling", "pressure", "accepts", "jump")


@dataclass(frozen=True, slots=True)
class Ranked:
    """A move with its place (lower comes first), and how it was weighed where it is a setting of this step."""

    place: tuple[float, ...]
    move: Move
    weighed: Weighed | None = None


@dataclass(frozen=True, slots=True)
class Weighed:
    """A change that is allowed: the set-up after it, what goes with it, and how likely it meets the miss."""

    setting: Setting
    run: Run
    with_it: tuple[Setting, ...]
    ra: tuple[float, float] | None
    removal: tuple[float, float]
    chance: float | None


def weigh(case: Case, base: Run, decision: str, value: Value, miss: Miss | None) -> Weighed | Refused:
    """The change held against rules, limits and cautions, and against what was missed."""
    asked = {key: each for key, each in base.values.items() if each is not None and key not in _NOT_SET}
    asked |= {decision: value, "passes": float(base.passes) if decision != "passes" else value}
    if decision == "media":  # another media brings its own grain, grade, backing, force and speed
        asked = {"media": value}
    one = case.run_of(asked)
    moved = setting(case, decision, value, base)
    refused = _forbidden(case, base, one, moved)
    if refused is not None or isinstance(one, Barred):
        return refused or Refused(do=moved.shown, because="", kind="forbidden")
    follow: tuple[Setting, ...] = ()
    if decision not in _OWN_STOCK and miss is not None and miss.what == "roughness":
        passes = _passes_to_follow(case, one)
        if passes > one.passes:
            again = case.run_of({**asked, "passes": float(passes)})
            stopped = _forbidden(case, base, again, moved)
            if stopped is not None or isinstance(again, Barred):
                because = f"it would take {passes} passes until the lines of the step before are gone"
                return Refused(do=title_of(case, base, moved), because=because, kind="no room")
            one, follow = again, (setting(case, "passes", float(passes), base),)
    ra, removal = case.expected_ra(one), case.expected_removal(one)
    return Weighed(moved, one, follow, ra, removal, chance_of(miss, case, ra, removal))


def chance_of(
    miss: Miss | None, case: Case, ra: tuple[float, float] | None, removal: tuple[float, float]
) -> float | None:
    """How likely a set-up meets what was missed, and on the last step the finish too; None without a number."""
    if miss is None or miss.high is None:
        return None
    target = case.trial.face.finish
    rough = 1.0
    if ra is not None and case.bench.last:
        rough = chance_within(target.ra_low_um, target.ra_high_um, *ra)
    if miss.what == "roughness":
        return None if ra is None else chance_within(miss.low or 0.0, miss.high, *ra)
    return rough * chance_within(miss.low or 0.0, miss.high, *removal)


def _passes_to_follow(case: Case, one: Run) -> int:
    """How many passes the set-up needs until the scratch of the step before is gone."""
    need = case.need_um(one)
    expected, _ = case.expected_removal(one)
    if need is None or expected <= 0 or expected >= 0.95 * need:
        return one.passes
    return math.ceil(one.passes * need / expected - 1e-9)


def _forbidden(case: Case, base: Run, one: Run | Barred, moved: Setting) -> Refused | None:
    """What forbids the changed set-up and did not forbid the one that was run."""
    do = title_of(case, base, moved)
    settled = ("media", "grain", "grade", "passes")
    if isinstance(one, Run) and moved.decision not in settled and moved.decision not in one.choices:
        return Refused(do=do, because="this media has no such setting", kind="no room")
    known = {(each.rule, each.limit) for each in base.obstacles}
    fresh = [each for each in one.obstacles if (each.rule, each.limit) not in known]
    if fresh:
        return Refused(do=do, because=fresh[0].text, kind="forbidden", rule=fresh[0].rule)
    if isinstance(one, Run):
        new = sorted(one.cautions - base.cautions)
        if new:
            rule = case.desk.knowledge.rule[new[0]]
            because = f"it would bring on a safety caution: {rule.notes('caution')[0].text}"
            return Refused(do=do, because=because, kind="forbidden", rule=rule.id)
    return None


def title_of(case: Case, base: Run, moved: Setting) -> str:
    """The change in words: what is moved, from what, to what."""
    decision = case.desk.decider.vocabulary.decisions[moved.decision]
    title = "force" if moved.decision == "force" else decision.title
    now = now_of(case, base, moved.decision)
    if moved.decision == "grade" and base.grade is not None and now is not None:
        other = case.desk.decider.vocabulary.grades[str(moved.value)]
        return f"Go {'finer' if other.um < base.grade.um else 'coarser'}, from {now.shown} to {moved.shown}"
    if now is None:
        return f"Set the {title} to {moved.shown}"
    if isinstance(moved.value, (int, float)) and isinstance(now.value, (int, float)):
        verb = "Raise" if moved.value > now.value else "Lower"
        if moved.decision == "wheel_hardness":
            verb = "Take a harder wheel:" if moved.value > now.value else "Take a softer wheel:"
            return f"{verb} {moved.shown} instead of {now.shown}"
        if moved.decision == "passes":
            verb = "Make more" if moved.value > now.value else "Make fewer"
            return f"{verb} passes: {moved.shown} instead of {now.shown}"
        return f"{verb} the {title} from {now.shown} to {moved.shown}"
    return f"Change the {title} from {now.shown} to {moved.shown}"


def now_of(case: Case, base: Run, decision: str) -> Setting | None:
    """The value of today."""
    value = float(base.passes) if decision == "passes" else base.values.get(decision)
    return None if value is None else setting(case, decision, value, base)


def as_move(
    case: Case, base: Run, weighed: Weighed, against: str, why: str, rule: Rule | None, source: str | None
) -> Move:
    """An allowed change as advice."""
    now = now_of(case, base, weighed.setting.decision)
    changed = (weighed.setting, *weighed.with_it)
    numbers = case.trial.measured
    shows_ra = weighed.ra is not None and weighed.chance is not None
    return Move(
        against=against,
        decision=weighed.setting.decision,
        do=title_of(case, base, weighed.setting),
        now=now.shown if now else None,
        to=weighed.setting.shown,
        settings={each.key: each.written for each in changed},
        with_it=tuple(f"{each.shown}, so that the lines of the step before go" for each in weighed.with_it),
        why=why,
        rule=rule.id if rule else None,
        source=source,
        watch=tuple(watched(case, base, weighed)),
        ra_um=band_of(weighed.ra) if weighed.ra and shows_ra else None,
        removal_um=band_of(weighed.removal) if numbers.removal_um is not None else None,
        chance=None if weighed.chance is None else round(weighed.chance, 3),
    )


def band_of(value: tuple[float, float]) -> Expected:
    """A reading as a band: 9 in 10 between the ends."""
    expected, spread = value
    far = math.exp(_ENDS * spread)
    return Expected(low=expected / far, expected=expected, high=expected * far)


def direction_of(case: Case, base: Run, decision: str, value: Value) -> str | None:
    """Whether a change goes up (more, harder, finer) or down; None where there is no order."""
    today = float(base.passes) if decision == "passes" else base.values.get(decision)
    if decision == "grade" and base.grade is not None:
        return "up" if case.desk.decider.vocabulary.grades[str(value)].um < base.grade.um else "down"
    if isinstance(value, (int, float)) and isinstance(today, (int, float)) and value != today:
        return "up" if value > today else "down"
    return None


def watched(case: Case, base: Run, weighed: Weighed) -> Iterator[str]:
    """Signs that the change went too far: those whose own remedy is the opposite change."""
    decision, value = weighed.setting.decision, weighed.setting.value
    way = direction_of(case, base, decision, value)
    if way is None:
        return
    back = _DOWN if way == "up" else _UP
    knowledge, facts = case.desk.knowledge, weighed.run.facts
    rows = knowledge.tables.symptoms
    found = []
    for rule in knowledge.rules:
        if not any(note.change.get(decision) in back for note in rule.notes("remedy")):
            continue
        for key in _symptoms_of(rule):
            row = rows.get(key)
            fits = row is not None and (
                (not row.media or facts["media"] in row.media)
                and (not row.stages or facts["stage"] in row.stages)
                and (not row.groups or facts["alloy.group"] in row.groups)
            )
            if fits and row is not None and row not in found and key not in case.trial.symptoms:
                situation = {**facts, "symptom": key}
                if conjunction(rule.when, situation, knowledge.vocabulary) == "yes":
                    found.append(row)
    for row in sorted(found, key=lambda each: each.order)[:_MOST_WATCHED]:
        yield f"{row.name}: {row.looks_like}"


def _symptoms_of(rule: Rule) -> Sequence[str]:
    return [str(each) for item in rule.when if item.attribute == "symptom" for each in item.operand]
