"""Reads a sound trial quickly: base units, known words, nothing to be told.

Almost every file of a log is as the log wrote it, and needs no places for messages. Whatever looks otherwise
(another unit, a number too many, a word that the knowledge does not have) is left to the reader of trial
files, which takes it in or says what is wrong. What this one takes, that one takes too, and the same way.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from typing import Any

from advisor.job.model import Job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.entries import LONGEST_NAME, RANGES
from advisor.trials.fields import USED_FIELDS, options_of
from advisor.trials.model import Incoming, Measured, RoughnessReading, Trial, Used

FIRST_DAY = date(1980, 1, 1)  # nothing older is a trial of today's media
MOST_STEPS = 99
LONGEST_NOTE = 4000
LONGEST_PATH = 500
DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
MOMENT = re.compile(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}\.\d{6}Z", re.ASCII)
_KEYS = frozenset(
    ("feature", "step", "extra", "used", "incoming", "measured", "roughness", "symptoms", "verdict", "by", "date",
     "note", "photos", "followed", "corrects", "stored")
)  # fmt: skip
#: Section, key in the file -> attribute, row of the possible ranges, unit.
_QUANTITIES: Mapping[str, Mapping[str, tuple[str, str, str]]] = {
    "incoming": {"depth": ("depth_mm", "depth", "mm"), "ra": ("ra_um", "roughness", "um")},
    "measured": {
        "ra": ("ra_um", "roughness", "um"),
        "removal": ("removal_um", "removal", "um"),
        "time": ("time_s", "step_time", "s"),
    },
    "roughness": {"cutoff": ("cutoff_mm", "cutoff", "mm")},
}


#: Every field of a set-up, not known: a model whose fields are all given is made twice as fast.
_BARE: Mapping[str, Any] = dict.fromkeys(Used.model_fields)


class _OtherwiseError(Exception):
    """The content is not as the log writes it."""


class StoredReader:
    """Reads stored trials against one knowledge base."""

    def __init__(self, knowledge: Knowledge) -> None:
        tables = knowledge.tables
        self._needed = {key: (bool(row.grains), bool(row.grades)) for key, row in tables.media.items()}
        self._scale = {key: row.scale for key, row in tables.media.items()}
        self._grades = {key: row.scale for key, row in tables.grades.items()}
        self._symptoms = frozenset(tables.symptoms)
        self._defects = frozenset(tables.defects)
        self._fields = {field.key: (field, frozenset(options_of(field, knowledge))) for field in USED_FIELDS}

    def read(self, content: Mapping[str, Any], job: Job, identity: str, file: str) -> Trial | None:
        """The trial; None where the full reader has to look at it."""
        try:
            return self._read(content, job, identity, file)
        except (_OtherwiseError, KeyError, ValueError, TypeError, AttributeError):
            return None

    def _read(self, content: Mapping[str, Any], job: Job, identity: str, file: str) -> Trial:
        _hold(_KEYS.issuperset(content) and content["verdict"] in ("pass", "fail"))
        _hold(any(face.name == content["feature"] for face in job.features))
        extra = content.get("extra", False)
        _hold(type(content["step"]) is int and 1 - extra <= content["step"] <= MOST_STEPS)
        incoming = dict(content.get("incoming", {}))
        grade, defect = incoming.pop("grade", None), incoming.pop("defect", None)
        _hold((grade is None or grade in self._grades) and (defect is None or defect in self._defects))
        measured, reading = dict(content.get("measured", {})), dict(content.get("roughness", {}))
        parts, direction = measured.pop("parts_per_media", None), reading.pop("direction", None)
        _hold(
            (parts is None or type(parts) in (int, float))
            and (parts is None or 0.01 <= parts <= 1e7)
            and direction in (None, "across", "along")
        )
        symptoms = tuple(_listed(content.get("symptoms", [])))
        _hold(self._symptoms.issuperset(symptoms) and len(set(symptoms)) == len(symptoms))
        return Trial.model_construct(
            id=identity,
            job=job,
            feature=content["feature"],
            step=content["step"],
            extra=extra,
            used=self._used(content["used"], extra),
            incoming=Incoming.model_construct(grade=grade, defect=defect, **_section("incoming", incoming)),
            measured=Measured.model_construct(
                parts_per_media=None if parts is None else float(parts), **_section("measured", measured)
            ),
            roughness=RoughnessReading.model_construct(direction=direction, **_section("roughness", reading)),
            symptoms=symptoms,
            verdict=content["verdict"],
            by=_text(content.get("by")),
            date=_day(content.get("date")),
            note=_text(content.get("note"), LONGEST_NOTE),
            photos=tuple(_text(each, LONGEST_PATH) for each in _listed(content.get("photos", []))),
            followed=tuple(_text(each) for each in _listed(content.get("followed", []))),
            corrects=_text(content.get("corrects")),
            stored=_moment(content.get("stored")),
            file=file,
        )

    def _used(self, content: Mapping[str, Any], extra: bool) -> Used:
        values: dict[str, Any] = {}
        for key, value in content.items():
            field, options = self._fields[key]
            if field.kind == "choice":
                _hold(value in options)
            elif field.kind == "quantity":
                value = _quantity(value, field.rule, field.unit)
            elif field.kind == "text":
                _hold(_text(value) is not None)
            else:
                _hold(type(value) in ((int,) if field.kind == "whole" else (int, float)))
                _hold(field.low <= value <= field.high)
                value = value if field.kind == "whole" else float(value)
            values[field.attribute] = value
        grade = values.get("grade")
        _hold(grade is None or self._grades[grade] == self._scale[values["media"]])
        _hold("media" in values)
        if extra:
            grains, grades = self._needed[values["media"]]
            _hold(not (grains and "grain" not in values) and not (grades and "grade" not in values))
        return Used.model_construct(**{**_BARE, **values})


def _section(name: str, content: Mapping[str, Any]) -> dict[str, Any]:
    rows = _QUANTITIES[name]
    found: dict[str, Any] = dict.fromkeys(attribute for attribute, _, _ in rows.values())
    for key, value in content.items():
        attribute, rule, unit = rows[key]
        found[attribute] = _quantity(value, rule, unit)
    return found


def _quantity(text: str, rule: str, unit: str) -> float:
    number, _, written = text.partition(" ")
    _hold(number.isascii() and "_" not in number)  # Python reads more as a number than a trial file may hold
    value = float(number)
    _, low, high = RANGES[rule]
    _hold(written == unit and low <= value <= high)
    return value


def _text(value: Any, longest: int = LONGEST_NAME) -> str | None:
    """One line of text, or None where there is none."""
    if value is None:
        return None
    _hold(type(value) is str and 0 < len(value) <= longest and value.isprintable() and value == value.strip())
    return str(value)


def _listed(value: Any) -> list[Any]:
    _hold(type(value) is list)
    return list(value)


def _day(value: Any) -> str | None:
    text = _text(value)
    if text is not None:
        _hold(DAY.fullmatch(text) is not None and date.fromisoformat(text) >= FIRST_DAY)
    return text


def _moment(value: Any) -> str | None:
    text = _text(value)
    _hold(text is None or MOMENT.fullmatch(text) is not None)
    return text


def _hold(condition: bool) -> None:
    if not condition:
        raise _OtherwiseError
