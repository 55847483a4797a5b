"""Works a stored sheet out again from the job it carries and says whether it comes out the same."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from advisor.audit.kept_log import as_it_was
from advisor.audit.make import make_sheet
from advisor.audit.mismatches import count, mismatches
from advisor.audit.model import Replay
from advisor.errors import InputError, Problem, shorten
from advisor.job.read import parse_job
from advisor.pipeline import Desk
from advisor.render.json import read_checked
from advisor.sheet.model import Sheet
from advisor.trials.log import Log
from advisor.version import VERSION

_VERSION = re.compile(r"\d+(\.\d+)*")


@dataclass(frozen=True, slots=True)
class Stored:
    """A stored sheet: the model, and the JSON as it stands in the file."""

    name: str
    sheet: Sheet
    data: dict[str, Any]


def read_stored(text: str, name: str = "sheet") -> Stored:
    """The stored sheet in a text; `name` stands in messages.

    Raises InputError for broken or cut JSON, a file of another program, a sheet of a newer program, and
    anything that no sheet can say.
    """
    sheet, data = read_checked(text, name)
    written_by = sheet.program.version
    if _VERSION.fullmatch(written_by) is None:
        raise InputError(Problem(f"{name}: program.version", "not a version of this program", written_by))
    if _parts(written_by) > _parts(VERSION):
        what = "this sheet was written by a newer program; update the advisor to replay it"
        raise InputError(Problem(f"{name}: program.version", what, written_by, f"up to {VERSION}"))
    return Stored(name, sheet, data)


def replay(
    stored: Stored, desk: Desk, log: Log | None = None, *, other_knowledge: bool = False
) -> Replay:
    """Whether a stored sheet follows from its own job and the knowledge of a desk, value by value.

    `log` is the trial log, for a sheet that was made with one; trials that came later are left out. With
    `other_knowledge` it is worked out even where the sheet names another fingerprint of knowledge or log,
    to see what would come out today. Raises InputError where the fingerprints differ (unless so), or
    where the job in the sheet cannot be read with this knowledge.
    """
    sheet, used = stored.sheet, desk.knowledge.fingerprint
    if sheet.knowledge.fingerprint != used and not other_knowledge:
        raise InputError(unknown_knowledge(stored, used))
    past = _log_of(stored, log, other_knowledge)
    try:
        job = parse_job(sheet.job, desk.knowledge, f"{stored.name}: job")
    except InputError as error:
        raise InputError(_in_the_sheet(problem) for problem in error.problems) from None
    # How far the advice holds is worked out again where that was asked for.
    taught = desk.with_learned(sheet.learned_from)
    now = make_sheet(job, taught, holds="holds" in sheet.made_with, log=past).model_dump()
    return Replay(
        name=stored.name,
        values=count(stored.data),
        written_by=sheet.program.version,
        replayed_by=VERSION,
        knowledge=sheet.knowledge.fingerprint,
        used=used,
        mismatches=tuple(mismatches(stored.data, now)),
    )


def _log_of(stored: Stored, log: Log | None, anyway: bool) -> Log | None:
    """The log as it was when the sheet was made. Raises InputError where it is not at hand, unless `anyway`."""
    mark, place = stored.sheet.trial_log, f"{stored.name}: trial_log"
    if "trial_log" not in stored.sheet.made_with:
        return None
    if mark is None:
        raise InputError(Problem(place, "made with a trial log, and does not say which"))
    found = None if log is None else as_it_was(log, mark)
    if found is not None or anyway:
        return found or log
    place += ".fingerprint"
    trials = f"{mark.trials:,} trial{'s' if mark.trials != 1 else ''}"
    if log is None:
        what = f"made with a trial log of {trials} that is not at hand; name its folder with --log FOLDER"
        raise InputError(Problem(place, what, _short(mark.fingerprint)))
    what = f"made with another trial log, of {trials}, than the {len(log.trials):,} trials in {log.folder}"
    raise InputError(Problem(place, what, _short(mark.fingerprint)))


def unknown_knowledge(stored: Stored, used: str) -> Problem:
    """The fault that a sheet was made with knowledge that is not at hand."""
    return Problem(
        f"{stored.name}: knowledge.fingerprint",
        "made with knowledge that is not at hand; name its folder, or a revision of it, with --knowledge "
        "(FOLDER or FOLDER@REVISION)",
        given=_short(stored.sheet.knowledge.fingerprint),
        allowed=f"{_short(used)} here",
    )


def _in_the_sheet(problem: Problem) -> Problem:
    what = f"the job in the sheet is no job ({problem.what})"
    return Problem(problem.place, what, problem.given, problem.allowed, problem.nearest)


def _short(fingerprint: str) -> str:
    return shorten(fingerprint, 30)


def _parts(version: str) -> tuple[int, ...]:
    return tuple(int(part) for part in version.split("."))

