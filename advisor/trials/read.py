"""A trial file becomes a trial, or a list of everything that is wrong with it."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from advisor.errors import InputError, Problem, listing, nearest
from advisor.job.model import Job
from advisor.job.read import parse_job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.entries import LONGEST_NAME, Fields
from advisor.knowledge.strict_yaml import Node, from_plain, plain, read_file
from advisor.trials.fields import USED_FIELDS, USED_KEYS, UsedField, options_of
from advisor.trials.model import Incoming, Measured, RoughnessReading, Trial, Used

TRIAL_KEYS = (
    "job", "feature", "step", "used", "incoming", "measured", "roughness", "symptoms", "verdict", "by", "date",
    "note", "photos", "followed", "corrects", "stored",
)  # fmt: skip
FIRST_DAY = date(1980, 1, 1)  # nothing older is a trial of today's media
MOST_STEPS = 99
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
_MOMENT = re.compile(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}\.\d{6}Z")
_LONGEST_NOTE = 4000
_LONGEST_PATH = 500


def parse_trial(
    data: Node | Mapping[str, Any], knowledge: Knowledge, file: str = "trial", folder: Path | None = None
) -> Trial:
    """The trial of loaded YAML or of a plain mapping; `file` stands in the messages.

    A job named by its path is looked for beside the trial, in `folder`. Raises InputError with every
    fault at once.
    """
    return TrialReader(knowledge).read(data, file, folder or Path())


class TrialReader:
    """Reads trials; a job that many of them share is worked out once."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.knowledge = knowledge
        self.job_files: dict[Path, Job] = {}
        self._inline: dict[str, Job] = {}
        self._seen: dict[
            tuple[str, str, type], Any
        ] = {}  # what a text in a field means, once it was found good
        self._options = {field.key: options_of(field, knowledge) for field in USED_FIELDS}

    def read(
        self, data: Node | Mapping[str, Any], file: str, folder: Path, job_text: str | None = None
    ) -> Trial:
        """One trial; a path to its job is relative to `folder`. Raises InputError with every fault.

        `job_text` is the JSON of the job, where the log wrote it: it stands for the field `job`.
        """
        node = data if isinstance(data, Node) else from_plain(dict(data))
        if node.value is None:
            what = "is empty; a trial is a mapping of fields"
            raise InputError(Problem(file, what, allowed=listing(TRIAL_KEYS, 20)))
        problems: list[Problem] = []
        fields = Fields.of(node, "", file, problems, TRIAL_KEYS, "a trial")
        if fields is None:
            raise InputError(problems)
        job = self._job(fields, folder) if job_text is None else self._job_of(job_text, fields)
        values = {
            "job": job,
            "feature": _feature(fields, job),
            "step": _step(fields),
            "used": self._used(fields),
            "incoming": self._incoming(fields),
            "measured": _measured(fields),
            "roughness": _roughness(fields),
            "symptoms": self._symptoms(fields),
            "verdict": _verdict(fields),
            "by": fields.text("by"),
            "date": _day(fields),
            "note": _note(fields),
            "photos": _texts(fields, "photos", _LONGEST_PATH),
            "followed": _texts(fields, "followed", LONGEST_NAME),
            "corrects": fields.text("corrects"),
            "stored": _stored(fields),
        }
        if problems:
            raise InputError(problems)
        return Trial.model_validate({**values, "file": file})

    def _job(self, fields: Fields, folder: Path) -> Job | None:
        node = fields.require("job", "a trial needs its job: the job itself, or the path of a job file")
        if node is None:
            return None
        try:
            if isinstance(node.value, dict):
                key = json.dumps(plain(node))
                if key not in self._inline:
                    self._inline[key] = parse_job(node, self.knowledge, fields.file)
                return self._inline[key]
            text = fields.text_of(node, "job", _LONGEST_PATH)
            return None if text is None else self._job_file(folder / text, fields.place(node))
        except InputError as error:
            fields.problems += error.problems
            return None

    def _job_of(self, text: str, fields: Fields) -> Job | None:
        if text not in self._inline:
            try:
                self._inline[text] = parse_job(json.loads(text), self.knowledge, fields.file)
            except InputError as error:
                fields.problems += error.problems
                return None
        return self._inline[text]

    def _job_file(self, path: Path, place: str) -> Job:
        if path not in self.job_files:
            try:
                node = read_file(path)
            except InputError as error:
                what = f"job: {error.problems[0].what}"
                raise InputError([Problem(place, what, str(path)), *error.problems[1:]]) from None
            self.job_files[path] = parse_job(node, self.knowledge, str(path))
        return self.job_files[path]

    def _used(self, fields: Fields) -> Used | None:
        node = fields.require("used", "a trial says what was used", listing(USED_KEYS, 30))
        inner = None if node is None else _inner(fields, node, "used", USED_KEYS, "what was used")
        if inner is None:
            return None
        before = len(fields.problems)
        inner.require("media", "the media that was used is needed", listing(self._options["media"], 30))
        values = {field.attribute: self._used_value(inner, field) for field in USED_FIELDS}
        self._scale_fits(inner, values)
        return None if len(fields.problems) > before else Used.model_construct(**values)

    def _used_value(self, inner: Fields, field: UsedField) -> Any:
        node = inner.get(field.key)
        if node is None:
            return None
        value = self._seen.get((field.key, node.raw, type(node.value)))
        if value is None:
            value = self._read_value(inner, field, node)
            if value is not None and node.raw:
                self._seen[field.key, node.raw, type(node.value)] = value
        return value

    def _read_value(self, inner: Fields, field: UsedField, node: Node) -> Any:
        name = inner.name(field.key)
        if field.kind == "choice":
            return inner.choice_of(node, name, self._options[field.key])
        if field.kind == "quantity":
            return inner.quantity_of(node, name, field.rule)
        if field.kind == "text":
            return inner.text_of(node, name)
        value = inner.number(node, name, field.low, field.high, whole=field.kind == "whole")
        return int(value) if value is not None and field.kind == "whole" else value

    def _scale_fits(self, inner: Fields, values: Mapping[str, Any]) -> None:
        """A grade must be on the scale that its media is graded by."""
        media, grade = values["media"], values["grade"]
        if media is None or grade is None:
            return
        row, tables = self.knowledge.tables.media[media], self.knowledge.tables
        if tables.grades[grade].scale != row.scale:
            allowed = listing(row.grades, 30) if row.grades else "no grade: this media has none"
            inner.fault(
                inner.get("grade"),
                inner.name("grade"),
                f"not a grade of this media ({media})",
                grade,
                allowed,
            )

    def _incoming(self, fields: Fields) -> Incoming:
        inner = _section(fields, "incoming", ("defect", "depth", "ra", "grade"), "what the part came with")
        if inner is None:
            return Incoming()
        defects = tuple(self.knowledge.tables.defects)
        return Incoming.model_construct(
            defect=inner.choice("defect", defects),
            depth_mm=inner.quantity("depth"),
            ra_um=inner.quantity("ra", "roughness"),
            grade=inner.choice("grade", self._options["grade"]),
        )

    def _symptoms(self, fields: Fields) -> tuple[str, ...]:
        """Keys of the symptom table; a symptom may be written by its name."""
        rows = self.knowledge.tables.symptoms
        names = {row.name.casefold(): key for key, row in rows.items()}
        found: list[str] = []
        for node in fields.entries("symptoms"):
            text = fields.text_of(node, "symptoms")
            if text is None:
                continue
            word = text.casefold()
            key = names.get(word, word.replace(" ", "-").replace("_", "-"))
            if key not in rows:
                near = nearest(key, rows) or names.get(nearest(word, names) or "")
                fields.fault(node, "symptoms", "unknown symptom", text, listing(tuple(rows), 60), near)
            elif key not in found:
                found.append(key)
        return tuple(found)


