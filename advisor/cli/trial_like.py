"""The sheet of a job with what was tried on jobs like it."""

from __future__ import annotations

from advisor.cli.sheets import sheet_of
from advisor.cli.trial_log import opened
from advisor.job.read import parse_job
from advisor.sheet.model import Sheet
from advisor.trials.like import with_past


def sheet_with_past(path: str, log: str | None, knowledge: str | None, record: str | None = None) -> Sheet:
    """The sheet of a job file, with the nearest trials of a log for each face.

    Raises InputError and KnowledgeError as the commands that it serves do.
    """
    if record is None:
        sheet = sheet_of(path, knowledge)
    else:
        from advisor.cli.recording import sheet_on_record

        sheet = sheet_on_record(path, knowledge, record)
    base, read = opened(log, knowledge)
    return with_past(sheet, parse_job(dict(sheet.job), base, path), read, base)
