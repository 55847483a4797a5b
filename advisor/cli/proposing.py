"""Runs `advisor trial propose`: shows what the log suggests, or writes one change into the knowledge."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from advisor.cli.progress import Bar
from advisor.cli.streams import emit, say, write_whole
from advisor.cli.trial_log import opened
from advisor.errors import InputError, Problem
from advisor.knowledge.locate import knowledge_folder
from advisor.learning.accept import accepted, find, writable
from advisor.learning.impact_on_jobs import ImpactBench
from advisor.learning.propose import Change, Proposer
from advisor.learning.show_proposals import to_json, to_text
from advisor.pipeline import Desk

#: Both matchers give the same answers; this one opens at once.
MATCHER = "plain"


def show_proposals(log: str | None, knowledge: str | None, form: str, quick: bool) -> None:
    """Print every proposal. Raises InputError or KnowledgeError where log or knowledge cannot be read."""
    base, read = opened(log, knowledge)
    folder = Path(knowledge) if knowledge is not None else knowledge_folder()
    if not folder.is_dir():
        raise InputError(Problem("--knowledge", "proposals are made for a folder of files", str(folder)))
    proposer = Proposer(Desk(base, MATCHER), folder)
    changes: tuple[Change, ...] = proposer.changes(read.standing)
    if not quick:
        changes = tuple(_examined(changes, proposer, ImpactBench(base, folder, jobs := Bar()), jobs))
    proposals = [change.proposal for change in changes]
    emit(to_json(proposals) if form == "json" else to_text(proposals, len(read.standing)))


def _examined(
    changes: Sequence[Change], proposer: Proposer, bench: ImpactBench, jobs: Bar
) -> Iterator[Change]:
    """Every change checked and tried on the worked jobs, with a bar on a screen: first the jobs, then they."""
    tried = Bar()
    for number, change in enumerate(changes):
        yield proposer.examined(change, bench)
        if number == 0:
            jobs.end()
        tried(number + 1, len(changes))
    tried.end()


def _bytes(path: Path) -> bytes | None:
    """What a file holds now; None where there is none yet. Raises InputError where it cannot be read."""
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise InputError(Problem(str(path), f"cannot be read: {error.strerror}")) from None


def apply_proposal(identity: str, log: str | None, knowledge: str | None) -> None:
    """Write the change of one proposal into its file, whole or not at all.

    Raises InputError where it may not be: the packaged knowledge, a proposal that no longer stands, faults
    that the check finds, a file that somebody changed meanwhile.
    """
    folder = writable(None if knowledge is None else Path(knowledge))
    base, read = opened(log, knowledge)
    proposer = Proposer(Desk(base, MATCHER), folder)
    change = find(identity, proposer.changes(read.standing))
    target = folder / change.proposal.file
    before = _bytes(target)
    text = accepted(change, proposer, base)
    if _bytes(target) != before:
        raise InputError(Problem(str(target), "was changed by somebody else meanwhile; nothing was written"))
    write_whole(str(target), text)
    say(f"Wrote {target}")
    emit(f"{change.proposal.id}: {change.proposal.says}\n")
