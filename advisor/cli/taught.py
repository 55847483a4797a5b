"""A sheet that uses what trials taught, and the track record of rules: what recommend and rule do with a log."""

from __future__ import annotations

from pathlib import Path

from advisor.audit.make import make_sheet, records
from advisor.cli.recording import keep, read_job_and_knowledge
from advisor.cli.trial_log import opened, tell
from advisor.job.read import parse_job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.strict_yaml import load
from advisor.learning.store import read_learned
from advisor.learning.track_record import TrackRecord
from advisor.pipeline import Desk
from advisor.sheet.model import Sheet
from advisor.trials.log import read_log


def sheet_with_trials(
    path: str, knowledge: str | None, learned: str | None, log: str | None, record: str | None, *, robustness: bool
) -> Sheet:
    """The sheet of a job with what trials taught put in, the record of its rules, and what was tried on jobs like it.

    Kept in a `record` where one is named. Raises InputError and KnowledgeError for a job, a folder or a log
    that cannot be read.
    """
    text, name, files, base = read_job_and_knowledge(path, knowledge, record)
    job = parse_job(load(text, name), base, name)
    lesson = None if learned is None else read_learned(Path(learned), base)
    read = None
    if log is not None:
        read = read_log(Path(log), base)
        tell(read)
    desk = Desk(base, learned=lesson)
    try:
        sheet = make_sheet(job, desk, holds=robustness, log=read)
    finally:
        desk.close()
    if record is not None:
        keep(record, sheet, text, files, read)
    return sheet


def record_of(rule: str, base: Knowledge, log: str, knowledge: str | None) -> TrackRecord:
    """How the advice of one rule went in a log; an empty record where it never spoke."""
    _, read = opened(log, knowledge)
    desk = Desk(base)
    try:
        return records(read, desk).get(rule, TrackRecord(rule))
    finally:
        desk.close()
