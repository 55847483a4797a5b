"""Opens a trial log for a command: what was left out is told on standard error, the rest is used."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from advisor.cli.streams import say
from advisor.cli.trialling import log_folder
from advisor.knowledge.base import Knowledge
from advisor.knowledge.load import load_knowledge
from advisor.trials.log import Log, read_log
from advisor.trials.model import Trial
from advisor.trials.work import read_work

_TOLD = 20


def opened(log: str | None, knowledge: str | None) -> tuple[Knowledge, Log]:
    """The knowledge and the log to work with.

    Raises KnowledgeError or InputError where one of them cannot be read.
    """
    base = load_knowledge(None if knowledge is None else Path(knowledge))
    read = read_log(log_folder(log, knowledge), base, must_exist=log is not None)
    tell(read)
    return base, read


def opened_for(identity: str, log: str | None, knowledge: str | None) -> tuple[Knowledge, Trial, Log]:
    """The knowledge, a trial, and the log as far as the step of that trial goes.

    Raises KnowledgeError or InputError where one of them cannot be read.
    """
    base = load_knowledge(None if knowledge is None else Path(knowledge))
    folder = log_folder(log, knowledge)
    if log is None and not folder.exists():
        return base, Log(folder).find(identity), Log(folder)  # says that there is no trial yet
    one, read = read_work(folder, identity, base)
    tell(read)
    return base, one, read


def tell(log: Log) -> None:
    """Say what was left out, and which trials lie ahead of this machine's clock."""
    for problem in log.left_out[:_TOLD]:
        say(str(problem))
    if len(log.left_out) > _TOLD:
        say(f"... and {len(log.left_out) - _TOLD} more")
    if log.left_out:
        sound = len(log.trials) + log.unread
        say(f"{len(log.left_out)} problem(s) in {log.folder}; the other {sound} trials are used.")
    tomorrow = (datetime.now(UTC) + timedelta(days=1)).date()
    ahead = [each.id for each in log.trials if each.when[0] and date.fromisoformat(each.when[0]) > tomorrow]
    if ahead:
        say(
            f"{len(ahead)} trial(s) lie ahead of this machine's clock ({ahead[0]} ...): one of the two is wrong."
        )
