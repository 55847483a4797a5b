"""A small trial log on the disk: trials that the log stored itself, and one that a person laid there."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path

from advisor.figures.learned import Learned
from advisor.job.model import Job
from advisor.learning.teach import teach
from advisor.trials.log import Log, read_log
from advisor.trials.store import store
from tests.learning.trials import desk, knowledge, places, plain_trial, read_trials, sheets, shop_trials

FIRST = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


def job() -> Job:
    """The job that the sheets of these tests are for."""
    return sheets()[-1][0]


@cache
def learned() -> Learned:
    """What a shop's trials taught."""
    return teach(read_trials(shop_trials(60)), desk()).learned


def fill(folder: Path, count: int = 8, since: int = 0) -> Path:
    """Put trials into a log, an hour apart."""
    trials = read_trials(list(shop_trials(since + count))[since:])
    for number, trial in enumerate(trials, start=since):
        store(trial.model_copy(update={"id": ""}), folder, FIRST + timedelta(hours=number))
    return folder


def lay_by_hand(folder: Path, verdict: str = "fail") -> None:
    """A trial as a person writes it, with its job in a file of its own."""
    content = plain_trial(places()[-1], verdict=verdict, date="2026-02-20")
    (folder / "handle.yaml").write_text(json.dumps(content.pop("job")), encoding="utf-8")
    (folder / "friday.yaml").write_text(json.dumps({"job": "handle.yaml", **content}), encoding="utf-8")


def read(folder: Path) -> Log:
    """The log as a command reads it."""
    return read_log(folder, knowledge())
