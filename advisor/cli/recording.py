"""Recommends and keeps what was recommended, with the job file and the knowledge, in a record."""

from __future__ import annotations

from pathlib import Path

from advisor.audit.record import record
from advisor.cli.sheets import sheet_for
from advisor.cli.streams import read_words, say
from advisor.errors import InputError, Problem
from advisor.job.read import parse_job
from advisor.knowledge.files import read_files
from advisor.knowledge.load import load_files
from advisor.knowledge.locate import knowledge_folder
from advisor.knowledge.strict_yaml import load
from advisor.render.json import to_json
from advisor.sheet.model import Sheet


def sheet_on_record(path: str, named: str | None, folder: str, *, robustness: bool = False) -> Sheet:
    """The sheet of a job file, kept in a record before it is shown.

    The knowledge is read once, so that what is kept is what was used. Raises InputError where the job
    cannot be read or the record not be written.
    """
    if not folder.strip() or (Path(folder).exists() and not Path(folder).is_dir()):
        raise InputError(Problem("--record", "a folder is needed", given=folder))
    text, name = read_words(path)
    root = knowledge_folder() if named is None else Path(named)
    files = read_files(root)
    knowledge = load_files(files, root)
    sheet = sheet_for(parse_job(load(text, name), knowledge, name), knowledge, robustness=robustness)
    kept = record(Path(folder), sheet, to_json(sheet), text, files)
    say(f"Kept as {kept.sheet}")
    return sheet
