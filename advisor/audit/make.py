"""Makes a sheet in the way it is asked for, the first time and again: one place, so that both do the same."""

from __future__ import annotations

from advisor.audit.kept_log import log_files, mark_of
from advisor.job.model import Job
from advisor.learning.bench import Bench
from advisor.learning.followed import heard
from advisor.learning.track_record import TrackRecord, track_records, with_track_records
from advisor.pipeline import Desk, recommend
from advisor.sheet.model import Sheet
from advisor.trials.like import with_past
from advisor.trials.log import Log
from advisor.whatif.holds import recommend_with_holds


def make_sheet(job: Job, desk: Desk, *, holds: bool = False, log: Log | None = None) -> Sheet:
    """The sheet of a job; with `holds` how far its advice holds, with a `log` what was tried before.

    What trials taught is a matter of the desk.
    """
    sheet = (recommend_with_holds if holds else recommend)(job, desk)
    if log is None:
        return sheet
    told = with_past(with_track_records(sheet, records(log, desk)), job, log, desk.knowledge)
    mark = mark_of(log_files(log.trials))
    return told.model_copy(update={"trial_log": mark, "made_with": (*told.made_with, "trial_log")})


def records(log: Log, desk: Desk) -> dict[str, TrackRecord]:
    """How the advice of every rule went in a log; what rules say does not hang on what was learned."""
    plain = desk.with_learned(None)
    return dict(track_records(heard(log.standing, Bench(plain))))
