"""Trials in words and as JSON, for people and for programs."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from advisor.knowledge.base import Knowledge
from advisor.trials.fields import USED_FIELDS
from advisor.trials.log import Log
from advisor.trials.model import Trial
from advisor.trials.write import to_plain
from advisor.units import System, plain_number, show

_MEASURED = (
    ("ra_um", "um", "Ra"),
    ("removal_um", "um", "removed"),
    ("time_s", "s", "time"),
    ("parts_per_media", "1", "parts per media"),
)


def list_json(trials: Iterable[Trial], log: Log) -> str:
    """The trials as JSON, oldest first, each as its file says it, with its id and whether it stands."""
    return dumped([as_json(trial, log) for trial in trials])


def as_json(trial: Trial, log: Log) -> dict[str, Any]:
    """One trial as a mapping: what its file says, its id, and the id of the trial that corrects it."""
    return {"id": trial.id, **to_plain(trial), "corrected_by": log.corrected.get(trial.id)}


def dumped(value: Any) -> str:
    """A value as readable JSON with a final line feed."""
    return json.dumps(value, ensure_ascii=False, indent=1) + "\n"


def list_text(trials: Iterable[Trial], log: Log, system: System = "si") -> str:
    """One line a trial, oldest first."""
    lines = []
    for trial in trials:
        mark = "" if trial.id not in log.corrected else f" (corrected by {log.corrected[trial.id]})"
        found = ", ".join([*measured_words(trial, system), *trial.symptoms])
        lines.append(
            f"{trial.when[0] or 'no date':<10}  {trial.id}  {trial.verdict}  {trial.job.name}, "
            f"{trial.feature}, {trial.step_words}: {set_up_words(trial, system)}{f'; {found}' if found else ''}{mark}"
        )
    return "\n".join(lines) + "\n" if lines else "No trials yet.\n"


def set_up_words(trial: Trial, system: System = "si") -> str:
    """What was used, short."""
    used = trial.used
    figures = ((used.force_n, "N"), (used.surface_speed_m_s, "m/s"), (used.feed_mm_s, "mm/s"))
    parts = [" ".join(item for item in (used.media, used.grain, used.grade) if item)]
    parts += [show(value, unit, system) for value, unit in figures if value is not None]
    parts += [f"{used.passes} passes"] if used.passes else []
    return ", ".join(parts)


def measured_words(trial: Trial, system: System = "si") -> Iterator[str]:
    """What was measured, one reading after another."""
    for attribute, unit, name in _MEASURED:
        value = getattr(trial.measured, attribute)
        if value is not None:
            yield f"{name} {show(value, unit, system)}"


def trial_text(trial: Trial, log: Log, knowledge: Knowledge, system: System = "si") -> str:
    """A whole trial as a person reads it."""
    lines = [f"Trial {trial.id}: {trial.verdict}"]
    if trial.id in log.corrected:
        lines.append(f"Corrected by trial {log.corrected[trial.id]}; this one no longer counts.")
    if trial.corrects:
        lines.append(f"Corrects trial {trial.corrects}.")
    alloy = knowledge.tables.alloys[trial.job.alloy].name
    lines.append(f"Job {trial.job.name} ({alloy}), {trial.feature}, {trial.step_words}")
    day = " ".join(part for part in (trial.date or _undated(trial), f"by {trial.by}" if trial.by else "") if part)
    lines += [day, "", "Used"]
    lines += [f"  {title}: {text}" for title, text in used_words(trial, system)]
    incoming = trial.incoming
    came = [
        incoming.defect,
        incoming.depth_mm is not None and f"{show(incoming.depth_mm, 'mm', system)} deep",
        incoming.grade is not None and f"worked with {incoming.grade}",
        incoming.ra_um is not None and f"Ra {show(incoming.ra_um, 'um', system)}",
    ]
    if any(came):
        lines += ["", "Came with", "  " + ", ".join(str(part) for part in came if part)]
    measured = list(measured_words(trial, system))
    if measured:
        lines += ["", "Measured", *(f"  {text}" for text in measured)]
        lines += [f"  {text}" for text in _how(trial)]
    if trial.symptoms:
        rows: Mapping[str, Any] = knowledge.tables.symptoms
        lines += ["", "Seen"] + [
            f"  {rows[key].name} ({key}): {rows[key].looks_like}" for key in trial.symptoms
        ]
    if trial.note:
        lines += ["", "Note", f"  {trial.note}"]
    if trial.photos:
        lines += ["", "Photos", *(f"  {photo}" for photo in trial.photos)]
    return "\n".join(lines) + "\n"


def _undated(trial: Trial) -> str:
    return f"no date, stored on {trial.stored[:10]}" if trial.stored else "no date"


def used_words(trial: Trial, system: System = "si") -> Iterator[tuple[str, str]]:
    """Every setting that was written down, with its title and its value in words."""
    for field in USED_FIELDS:
        value = getattr(trial.used, field.attribute)
        if value is None:
            continue
        if field.kind == "quantity":
            yield field.title, show(value, field.unit, system)
        elif isinstance(value, (int, float)):
            yield field.title, f"{plain_number(value)} {field.unit}".strip()
        else:
            yield field.title, str(value)


def _how(trial: Trial) -> Iterator[str]:
    if trial.measured.ra_um is None:
        return
    reading = trial.roughness
    cutoff = f"cut-off {plain_number(reading.cutoff_mm)} mm" if reading.cutoff_mm else "cut-off not known"
    direction = f"{reading.direction} the lay" if reading.direction else "direction not known"
    yield f"({cutoff}, {direction})"
