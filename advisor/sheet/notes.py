"""The sentences that rules add to the sheet: cautions, checks, remedies, and what comes after."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from advisor.inference.engine import Engine
from advisor.inference.tests import Situation
from advisor.knowledge.places import NOTES
from advisor.knowledge.reference import Symptom
from advisor.knowledge.rules import NoteKind, Rule
from advisor.knowledge.vocabulary import CONCERNS, Concern
from advisor.reasons import Trail
from advisor.sheet.explain import Explainer
from advisor.sheet.model import Note
from advisor.situations import Facts

#: How many checks and how many symptoms a step shows; a longer list is not read at the machine.
MOST_CHECKS = 4
MOST_SYMPTOMS = 3
_OF_THIS_METAL = ("alloy.", "dust.", "coating.")


@dataclass(frozen=True, slots=True)
class StepNotes:
    """What a technician looks for before going on, and what to do if it looks otherwise."""

    checks: tuple[str, ...]
    remedies: tuple[str, ...]


def step_notes(engine: Engine, situation: Facts, explain: Explainer) -> StepNotes:
    """The checks of a step, and remedies for the signs of trouble looked for first with its media."""
    checks = [
        explain.sentence(note.text, situation)
        for rule in _fired(engine, situation)
        for note in rule.notes("check")
    ]
    remedies = []
    for symptom in _watched(engine, situation):
        said = _remedies(engine, {**situation, "symptom": symptom.key}, explain)
        if said:
            remedies.append(f"{symptom.looks_like.rstrip('.')}: {' '.join(said[:2])}")
        if len(remedies) == MOST_SYMPTOMS:
            break
    return StepNotes(tuple(dict.fromkeys(checks))[:MOST_CHECKS], tuple(remedies))


def _fired(engine: Engine, situation: Situation) -> tuple[Rule, ...]:
    return engine.rules(NOTES, engine.signature(NOTES, situation))


def _watched(engine: Engine, situation: Situation) -> list[Symptom]:
    """Symptoms that can show with this media, stage and metal, first things first."""
    rows = [row for row in engine.knowledge.tables.symptoms.values() if _can_show(row, situation)]
    own = [row for row in rows if row.media or row.stages]  # what can show anywhere says nothing of this step
    return sorted(own, key=lambda row: row.order)


def _can_show(row: Symptom, situation: Situation) -> bool:
    return (
        (not row.media or situation["media"] in row.media)
        and (not row.stages or situation["stage"] in row.stages)
        and (not row.groups or situation["alloy.group"] in row.groups)
    )


def symptoms(engine: Engine, situations: Iterable[Facts]) -> tuple[str, ...]:
    """The keys of all signs of trouble that can show in some of these steps, first things first."""
    steps = [situation for situation in situations if situation.get("media")]
    rows = engine.knowledge.tables.symptoms.values()
    seen = [row for row in rows if any(_can_show(row, situation) for situation in steps)]
    return tuple(row.key for row in sorted(seen, key=lambda row: row.order))


def _remedies(engine: Engine, situation: Facts, explain: Explainer) -> list[str]:
    return [
        explain.sentence(note.text, situation)
        for rule in _fired(engine, situation)
        for note in rule.notes("remedy")
    ]


def gather(
    kind: NoteKind,
    engine: Engine,
    situations: Sequence[tuple[str, Facts]],
    explain: Explainer,
    trail: Trail,
    concerns: Sequence[Concern] = CONCERNS,
) -> tuple[Note, ...]:
    """Notes of one kind over the situations of all steps, each rule once, in order of concern.

    `situations` pairs the name of a feature with a situation; a note that holds for every feature
    names none.
    """
    features = list(dict.fromkeys(name for name, _ in situations))
    found: dict[tuple[str, str], tuple[Rule, Facts, list[str]]] = {}
    for name, situation in situations:
        for rule in _fired(engine, situation):
            for note in rule.notes(kind) if rule.concern in concerns else ():
                key = (rule.id, explain.sentence(note.text, situation))
                names = found.setdefault(key, (rule, situation, []))[2]
                if name not in names:
                    names.append(name)
    ranked = sorted(
        found.items(), key=lambda item: (CONCERNS.index(item[1][0].concern), _of_any_job(item[1][0]))
    )
    return tuple(
        _note(text, rule, situation, [] if len(names) == len(features) else names, explain, trail)
        for (_, text), (rule, situation, names) in ranked
    )


def _of_any_job(rule: Rule) -> bool:
    """Whether a note would hold for any metal: what this metal or its dust does is read first."""
    return not any(condition.attribute.startswith(_OF_THIS_METAL) for condition in rule.when)


def _note(
    text: str, rule: Rule, situation: Facts, features: Iterable[str], explain: Explainer, trail: Trail
) -> Note:
    reason = explain.ruled(rule, situation)
    return Note(
        text=text,
        rule=rule.id,
        source=reason.source,
        source_kind=reason.source_kind,
        features=tuple(features),
        reasons=trail.refer(reason),
    )
