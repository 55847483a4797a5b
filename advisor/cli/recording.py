"""Recommends and keeps what was recommended, with the job file and the knowledge, in a record."""

from __future__ import annotations

from pathlib import Path

from advisor.audit.record import record
from advisor.cli.sheets import sheet_for
from advisor.cli.streams import read_words, say
from advisor.errors import InputError, Problem
from advisor.job.read import parse_job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.files import read_files
from advisor.knowledge.load import load_files
from advisor.knowledge.locate import knowledge_folder
from advisor.knowledge.strict_yaml import load
from advisor.render.json import to_json
from advisor.sheet.model import Sheet
from advisor.trials.log import Log


def sheet_on_record(path: str, named: str | None, folder: str, *, robustness: bool = False) -> Sheet:
    """The sheet of a job file, kept in a record before it is shown.

    The knowledge is read once, so that what is kept is what was used. Raises InputError where the job
    cannot be read or the record not be written.
    """
    text, name, files, knowledge = read_job_and_knowledge(path, named, folder)
    sheet = sheet_for(parse_job(load(text, name), knowledge, name), knowledge, robustness=robustness)
    keep(folder, sheet, text, files)
    return sheet


def read_job_and_knowledge(
    path: str, named: str | None, folder: str | None
) -> tuple[str, str, dict[str, bytes], Knowledge]:
    """The text and name of a job file, and the knowledge as files and opened.

    Raises InputError where `folder`, the record if there is to be one, is none.
    """
    if folder is not None and (not folder.strip() or (Path(folder).exists() and not Path(folder).is_dir())):
        raise InputError(Problem("--record", "a folder is needed", given=folder))
    text, name = read_words(path)
    root = knowledge_folder() if named is None else Path(named)
    files = read_files(root)
    return text, name, files, load_files(files, root)


def keep(folder: str, sheet: Sheet, text: str, files: dict[str, bytes], log: Log | None = None) -> None:
    """Keep a sheet with all that it was made from, and say where."""
    kept = record(Path(folder), sheet, to_json(sheet), text, files, log)
    say(f"Kept as {kept.sheet}")
