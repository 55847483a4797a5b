"""The sheet of a job: made now, or kept from the last time that exactly the same was asked.

The same job and knowledge give the same sheet for one program, platform and set of dependencies, so a
sheet that was made before under all of these need not be made again.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import ValidationError

from advisor import store
from advisor.cli.streams import read_words
from advisor.knowledge.files import read_files
from advisor.knowledge.locate import knowledge_folder
from advisor.sheet.model import Sheet

if TYPE_CHECKING:
    from advisor.job.model import Job
    from advisor.knowledge.base import Knowledge

_KIND = "sheets"
_MOST = 200


def sheet_of(path: str, folder: str | None, *, robustness: bool = False) -> Sheet:
    """The sheet of a job file under the knowledge of a folder (the packaged one without).

    With `robustness` the sheet says how far its advice holds, which takes a second or two more.
    Raises InputError and KnowledgeError with every fault of the job and the folder.
    """
    text, name = read_words(path)
    root = Path(folder) if folder is not None else knowledge_folder()
    asked = [("job", name.encode()), ("text", text.encode()), ("folder", str(root).encode())]
    asked.append(("robustness", str(robustness).encode()))
    place = store.address([*asked, *read_files(root).items()], _program())
    kept = _kept(place)
    if kept is None:
        kept = _made(text, name, root, robustness)
        store.keep(_KIND, place, kept.model_dump_json().encode(), most=_MOST)
    return kept


def sheet_for(job: Job, knowledge: Knowledge, *, robustness: bool = False) -> Sheet:
    """The sheet of a job, made now."""
    from advisor.pipeline import Desk, recommend

    desk = Desk(knowledge)
    try:
        if robustness:
            from advisor.whatif.holds import recommend_with_holds

            return recommend_with_holds(job, desk)
        return recommend(job, desk)
    finally:
        desk.close()


def _made(text: str, name: str, root: Path, robustness: bool) -> Sheet:
    from advisor.job.read import parse_job
    from advisor.knowledge.load import load_knowledge
    from advisor.knowledge.strict_yaml import load

    node = load(text, name)
    knowledge = load_knowledge(root)
    return sheet_for(parse_job(node, knowledge, name), knowledge, robustness=robustness)


def _kept(place: str) -> Sheet | None:
    body = store.fetch(_KIND, place)
    if body is None:
        return None
    try:
        return Sheet.model_validate_json(body)
    except ValidationError:
        return None


def _program() -> list[Path]:
    """All code, so that nobody has to know which modules a sheet depends on."""
    package = Path(__file__).parents[1]
    return sorted(package.rglob("*.py"))
