"""A trial file becomes a trial, or a list of everything that is wrong with it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from advisor.errors import InputError, Problem, listing, nearest
from advisor.job.model import Job
from advisor.job.read import parse_job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.entries import LONGEST_NAME, Fields
from advisor.knowledge.strict_yaml import Node, from_plain, plain, read_file
from advisor.trials import sections
from advisor.trials.fields import USED_FIELDS, USED_KEYS, UsedField, options_of
from advisor.trials.model import Incoming, Trial, Used
from advisor.trials.stored import (
    FIRST_DAY,
    LONGEST_PATH,
    StoredReader,
)

TRIAL_KEYS = (
    "job", "feature", "step", "extra", "used", "incoming", "measured", "roughness", "symptoms", "verdict", "by", "date",
    "note", "photos", "followed", "corrects", "stored",
)  # fmt: skip


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
        self.stored = StoredReader(knowledge)
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
        job = self._job(fields, folder) if job_text is None else self._job_in(job_text, fields)
        extra = sections.extra(fields)
        values = {
            "job": job,
            "feature": sections.feature(fields, job),
            "step": sections.step(fields, extra),
            "extra": extra,
            "used": self._used(fields, extra),
            "incoming": self._incoming(fields),
            "measured": sections.measured(fields),
            "roughness": sections.roughness(fields),
            "symptoms": self._symptoms(fields),
            "verdict": sections.verdict(fields),
            "by": fields.text("by"),
            "date": sections.day(fields),
            "note": sections.note(fields),
            "photos": sections.texts(fields, "photos", LONGEST_PATH),
            "followed": sections.texts(fields, "followed", LONGEST_NAME),
            "corrects": fields.text("corrects"),
            "stored": sections.stored(fields),
        }
        if problems:
            raise InputError(problems)
        return Trial.model_validate({**values, "file": file})

    def _job(self, fields: Fields, folder: Path) -> Job | None:
        node = fields.require("job", "a trial needs its job: the job itself, or the path of a job file")
        if node is None:
            return None
        try:
            text = None if isinstance(node.value, dict) else fields.text_of(node, "job", LONGEST_PATH)
            if text is None and not isinstance(node.value, dict):
                return None
            return self.job_at(node, fields.file, folder)
        except InputError as error:
            fields.problems += error.problems
            return None

    def job_at(self, node: Node, file: str, folder: Path) -> Job:
        """The job inline, or of the file that is named. Raises InputError with every fault of it."""
        if not isinstance(node.value, dict):
            return self._job_file(folder / node.raw.strip(), node.place(file))
        key = json.dumps(plain(node))
        if key not in self._inline:
            self._inline[key] = parse_job(node, self.knowledge, file)
        return self._inline[key]

    def job_of(self, text: str, file: str) -> Job:
        """The job in its JSON. Raises InputError with every fault of it."""
        if text not in self._inline:
            self._inline[text] = parse_job(json.loads(text), self.knowledge, file)
        return self._inline[text]

    def _job_in(self, text: str, fields: Fields) -> Job | None:
        try:
            return self.job_of(text, fields.file)
        except InputError as error:
            fields.problems += error.problems
            return None

    def _job_file(self, path: Path, place: str) -> Job:
        if path not in self.job_files:
            try:
                node = read_file(path)
            except InputError as error:
                what = f"job: {error.problems[0].what}"
                raise InputError([Problem(place, what, str(path)), *error.problems[1:]]) from None
            self.job_files[path] = parse_job(node, self.knowledge, str(path))
        return self.job_files[path]

    def _used(self, fields: Fields, extra: bool) -> Used | None:
        node = fields.require("used", "a trial says what was used", listing(USED_KEYS, 30))
        inner = None if node is None else sections.inner(fields, node, "used", USED_KEYS, "what was used")
        if inner is None:
            return None
        before = len(fields.problems)
        inner.require("media", "the media that was used is needed", listing(self._options["media"], 30))
        values = {field.attribute: self._used_value(inner, field) for field in USED_FIELDS}
        self._scale_fits(inner, values)
        if extra and values["media"] is not None:
            self._stands_alone(inner, values)
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

    def _stands_alone(self, inner: Fields, values: Mapping[str, Any]) -> None:
        """No sheet says what an extra step was made with, so the trial does."""
        row = self.knowledge.tables.media[values["media"]]
        for name, offered in (("grain", row.grains), ("grade", row.grades)):
            if offered and values[name] is None:
                what = f"no sheet says what an extra pass was made with: its {name} is needed"
                inner.require(name, what, listing(offered, 30))

    def _incoming(self, fields: Fields) -> Incoming:
        inner = sections.section(
            fields, "incoming", ("defect", "depth", "ra", "grade"), "what the part came with"
        )
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


__all__ = ["FIRST_DAY", "TRIAL_KEYS", "TrialReader", "parse_trial"]
