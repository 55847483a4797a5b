"""The work on one job of a batch, in whatever process or on whatever machine it is done."""

from __future__ import annotations

import gc
import json
import threading
from pathlib import Path
from typing import Any

from advisor.batch.inputs import wrong_line
from advisor.batch.task import Line, Result, Task, Way, sheet_name
from advisor.errors import AdvisorError, EngineError, InputError, Problem, shorten
from advisor.job.read import parse_job
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.strict_yaml import Node, load
from advisor.pipeline import Desk, recommend
from advisor.render.json import to_json
from advisor.render.markdown import to_markdown
from advisor.sheet.model import Sheet

#: All matchers agree, and this one is the quickest where most situations have been seen before.
_MATCHER = "plain"
#: A worker leaves little garbage in circles; looking for some takes a tenth of the time.
_GARBAGE = 200_000


class _Opened(threading.local):
    """What a worker keeps from one job to the next: a desk of its own, never shared between threads."""

    desk: Desk | None = None
    folder: str | None = None


_OPENED = _Opened()


def work(place: int, task: Task, way: Way) -> Result:
    """The line of a job and its sheet; whatever is wrong with the job stands in the line.

    Raises InputError only where this worker has not the knowledge that the batch was started with.
    """
    desk = opened(way)
    name = None
    try:
        job = parse_job(_read(task), desk.knowledge, task.source)
        name = job.name
        sheet = recommend(job, desk)
        text = _shown(sheet, way) if way.sheets else None
    except EngineError as error:
        return Result(place, Line(source=task.source, name=name, status="failed", reason=str(error)))
    except AdvisorError as error:
        return Result(place, wrong_line(task.source, error, name))
    except Exception as error:  # one job may not stop the rest, whatever fails in it
        reason = f"a fault of the program: {type(error).__name__}: {shorten(str(error), 200)}"
        return Result(place, Line(source=task.source, name=name, status="failed", reason=reason))
    file = sheet_name(job.name, way.key(task), way.format) if way.sheets else None
    return Result(place, line_of(task.source, sheet, file), text)


def opened(way: Way) -> Desk:
    """The desk of this worker. Raises InputError where its knowledge is not that of the batch."""
    if _OPENED.desk is None or _OPENED.folder != way.folder or _OPENED.desk.knowledge.fingerprint != way.fingerprint:
        gc.set_threshold(_GARBAGE)
        if _OPENED.desk is not None:
            _OPENED.desk.close()
        _OPENED.desk = Desk(load_knowledge(None if way.folder is None else Path(way.folder)), _MATCHER)
        _OPENED.folder = way.folder
    found = _OPENED.desk.knowledge.fingerprint
    if found != way.fingerprint:
        raise InputError(Problem("", "a worker has other knowledge than the batch", found, way.fingerprint))
    return _OPENED.desk


def _read(task: Task) -> Node | dict[str, Any]:
    if task.row:
        job: dict[str, Any] = json.loads(task.text)
        return job
    return load(task.text, task.source)


def _shown(sheet: Sheet, way: Way) -> str:
    if way.format == "json":
        return to_json(sheet)
    if way.format == "html":
        from advisor.render.html import to_html

        return to_html(sheet, way.units)
    return to_markdown(sheet, way.units)


def line_of(source: str, sheet: Sheet, file: str | None) -> Line:
    """The line of a sheet in the table."""
    totals = sheet.totals
    blocked = [f"{face.name}: {face.blocked[0].text}" for face in sheet.features if face.blocked]
    return Line(
        source=source,
        name=str(sheet.job["name"]),
        status="no process" if sheet.refused else "done",
        alloy=str(sheet.job["alloy"]),
        features=len(sheet.features),
        steps=totals.steps,
        time_s=totals.part_time_s or totals.time_s,
        cost=totals.part_cost or totals.cost,
        currency=totals.currency,
        sheet=file,
        reason=" | ".join(blocked) or None,
    )
