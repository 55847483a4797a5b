"""One job of a batch as it is handed to a worker, and what comes back."""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import dataclass
from typing import Literal

from advisor.sheet.part import Band, Part
from advisor.version import VERSION

Status = Literal["done", "no process", "wrong", "failed"]
SUFFIX = {"markdown": "md", "json": "json", "html": "html"}


@dataclass(frozen=True, slots=True)
class Task:
    """A job as it was written: the text of a YAML or JSON file, or a mapping made from a row of a table.

    `source` names it in messages, as file or `file:row`. `text` is the job itself; for a row it is JSON.
    """

    source: str
    text: str
    row: bool = False


@dataclass(frozen=True, slots=True)
class Way:
    """How the jobs of a batch are worked: under which knowledge, and into what form of sheet."""

    folder: str | None
    fingerprint: str
    format: Literal["markdown", "json", "html"] = "markdown"
    units: Literal["si", "us"] = "si"
    sheets: bool = True  # False: only the line of the table is wanted

    def key(self, task: Task) -> str:
        """The SHA-256 of everything that a result follows from: job, knowledge, program, form of the sheet.

        Where a job lies and what its file is called are not in it.
        """
        parts = (VERSION, self.fingerprint, self.format, self.units, str(self.sheets), str(task.row), task.text)
        return hashlib.sha256(json.dumps(parts, ensure_ascii=False).encode()).hexdigest()


class Line(Part):
    """The line of one job in the table. Times in s per part, costs per part in the currency of the cell."""

    source: str
    name: str | None = None
    status: Status
    alloy: str | None = None
    features: int | None = None
    steps: int | None = None
    time_s: Band | None = None
    cost: Band | None = None
    currency: str | None = None
    sheet: str | None = None
    reason: str | None = None


@dataclass(frozen=True, slots=True)
class Result:
    """What a worker gives back: the line, and the text of the sheet where there is one."""

    place: int
    line: Line
    text: str | None = None


def sheet_name(name: str, key: str, format_: str) -> str:
    """The file of a sheet: the job's name in plain letters, and part of its key, so that no two jobs share one.

    >>> sheet_name("Rail bracket / left", "0123456789abcdef", "json")
    'rail-bracket-left-0123456789.json'
    """
    plain = re.sub(r"[^a-z0-9]+", "-", name.casefold()).strip("-")[:60] or "job"
    return f"{plain}-{key[:10]}.{SUFFIX[format_]}"
