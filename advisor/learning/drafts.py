"""Drafts a rule out of a remedy that helped again and again: one change, and the symptom was gone."""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from advisor.knowledge.base import Knowledge
from advisor.knowledge.rules import Rule
from advisor.learning.chance import wilson
from advisor.trials.model import Trial, Used

#: So often must one change have taken a symptom away, on so many faces, before it is drafted.
FEWEST = 3
FACES = 2
_NUMBERS = {
    "force_n": "force", "surface_speed_m_s": "surface_speed", "feed_mm_s": "feed",
    "passes": "passes", "overlap_percent": "overlap",
}  # fmt: skip
_CHOICES = ("backing", "lubricant", "grain", "top_coat", "wheel_face", "wheel_cover", "direction")


@dataclass(frozen=True, slots=True)
class Remedy:
    """One change that was tried against a symptom on a media, and how often it took it away."""

    symptom: str
    media: str
    decision: str
    to: str  # lower | higher | finer | coarser | an option
    helped: tuple[tuple[str, str], ...]  # the trial before and the one after
    tried: int
    alloys: tuple[str, ...]

    @property
    def trials(self) -> tuple[str, ...]:
        """Every trial behind it."""
        return tuple(dict.fromkeys(trial for pair in self.helped for trial in pair))


def repeated(trials: Iterable[Trial], knowledge: Knowledge) -> Iterator[Remedy]:
    """Remedies that helped at least three times on two faces, and that no rule gives yet.

    A try counts where exactly one setting differs from the failed trial before it on the same step.
    """
    faces: dict[tuple[str, str, int, bool], list[Trial]] = defaultdict(list)
    for trial in sorted(trials, key=lambda item: item.when):
        faces[(trial.job.name, trial.feature, trial.step, trial.extra)].append(trial)
    tries: dict[tuple[str, str, str, str], list[tuple[Trial, Trial, bool]]] = defaultdict(list)
    for row in faces.values():
        for before, after in itertools.pairwise(row):
            change = _one_change(before.used, after.used, knowledge)
            if before.failed and change is not None:
                for symptom in before.symptoms:
                    gone = not after.failed and symptom not in after.symptoms
                    tries[(symptom, before.used.media, *change)].append((before, after, gone))
    for (symptom, media, decision, to), found in sorted(tries.items()):
        good = [(before, after) for before, after, gone in found if gone]
        places = {(before.job.name, before.feature) for before, _ in good}
        if len(good) < FEWEST or len(places) < FACES or wilson(len(good), len(found))[0] < 0.4:
            continue
        if not _known(symptom, media, decision, to, knowledge.rules):
            yield Remedy(
                symptom, media, decision, to,
                helped=tuple((before.id, after.id) for before, after in good),
                tried=len(found),
                alloys=tuple(sorted({before.job.alloy for before, _ in good})),
            )  # fmt: skip


def _one_change(before: Used, after: Used, knowledge: Knowledge) -> tuple[str, str] | None:
    """The decision and the direction in which two set-ups differ, where it is exactly one."""
    aside = {"media_age_parts", "media_lot"}
    differ = [
        name
        for name in Used.model_fields
        if name not in aside and getattr(before, name) != getattr(after, name)
    ]
    if len(differ) != 1:
        return None
    name = differ[0]
    old, new = getattr(before, name), getattr(after, name)
    if old is None or new is None:
        return None
    if name == "grade":
        sizes = [knowledge.tables.grades[key].um for key in (old, new)]
        return "grade", "finer" if sizes[1] < sizes[0] else "coarser"
    if name == "hardness_shore_a":
        return "wheel_hardness", "softer" if new < old else "harder"
    if name in _NUMBERS:
        return _NUMBERS[name], "lower" if new < old else "higher"
    return (name, new) if name in _CHOICES else None


def _known(symptom: str, media: str, decision: str, to: str, rules: Iterable[Rule]) -> bool:
    """Whether some rule gives this remedy already, for this media or for all."""
    for rule in rules:
        tests = {item.attribute: item for item in rule.when}
        named = tests.get("symptom")
        if named is None or symptom not in named.operand or rule.status == "retired":
            continue
        other = tests.get("media")
        if other is not None and (media in other.operand) != (other.operator == "in"):
            continue
        if any(note.change.get(decision) == to for note in rule.notes("remedy")):
            return True
    return False


def draft(remedy: Remedy, knowledge: Knowledge) -> tuple[str, str]:
    """The id and the YAML of the rule that a repeated remedy suggests, on trial."""
    tables = knowledge.tables
    symptom, media = tables.symptoms[remedy.symptom].name, tables.media[remedy.media].name
    title = knowledge.vocabulary.decisions[remedy.decision].title
    do = {
        "lower": f"Lower the {title}",
        "higher": f"Raise the {title}",
        "softer": "Take a softer wheel",
        "harder": "Take a harder wheel",
        "finer": "Take a finer grade",
        "coarser": "Take a coarser grade",
    }.get(remedy.to, f"Change the {title} to {remedy.to.replace('-', ' ')}")
    key = f"{remedy.symptom}-on-{remedy.media}-seen-here"
    number = 2
    while key in knowledge.rule:
        key, number = f"{remedy.symptom}-on-{remedy.media}-seen-here-{number}", number + 1
    alloys = ", ".join(tables.alloys[each].name for each in remedy.alloys)
    other = next(each for each in tables.symptoms if each != remedy.symptom)
    elsewhere = next(each for each in tables.media if each != remedy.media)
    text = f"""- rule: {key}
  title: {symptom[0].upper()}{symptom[1:]} on a {media}, as trials here showed
  when:
    symptom: {remedy.symptom}
    media: {remedy.media}
  then:
    - remedy: {do}, and change nothing else.
      change: {{{remedy.decision}: {remedy.to}}}
  concern: look
  because: In this shop that one change took it away again and again.
  not for: 'Metals on which nobody has tried it yet; tried on {alloys.replace("'", "''")}.'
  source: own-estimate
  status: on trial
  evidence: [{", ".join(remedy.trials)}]
  examples:
    - given: {{symptom: {remedy.symptom}, media: {remedy.media}}}
      expect: fires
    - given: {{symptom: {other}, media: {remedy.media}}}
      expect: silent
    - given: {{symptom: {remedy.symptom}, media: {elsewhere}}}
      expect: silent
"""
    return key, text
