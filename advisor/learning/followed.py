"""Which rules spoke on the set-up of a trial, and whether what was used is what they advise."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from advisor.knowledge.rules import Advice, Rule, Span
from advisor.knowledge.vocabulary import Value, Vocabulary
from advisor.learning.bench import Bench, Rig
from advisor.trials.model import Trial, Used

#: Decisions and what the trial says of them, as the facts name it. Force is per width there.
DECISIONS: Mapping[str, str] = {
    "media": "media", "grain": "grain", "grade": "grade", "build": "build", "coat": "coat",
    "top_coat": "top_coat", "backing": "backing", "wheel_cover": "wheel_cover",
    "wheel_hardness": "hardness_shore_a", "wheel_face": "wheel_face", "wheel_width": "wheel_width_mm",
    "wheel_edge": "wheel_edge_mm", "lubricant": "lubricant", "surface_speed": "surface_speed_m_s",
    "force": "force_n", "feed": "feed_mm_s", "direction": "direction", "overlap": "overlap_percent",
}  # fmt: skip
_AGAINST = ("avoid", "never")


@dataclass(frozen=True, slots=True)
class Heard:
    """A rule that spoke on a trial: whether it was followed, how the trial ended, and where it was.

    `wanted` tells whether the rule asked for what was used: to have left alone what it warns of is to
    follow it too, but says little for or against it.
    """

    rule: Rule
    trial: str
    when: tuple[str, str, str]
    followed: bool
    failed: bool
    where: Mapping[str, str]
    wanted: bool = True


def heard(trials: Iterable[Trial], bench: Bench) -> tuple[Heard, ...]:
    """Every rule that gave advice on what a trial wrote down, trial by trial.

    A rule with several pieces of advice is followed where all of them were that can be told. Not to do
    what a rule merely allows (`may`) is neither.
    """
    return tuple(item for trial in trials for item in _of_trial(trial, bench))


def _of_trial(trial: Trial, bench: Bench) -> Iterator[Heard]:
    rig = bench.rig(trial)
    if rig is None:
        return
    engine, vocabulary = bench.desk.decider.engine, bench.knowledge.vocabulary
    said: dict[str, tuple[Rule, list[bool]]] = {}
    wanted: set[str] = set()
    for decision, name in DECISIONS.items():
        if getattr(trial.used, name) is None:
            continue
        for rule in engine.rules(decision, engine.signature(decision, rig.facts)):
            for advice in rule.advice():
                if advice.decision == decision:
                    outcome = follows(advice, _value(decision, trial.used, rig), vocabulary)
                    if outcome and advice.strength not in _AGAINST:
                        wanted.add(rule.id)
                    if outcome is not None:
                        said.setdefault(rule.id, (rule, []))[1].append(outcome)
    where = where_of(trial)
    for rule, outcomes in said.values():
        yield Heard(rule, trial.id, trial.when, all(outcomes), trial.failed, where, rule.id in wanted)


def where_of(trial: Trial) -> Mapping[str, str]:
    """The alloy, shape and media of a trial, by the attribute that a rule would test."""
    return {
        "alloy.key": trial.job.alloy,
        "feature.shape": trial.face.shape,
        "media": trial.used.media,
    }


def _value(decision: str, used: Used, rig: Rig) -> Value:
    """What was used, in the unit that rules speak of."""
    value: Value = rig.setup.line_load / 1e3 if decision == "force" else getattr(used, DECISIONS[decision])
    return value


def follows(advice: Advice, value: Value, vocabulary: Vocabulary) -> bool | None:
    """Whether a value is what a piece of advice wants; None where it cannot be told.

    >>> from advisor.knowledge.load import load_knowledge
    >>> words = load_knowledge().vocabulary
    >>> light = Advice(strength="should", decision="backing", options=("J", "JF"))
    >>> follows(light, "J", words), follows(light, "X", words)
    (True, False)
    """
    if advice.span is not None:
        place = vocabulary.rank[str(value)] if advice.decision == "grade" else None
        if place is not None and advice.scale not in (None, place[0]):
            return None
        within = _inside(advice.span, float(place[1] if place is not None else value))
    elif advice.options:
        within = value in advice.options
    else:
        return None
    if advice.strength in _AGAINST:
        return not within
    return True if within else (None if advice.strength == "may" else False)


def _inside(span: Span, value: float) -> bool:
    """Whether a value lies in a stretch, a hair's breadth beyond its ends included."""
    hair = 1e-6 * max(1.0, abs(value))
    low = span.low is None or value > span.low - hair * (not span.low_open)
    high = span.high is None or value < span.high + hair * (not span.high_open)
    return low and high
