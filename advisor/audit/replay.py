"""Works a stored sheet out again from the job it carries and says whether it comes out the same."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from advisor.audit.mismatches import count, mismatches
from advisor.audit.model import Replay
from advisor.errors import InputError, Problem, shorten
from advisor.job.read import parse_job
from advisor.pipeline import Desk, recommend
from advisor.render.json import read_checked
from advisor.sheet.model import Sheet
from advisor.version import VERSION
from advisor.whatif.holds import recommend_with_holds

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


def replay(stored: Stored, desk: Desk, *, other_knowledge: bool = False) -> Replay:
    """Whether a stored sheet follows from its own job and the knowledge of a desk, value by value.

    With `other_knowledge` it is worked out even where the sheet names another fingerprint, to see what
    would come out today. Raises InputError where the fingerprints differ (unless so), or where the job in
    the sheet cannot be read with this knowledge.
    """
    sheet, used = stored.sheet, desk.knowledge.fingerprint
    if sheet.knowledge.fingerprint != used and not other_knowledge:
        raise InputError(unknown_knowledge(stored, used))
    try:
        job = parse_job(sheet.job, desk.knowledge, f"{stored.name}: job")
    except InputError as error:
        raise InputError(_in_the_sheet(problem) for problem in error.problems) from None
    # How far the advice holds is worked out again where the sheet tells it.
    make = recommend if sheet.holds is None else recommend_with_holds
    now = make(job, desk.with_learned(sheet.learned_from)).model_dump()
    return Replay(
        name=stored.name,
        values=count(stored.data),
        written_by=sheet.program.version,
        replayed_by=VERSION,
        knowledge=sheet.knowledge.fingerprint,
        used=used,
        mismatches=tuple(mismatches(stored.data, now)),
    )


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

