"""A long log as the commands leave it, written without waiting for the disk at each trial."""

from __future__ import annotations

from pathlib import Path

from advisor.trials.write import file_text, identity, to_plain
from tests.learning.trials import read_trials, shop_trials


def written(folder: Path, count: int) -> Path:
    """A folder with so many trials on the demo jobs, each with another force."""
    contents = list(shop_trials(count))
    for number, content in enumerate(contents):
        force = float(content["used"]["force"].split()[0])
        content["used"]["force"] = f"{force * (1 + 1e-4 * (number % 997)):.6g} N"
    for trial in read_trials(contents):
        stamped = trial.model_copy(update={"id": "", "stored": "2026-06-01T09:30:00.000000Z"})
        text = file_text(to_plain(stamped))
        (folder / f"{identity(text)}.yaml").write_text(text, encoding="utf-8")
    return folder
