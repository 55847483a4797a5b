"""The file in which learned factors are kept between `advisor trial learn` and `advisor recommend`."""

from __future__ import annotations

from pathlib import Path

from pydantic import ValidationError

from advisor.errors import InputError, Problem
from advisor.figures.learned import Learned
from advisor.knowledge.base import Knowledge
from advisor.knowledge.text_file import LIMIT_BYTES
from advisor.learning.mark import figures_mark

FILE = "learned.json"


def read_learned(folder: Path, knowledge: Knowledge) -> Learned:
    """The learned factors in a folder, made by `advisor trial learn --output FOLDER`.

    Raises InputError where there are none, where the file is damaged, and where they were learned on
    other published figures than those in use: laid upon these they would be wrong.
    """
    path = folder / FILE
    make = "make it with advisor trial learn --log LOG --output FOLDER"
    try:
        size = path.stat().st_size
        text = path.read_text(encoding="utf-8") if size <= LIMIT_BYTES * 4 else ""
    except FileNotFoundError:
        raise InputError(Problem(str(folder), f"holds no {FILE}; {make}")) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError(Problem(str(path), f"cannot be read: {reason}")) from None
    try:
        learned = Learned.model_validate_json(text)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"]) or "the file"
        raise InputError(Problem(str(path), f"is damaged at {where}; {make}")) from None
    if learned.knowledge != figures_mark(knowledge):
        what = f"was learned on other published figures than those in use; {make}"
        raise InputError(Problem(str(path), what))
    return learned
