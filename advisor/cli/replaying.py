"""The command `replay`: proves that stored sheets follow from their job and knowledge."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from advisor.cli.choices import REPORT_FORMATS, one_of
from advisor.cli.options import Debug, KnowledgeFolder
from advisor.cli.streams import DASH, emit, read_words, say

if TYPE_CHECKING:
    from advisor.audit.model import Replay
    from advisor.audit.replay import Stored
    from advisor.knowledge.base import Knowledge
    from advisor.trials.log import Log


#: A sheet of two hundred faces is a few megabytes.
MOST_BYTES = 50_000_000


def replay(
    sheet: Annotated[
        str,
        typer.Argument(
            metavar="SHEET", help="A sheet stored as JSON, or a folder of records; - is standard input."
        ),
    ],
    format_: Annotated[
        str, typer.Option("--format", metavar="|".join(REPORT_FORMATS), help="The form of the report.")
    ] = "text",
    anyway: Annotated[
        bool,
        typer.Option("--anyway", help="Work it out even with other knowledge, to see what comes out today."),
    ] = False,
    log: Annotated[
        str | None,
        typer.Option("--log", metavar="FOLDER", help="The trial log of a sheet made with one that has no record."),
    ] = None,
    knowledge: KnowledgeFolder = None,
    debug: Debug = False,
) -> None:
    """Prove that a stored sheet follows from its job.

    Works the job in the sheet out again with the knowledge that made it, which is found beside a recorded
    sheet and otherwise named with --knowledge (FOLDER, or FOLDER@REVISION in a git repository). So it is
    with the trial log of a sheet made with --log; trials that came later are left out. Lists each value,
    reason and source that comes out otherwise, and then ends with 1.
    """
    form = one_of("--format", format_, REPORT_FORMATS)
    if not run(sheet, form, knowledge, log, anyway=anyway):
        raise typer.Exit(1)


def run(path: str, form: str, knowledge: str | None, log: str | None, *, anyway: bool) -> bool:
    """Replay a sheet, or all of a record, and print what was found; whether every one follows."""
    from advisor.audit import show

    reports = [_one(each, knowledge, log, anyway=anyway) for each in _sheets(path)]
    for report in reports:
        if form == "text":
            emit(show.to_text(report))
    if form == "json":
        emit(show.to_json(reports if _is_record(path) else reports[0]))
    failed = [report for report in reports if not report.follows]
    if len(reports) > 1:
        say(f"{len(reports)} sheets replayed, {len(failed)} of them do not follow.")
    return not failed


def _one(path: str, named: str | None, log: str | None, *, anyway: bool) -> Replay:
    from advisor.audit.replay import read_stored
    from advisor.audit.replay import replay as replayed
    from advisor.pipeline import Desk

    stored = read_stored(*read_words(path, MOST_BYTES))
    desk = Desk(_knowledge(stored, path, named))
    try:
        return replayed(stored, desk, _log(stored, path, log, desk.knowledge), other_knowledge=anyway)
    finally:
        desk.close()


def _log(stored: Stored, path: str, named: str | None, knowledge: Knowledge) -> Log | None:
    """The log named, or that of the record in which the sheet lies; None where the sheet was made without one."""
    from advisor.audit.record import log_beside
    from advisor.trials.log import read_log

    mark = stored.sheet.trial_log
    if mark is None:
        return None
    folder = Path(named) if named is not None else None if path == DASH else log_beside(Path(path), mark)
    return None if folder is None else read_log(folder, knowledge)


def _knowledge(stored: Stored, path: str, named: str | None) -> Knowledge:
    """The knowledge named, or that of the record in which the sheet lies, or the packaged one."""
    from advisor.audit.record import knowledge_beside
    from advisor.knowledge.load import load_knowledge

    if named is not None:
        return load_knowledge(Path(named))
    beside = None if path == DASH else knowledge_beside(Path(path), stored.sheet.knowledge.fingerprint)
    return load_knowledge(beside)


def _sheets(path: str) -> list[str]:
    from advisor.audit.record import recorded_sheets

    if path == DASH or not Path(path).is_dir():
        return [path]
    return [str(each) for each in recorded_sheets(Path(path))]


def _is_record(path: str) -> bool:
    return path != DASH and Path(path).is_dir()