def _inner(fields: Fields, node: Node, name: str, keys: tuple[str, ...], what: str) -> Fields | None:
    return Fields.of(node, name, fields.file, fields.problems, keys, what)


def _section(fields: Fields, name: str, keys: tuple[str, ...], what: str) -> Fields | None:
    node = fields.get(name)
    return None if node is None else _inner(fields, node, name, keys, what)


def _feature(fields: Fields, job: Job | None) -> str | None:
    names = () if job is None else tuple(item.name for item in job.features)
    if len(names) == 1 and fields.get("feature") is None:
        return names[0]
    if fields.require("feature", "a trial names the feature it was made on", listing(names) or None) is None:
        return None
    text = fields.text("feature")
    if text is None or job is None:
        return None
    for name in names:
        if name.casefold() == text.casefold():
            return name
    what = f"the job {job.name!r} has no such feature"
    fields.fault(fields.get("feature"), "feature", what, text, listing(names), nearest(text, names))
    return None


def _step(fields: Fields) -> int | None:
    node = fields.require("step", "a trial names the step of the sheet that it tried", f"1 to {MOST_STEPS}")
    value = None if node is None else fields.number(node, "step", 1, MOST_STEPS, whole=True)
    return None if value is None else int(value)


def _measured(fields: Fields) -> Measured:
    inner = _section(fields, "measured", ("ra", "removal", "time", "parts_per_media"), "what was measured")
    if inner is None:
        return Measured()
    parts = inner.get("parts_per_media")
    return Measured.model_construct(
        ra_um=inner.quantity("ra", "roughness"),
        removal_um=inner.quantity("removal"),
        time_s=inner.quantity("time", "step_time"),
        parts_per_media=None
        if parts is None
        else inner.number(parts, inner.name("parts_per_media"), 0.01, 1e7),
    )


