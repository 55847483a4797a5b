"""A trial back into the form of a trial file, in base units: read again it is the same trial."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any

from advisor.job.write import to_json as job_json
from advisor.trials.fields import USED_FIELDS, UsedField
from advisor.trials.model import Trial
from advisor.units import quantity_text

_ID_DIGITS = 12
_STORED = b'"stored": '


def to_plain(trial: Trial) -> dict[str, Any]:
    """The trial as a plain mapping that is itself a valid trial file, with its job inline."""
    used = {field.key: _used(field, getattr(trial.used, field.attribute)) for field in USED_FIELDS}
    incoming, measured, reading = trial.incoming, trial.measured, trial.roughness
    return _without_gaps(
        {
            "job": job_json(trial.job),
            "feature": trial.feature,
            "step": trial.step,
            "extra": trial.extra or None,
            "used": _without_gaps(used),
            "incoming": _without_gaps(
                {
                    "defect": incoming.defect,
                    "depth": _quantity(incoming.depth_mm, "mm"),
                    "ra": _quantity(incoming.ra_um, "um"),
                    "grade": incoming.grade,
                }
            ),
            "measured": _without_gaps(
                {
                    "ra": _quantity(measured.ra_um, "um"),
                    "removal": _quantity(measured.removal_um, "um"),
                    "time": _quantity(measured.time_s, "s"),
                    "parts_per_media": _number(measured.parts_per_media),
                }
            ),
            "roughness": _without_gaps(
                {"cutoff": _quantity(reading.cutoff_mm, "mm"), "direction": reading.direction}
            ),
            "symptoms": list(trial.symptoms),
            "verdict": trial.verdict,
            "by": trial.by,
            "date": trial.date,
            "note": trial.note,
            "photos": list(trial.photos),
            "followed": list(trial.followed),
            "corrects": trial.corrects,
            "stored": trial.stored,
        }
    )


def file_text(content: Mapping[str, Any]) -> str:
    """The text of a stored trial: JSON, which is YAML too, with one field a line."""
    lines = [f"{_dump(key)}: {_dump(value)}" for key, value in content.items()]
    return "{\n" + ",\n".join(lines) + "\n}\n"


def identity(text: str | bytes) -> str:
    """The id of a stored text: the first digits of its SHA-256, after a letter so that it stays text.

    The line that says when it was stored does not count, so the same trial handed in twice has one id,
    and two different trials never share one by an accident of timing.

    >>> one, two = (file_text({"step": 1, "verdict": "pass", "stored": day}) for day in ("Monday", "Tuesday"))
    >>> identity(one) == identity(two), identity(one) == identity(file_text({"step": 2, "verdict": "pass"}))
    (True, False)
    """
    data = text.encode() if isinstance(text, str) else text
    counted = [line for line in data.split(b"\n") if not line.startswith(_STORED)]
    # The line before has a comma only where the moment follows it.
    return "t" + hashlib.sha256(b"\n".join(counted).replace(b",\n}", b"\n}")).hexdigest()[:_ID_DIGITS]


def _dump(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False)


def _without_gaps(mapping: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in mapping.items() if value is not None and value not in ({}, [])}


def _used(field: UsedField, value: Any) -> Any:
    if value is None or field.kind in ("choice", "text", "whole"):
        return value
    return quantity_text(value, field.unit) if field.kind == "quantity" else _number(value)


def _quantity(value: float | None, unit: str) -> str | None:
    return None if value is None else quantity_text(value, unit)


def _number(value: float | None) -> int | float | None:
    return None if value is None else int(value) if value == int(value) else value
