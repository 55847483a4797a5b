"""Finds the jobs of a batch: files, folders of files, and tables with a job in each row."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

from advisor.batch.task import Line, Task
from advisor.errors import AdvisorError, InputError, Problem
from advisor.job.change import set_field
from advisor.knowledge.strict_yaml import load, plain
from advisor.knowledge.text_file import read_text

JOB_FILES = (".yaml", ".yml", ".json")
TABLES = (".csv",)
MOST_BYTES = 200_000_000
#: A column that names a job file to start from, relative to the table; the other columns change it.
BASE = "job"


def gather(paths: Sequence[str], leave_out: Path | None = None) -> tuple[tuple[Task, ...], tuple[Line, ...]]:
    """The jobs in the order given, and a line for everything that cannot be read.

    A folder gives its job files and tables by name, not those of folders inside it. Nothing below
    `leave_out` (the folder of the results) is taken from a folder. Raises InputError only where a path leads
    nowhere or to nothing.
    """
    tasks: list[Task] = []
    wrong: list[Line] = []
    problems: list[Problem] = []
    for file in _files(paths, leave_out, problems):
        try:
            tasks += _rows(file, wrong) if file.suffix.lower() in TABLES else [Task(str(file), read_text(str(file)))]
        except AdvisorError as error:
            wrong.append(wrong_line(str(file), error))
    if problems:
        raise InputError(problems)
    if not tasks and not wrong:
        raise InputError(Problem(", ".join(paths), "no job is there", allowed=", ".join((*JOB_FILES, *TABLES))))
    return tuple(tasks), tuple(wrong)


def wrong_line(source: str, error: AdvisorError, name: str | None = None) -> Line:
    """The line of a job that cannot be read."""
    return Line(source=source, name=name, status="wrong", reason=" | ".join(map(str, error.problems)))


def _files(paths: Iterable[str], leave_out: Path | None, problems: list[Problem]) -> Iterator[Path]:
    for text in paths:
        path = Path(text)
        if path.is_dir():
            yield from (
                each
                for each in sorted(path.iterdir())
                if each.suffix.lower() in (*JOB_FILES, *TABLES)
                and each.is_file()
                and (leave_out is None or each.parent.resolve() != leave_out.resolve())
            )
        elif not path.exists():
            problems.append(Problem(text, "there is no such file or folder"))
        elif path.suffix.lower() in (*JOB_FILES, *TABLES):
            yield path
        else:
            problems.append(Problem(text, "not a job", allowed=", ".join((*JOB_FILES, *TABLES, "a folder"))))


def _rows(path: Path, wrong: list[Line]) -> Iterator[Task]:
    """The jobs of a table; a row that cannot be read becomes a line of its own."""
    text = read_text(str(path), MOST_BYTES).removeprefix("\ufeff")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text), strict=True)
    try:
        columns = [column.strip() for column in next(reader, [])]
    except csv.Error as error:
        raise InputError(Problem(f"{path}:1", f"not a table ({error})")) from None
    _check_columns(path, columns)
    bases: dict[str, dict[str, Any]] = {}
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            raise InputError(Problem(f"{path}:{reader.line_num}", f"not a table ({error})")) from None
        if not any(cell.strip() for cell in cells):
            continue
        source = f"{path}:{reader.line_num}"
        try:
            job = job_of_row(path, source, columns, cells, bases)
        except AdvisorError as error:
            wrong.append(wrong_line(source, error))
        else:
            yield Task(source, json.dumps(job, ensure_ascii=False), row=True)


def job_of_row(
    path: Path, source: str, columns: Sequence[str], cells: Sequence[str], bases: dict[str, dict[str, Any]]
) -> dict[str, Any]:
    """The job of one row as the mapping of a job file. Raises InputError with every fault of the row."""
    problems: list[Problem] = []
    if len(cells) > len(columns) and any(cell.strip() for cell in cells[len(columns) :]):
        raise InputError(Problem(source, f"{len(cells)} cells under {len(columns)} columns"))
    given = {column: cell.strip() for column, cell in zip(columns, cells, strict=False) if cell.strip()}
    base = given.pop(BASE, None)
    if base is None:
        job: dict[str, Any] = {"name": f"{path.stem}-{source.rpartition(':')[2]}", "features": [{"name": "face"}]}
    else:
        if base not in bases:
            bases[base] = _base(path.parent / base, source)
        job = bases[base]
    # The name of a feature comes last: until then it is still called as the base calls it.
    for column, cell in sorted(given.items(), key=lambda item: item[0] == "feature.name"):
        try:
            job = set_field(job, column, cell)
        except AdvisorError as error:
            problems += [
                Problem(f"{source}: {column}", fault.what, fault.given, fault.allowed, fault.nearest)
                for fault in error.problems
            ]
    if problems:
        raise InputError(problems)
    return job


def _base(path: Path, source: str) -> dict[str, Any]:
    try:
        job = plain(load(read_text(str(path)), str(path)))
    except AdvisorError as error:
        raise InputError(Problem(f"{source}: {BASE}", str(fault)) for fault in error.problems) from None
    if not isinstance(job, dict):
        raise InputError(Problem(f"{source}: {BASE}", "not a job file", str(path)))
    return job


def _check_columns(path: Path, columns: Sequence[str]) -> None:
    problems = []
    if not any(columns):
        what = "the first row names the columns"
        problems.append(Problem(f"{path}:1", what, allowed="name, alloy, start.defect, ..."))
    named = [column for column in columns if column]
    problems += [
        Problem(f"{path}:1", "a column stands twice", column)
        for column in dict.fromkeys(named)
        if named.count(column) > 1
    ]
    if problems:
        raise InputError(problems)


def _delimiter(text: str) -> str:
    """What parts the cells: of comma, semicolon and tab the one most common in the first row."""
    head = text.partition("\n")[0]
    return max(",;\t", key=head.count)
