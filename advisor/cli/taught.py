"""A sheet that uses what trials taught, and the track record of rules: what recommend and rule do with a log."""

from __future__ import annotations

from pathlib import Path

from advisor.cli.streams import read_words
from advisor.cli.trial_log import opened
from advisor.errors import InputError, Problem
from advisor.job.read import parse_job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.strict_yaml import load
from advisor.learning.bench import Bench
from advisor.learning.followed import heard
from advisor.learning.store import read_learned
from advisor.learning.track_record import TrackRecord, track_records, with_track_records
from advisor.pipeline import Desk, recommend
from advisor.sheet.model import Sheet
from advisor.trials.like import with_past
from advisor.trials.log import Log


def sheet_with_trials(
    path: str, knowledge: str | None, learned: str | None, log: str | None, record: str | None
) -> Sheet:
    """The sheet of a job with what trials taught put in, the record of its rules, and what was tried on jobs like it.

    Raises InputError and KnowledgeError for a job, a folder or a log that cannot be read.
    """
    if record is not None:
        what = "keeps a sheet that follows from job and knowledge alone; leave out --learned and --log"
        raise InputError(Problem("--record", what))
    text, name = read_words(path)
    base = load_knowledge(None if knowledge is None else Path(knowledge))
    job = parse_job(load(text, name), base, name)
    desk = Desk(base, learned=None if learned is None else read_learned(Path(learned), base))
    try:
        sheet = recommend(job, desk)
        if log is not None:
            _, read = opened(log, knowledge)
            sheet = with_past(with_track_records(sheet, _records(read, desk)), job, read, base)
    finally:
        desk.close()
    return sheet


def record_of(rule: str, base: Knowledge, log: str, knowledge: str | None) -> TrackRecord:
    """How the advice of one rule went in a log; an empty record where it never spoke."""
    _, read = opened(log, knowledge)
    desk = Desk(base)
    try:
        return _records(read, desk).get(rule, TrackRecord(rule))
    finally:
        desk.close()


def _records(read: Log, desk: Desk) -> dict[str, TrackRecord]:
    plain = Desk(desk.knowledge)  # what rules say does not hang on what was learned of the coefficients
    try:
        return dict(track_records(heard(read.standing, Bench(plain))))
    finally:
        plain.close()
