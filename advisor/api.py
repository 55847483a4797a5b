"""The small Python interface: what a program needs to ask for advice, question it, and prove it later.

Everything here is thin: it reads, opens what is needed, and calls the part that does the work.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from advisor.audit.make import make_sheet
from advisor.audit.record import Recorded, knowledge_beside, log_beside
from advisor.audit.record import record as stored_record
from advisor.audit.replay import Stored, read_stored
from advisor.audit.replay import replay as replayed
from advisor.job.read import parse_job
from advisor.knowledge.files import read_files
from advisor.knowledge.load import load_files, load_knowledge
from advisor.knowledge.locate import knowledge_folder
from advisor.knowledge.strict_yaml import load
from advisor.knowledge.text_file import read_text
from advisor.pipeline import Desk, sheet_of, work_out
from advisor.render.json import to_json
from advisor.trials.log import read_log

if TYPE_CHECKING:
    from advisor.audit.model import Replay
    from advisor.explain.answer_not import WhyNot
    from advisor.explain.link import Link
    from advisor.job.model import Job
    from advisor.sheet.model import Sheet

#: A sheet of two hundred faces is a few megabytes.
MOST_BYTES = 50_000_000


def record(
    job_file: str | Path, folder: str | Path, knowledge: str | Path | None = None, *, holds: bool = False
) -> Recorded:
    """Recommend for a job file and keep sheet, job file and the exact knowledge in a record.

    `folder` is the record; it is made where there is none. `knowledge` is a folder, or `FOLDER@REVISION`
    (the packaged one without), and is read once: what is kept is what was used. With `holds` the sheet says
    how far its advice holds. Gives the paths of the three. Raises InputError and KnowledgeError with every
    fault, and InputError where the record cannot be written; then nothing half-written is left in it.
    """
    text = read_text(job_file)
    root = knowledge_folder() if knowledge is None else Path(knowledge)
    files = read_files(root)
    base = load_files(files, root)
    desk = Desk(base)
    try:
        sheet = make_sheet(parse_job(load(text, str(job_file)), base, str(job_file)), desk, holds=holds)
    finally:
        desk.close()
    return stored_record(Path(folder), sheet, to_json(sheet), text, files)


def read_stored_file(path: str | Path) -> Stored:
    """A stored sheet with its JSON as it stands in the file. Raises InputError as `read_sheet` does."""
    return read_stored(read_text(path, MOST_BYTES), str(path))


def read_sheet(path: str | Path) -> Sheet:
    """The sheet in a JSON file.

    Raises InputError where the file cannot be read, was cut short, comes from another or a newer program,
    or says what no sheet can say.
    """
    return read_stored_file(path).sheet


def replay(path: str | Path, desk: Desk | None = None, log: str | Path | None = None) -> Replay:
    """Whether a stored sheet follows from its job: `follows`, and `mismatches` where it does not.

    Without a desk the knowledge of the record is used in which the sheet lies, else the packaged one; so it
    is with the folder of the trial `log`, for a sheet that was made with one. Raises InputError for what
    is no sheet, and where the knowledge or the log that made it is not at hand.
    """
    stored = read_stored_file(path)
    mark = stored.sheet.trial_log
    folder = Path(log) if log is not None else log_beside(Path(path), mark) if mark else None
    own = desk or Desk(load_knowledge(knowledge_beside(Path(path), stored.sheet.knowledge.fingerprint)))
    try:
        return replayed(stored, own, None if folder is None else read_log(folder, own.knowledge))
    finally:
        if desk is None:
            own.close()


def why(
    job: Job, desk: Desk, feature: str | None = None, step: int | None = None, decision: str | None = None
) -> tuple[Link, ...]:
    """Why what is recommended is recommended: chains from values of the sheet back to their sources.

    Without a feature, step or decision the values that matter most are told. Raises InputError for one
    that does not exist.
    """
    from advisor.explain.answer import explain
    from advisor.explain.point import Question

    found = work_out(job, desk)
    question = Question(feature, step, decision)
    return explain(question, found, sheet_of(found, desk.knowledge), desk.knowledge)[0]


def why_not(
    job: Job,
    option: str,
    desk: Desk,
    feature: str | None = None,
    step: int | None = None,
    decision: str | None = None,
) -> WhyNot:
    """Why an option was not taken, what it would have cost, and the smallest changes that make it win.

    Raises InputError for an option, feature, step or decision that does not exist.
    """
    from advisor.explain.answer_not import explain_not
    from advisor.explain.point import Question

    found = work_out(job, desk)
    question = Question(feature, step, decision, option)
    return explain_not(question, found, sheet_of(found, desk.knowledge), desk.knowledge, lambda note: None)