def _roughness(fields: Fields) -> RoughnessReading:
    inner = _section(fields, "roughness", ("cutoff", "direction"), "how the roughness was measured")
    if inner is None:
        return RoughnessReading()
    direction = inner.choice("direction", ("across", "along"))
    return RoughnessReading.model_construct(cutoff_mm=inner.quantity("cutoff"), direction=direction)


def _verdict(fields: Fields) -> str | None:
    if fields.require("verdict", "a trial ends with a verdict", "pass, fail") is None:
        return None
    return fields.choice("verdict", ("pass", "fail"))


def _day(fields: Fields) -> str | None:
    """The day as it is written, checked."""
    text = fields.text("date")
    if text is None:
        return None
    try:
        day = date.fromisoformat(text) if _DAY.fullmatch(text) else None
    except ValueError:
        day = None
    if day is None:
        fields.fault(
            fields.get("date"), "date", "not a day; year, month and day are needed", text, "2026-05-04"
        )
    elif day < FIRST_DAY:
        fields.fault(fields.get("date"), "date", "too long ago", text, f"{FIRST_DAY.isoformat()} or later")
    return text


def _stored(fields: Fields) -> str | None:
    """The moment that the log wrote down; nobody types it."""
    text = fields.text("stored")
    if text is not None and not _MOMENT.fullmatch(text):
        what = "the log writes this itself; leave it out"
        fields.fault(fields.get("stored"), "stored", what, text)
    return text


def _note(fields: Fields) -> str | None:
    """Free text; line breaks become spaces."""
    node = fields.get("note")
    if node is None:
        return None
    if isinstance(node.value, str):
        node = Node(node.value, node.line, node.column, " ".join(node.raw.split()))
    return fields.text_of(node, "note", _LONGEST_NOTE) if node.raw else None


def _texts(fields: Fields, key: str, longest: int) -> tuple[str, ...]:
    texts = [fields.text_of(node, key, longest) for node in fields.entries(key)]
    return tuple(text for text in texts if text is not None)


__all__ = ["FIRST_DAY", "TRIAL_KEYS", "TrialReader", "parse_trial"]
