"""Holds two knowledge folders against each other on the known jobs and shows what moved."""

from __future__ import annotations

from pathlib import Path

from advisor.cli.progress import Bar
from advisor.cli.streams import emit, say
from advisor.impact.report import impact
from advisor.impact.show import summary, to_json, to_text
from advisor.knowledge.locate import knowledge_folder


def show_impact(old: str, new: str | None, log: str | None, form: str) -> bool:
    """Print the report in a form ("json" or "text") and say whether anything changed.

    `new` is the packaged knowledge where no folder is named; `log` a trial log whose jobs are looked at
    too. Raises KnowledgeError or InputError for a folder that cannot be read.
    """
    bar = Bar()
    after = knowledge_folder() if new is None else Path(new)
    try:
        report = impact(Path(old), after, None if log is None else Path(log), bar)
    finally:
        bar.end()
    for problem in report.left_out:
        say(f"left out: {problem}")
    if form == "json":
        emit(to_json(report))
        say(summary(report))
    else:
        emit(to_text(report))
    return bool(report.changed)
