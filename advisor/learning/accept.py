"""Accepts a proposal: decides whether its change may be written, and what exactly is written."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from advisor.errors import InputError, Problem, listing, nearest
from advisor.knowledge.base import Knowledge
from advisor.knowledge.locate import knowledge_folder
from advisor.learning.propose import Change, Proposer


def find(identity: str, changes: Sequence[Change]) -> Change:
    """The proposal of an id. Raises InputError where the log no longer supports it."""
    for change in changes:
        if change.proposal.id == identity.strip():
            return change
    ids = [change.proposal.id for change in changes]
    what = "no such proposal now: the log or the knowledge may have changed since it was made"
    allowed = listing(ids, 12) if ids else "there is no proposal at all"
    raise InputError(Problem("--apply", what, identity, allowed, nearest(identity, ids)))


def writable(folder: Path | None) -> Path:
    """The folder of knowledge that may be changed. Raises InputError for the packaged one."""
    if folder is None or (folder.resolve() == knowledge_folder().resolve() and _packaged(folder)):
        what = "the packaged knowledge is not changed: copy it, and name the copy with --knowledge FOLDER"
        raise InputError(Problem("--apply", what))
    if not folder.is_dir():
        raise InputError(Problem("--knowledge", "a proposal is written into a folder of files", str(folder)))
    return folder


def _packaged(folder: Path) -> bool:
    """Whether a folder lies inside the installed program, where the next release would overwrite it."""
    return "data" in folder.resolve().parts and "advisor" in folder.resolve().parts


def accepted(change: Change, proposer: Proposer, knowledge: Knowledge) -> str:
    """The whole new text of the proposal's file.

    Raises InputError where the check finds faults with it, where the file is laid out otherwise, and,
    whatever the proposal, for a rule of safety.
    """
    proposal = change.proposal
    rule = knowledge.rule.get(proposal.rule)
    if rule is not None and rule.concern == "safety":
        raise InputError(Problem("--apply", "a rule of safety is not weakened by trials", proposal.rule))
    if change.text is None:
        raise InputError(Problem(proposal.file, "the change does not fit its layout: edit it by hand"))
    examined = proposer.examined(change).proposal
    if examined.checks:
        head = Problem("--apply", f"{len(examined.checks)} fault(s) with this change; nothing was written")
        raise InputError([head, *(Problem(proposal.file, fault) for fault in examined.checks[:10])])
    return change.text
