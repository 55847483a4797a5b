"""Works a job out again and puts a question to it."""

from __future__ import annotations

from pathlib import Path

from pydantic import ValidationError

from advisor.audit.record import knowledge_beside
from advisor.cli.streams import DASH, read_document, say
from advisor.errors import InputError, Problem
from advisor.explain import answer_not
from advisor.explain.answer import explain
from advisor.explain.answer_not import WhyNot, explain_not
from advisor.explain.point import Question
from advisor.explain.show import to_json, to_text
from advisor.explain.smallest import SECONDS
from advisor.figures.learned import Learned
from advisor.job.model import Job
from advisor.job.read import parse_job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.strict_yaml import Node, plain
from advisor.pipeline import Desk, sheet_of, work_out

#: How deep the chains below a contrast are told where nobody says.
DEPTH_OF_NOT = 2


def answer(
    path: str, folder: str | None, question: Question, depth: int | None, form: str, search: bool
) -> str:
    """The answer to a question about a job, as text or JSON.

    Raises InputError where the job cannot be read or the question is about something that does not exist.
    """
    node, name = read_document(path)
    base = load_knowledge(Path(folder) if folder is not None else _beside(node, path))
    job = _job(node, base, name)
    desk = Desk(base, learned=_learned(node, name))
    try:
        found = work_out(job, desk)
        sheet = sheet_of(found, base)
        if question.option is not None:
            return _not(
                explain_not(question, found, sheet, base, _progress, SECONDS if search else None), depth, form
            )
        links, usual = explain(question, found, sheet, base)
    finally:
        desk.close()
    deep = usual if depth is None else depth
    return to_json(links, deep) if form == "json" else to_text(links, deep)


def _not(told: WhyNot, depth: int | None, form: str) -> str:
    deep = DEPTH_OF_NOT if depth is None else depth
    return answer_not.to_json(told, deep) if form == "json" else answer_not.to_text(told, deep)


def _progress(note: str) -> None:
    say(f"Looking for the smallest changes: {note} ...")


def _learned(node: Node, name: str) -> Learned | None:
    """What trials had taught a stored sheet; None where the file is none, or was made without."""
    fields = node.value if isinstance(node.value, dict) else {}
    kept = plain(fields["learned_from"]) if {"sheet_version", "learned_from"} <= fields.keys() else None
    try:
        return None if kept is None else Learned.model_validate(kept)
    except ValidationError:
        raise InputError(Problem(f"{name}: learned_from", "damaged; 'advisor replay' says where")) from None


def _beside(node: Node, path: str) -> Path | None:
    """The knowledge of the record in which a stored sheet lies, None where it lies in none."""
    fingerprint = _fingerprint(node)
    return None if fingerprint is None or path == DASH else knowledge_beside(Path(path), fingerprint)


def _fingerprint(node: Node) -> str | None:
    """The fingerprint of the knowledge that a stored sheet names; None where the file is none."""
    fields = node.value if isinstance(node.value, dict) else {}
    stored = fields.get("knowledge") if "sheet_version" in fields else None
    inner = stored.value.get("fingerprint") if stored is not None and isinstance(stored.value, dict) else None
    return inner.value if inner is not None and isinstance(inner.value, str) else None


def _job(node: Node, base: Knowledge, name: str) -> Job:
    """The job of a file: a job file itself, or the one that a stored sheet carries."""
    fields = node.value if isinstance(node.value, dict) else {}
    if "sheet_version" not in fields or "job" not in fields:
        return parse_job(node, base, name)
    if _fingerprint(node) not in (None, base.fingerprint):
        say(
            f"{name}: made with another knowledge; explained with the one at hand ('advisor replay' compares)."
        )
    return parse_job(fields["job"], base, name)
