"""The command `coverage`: runs the sweep with a bar on standard error and shows what it found."""

from __future__ import annotations

import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from advisor.cli.streams import check_output, prompt, say, write_whole
from advisor.coverage.answers import Coverage
from advisor.coverage.picture import to_svg
from advisor.coverage.report import to_json, to_markdown, to_text
from advisor.coverage.sweep import sweep
from advisor.errors import AdvisorError, InputError, Problem, listing, nearest
from advisor.knowledge.base import Knowledge

SWEEP_FORMATS = ("text", "json", "markdown")
_WIDTH = 30
_WRITERS = {"text": to_text, "json": to_json, "markdown": to_markdown}


@dataclass(slots=True)
class Bar:
    """How far the sweep is: drawn again and again on a screen, left out in a log."""

    began: float

    def __call__(self, done: int, of: int) -> None:
        """Draw the bar."""
        if sys.stderr is not None and sys.stderr.isatty():
            prompt_bar(done, of, time.monotonic() - self.began)


def prompt_bar(done: int, of: int, seconds: float) -> None:
    """One state of the bar, over the last one."""
    sys.stderr.write("\r")
    prompt(bar_line(done, of, seconds))


def bar_line(done: int, of: int, seconds: float) -> str:
    """The bar with the count, the time gone, and the time it will take yet.

    >>> bar_line(50, 200, 10.0)
    '[#######-----------------------] 50 of 200, 10 s, about 30 s to go'
    """
    filled = _WIDTH * done // of if of else _WIDTH
    left = f", about {seconds * (of - done) / done:.0f} s to go" if 0 < done < of else " " * 20
    return f"[{'#' * filled}{'-' * (_WIDTH - filled)}] {done:,} of {of:,}, {seconds:.0f} s{left}"


def check_wanted(
    cells: Sequence[str], sample: int | None, outputs: Sequence[str | None], knowledge: Knowledge
) -> None:
    """Refuse cells nobody knows, an empty sample, and outputs that cannot be written. Raises InputError."""
    problems: list[Problem] = []
    known = tuple(knowledge.tables.cells)
    problems += [
        Problem("--cell", "unknown cell", cell, listing(known), nearest(cell, known))
        for cell in cells
        if cell not in known
    ]
    if sample is not None and sample < 1:
        problems.append(Problem("--sample", "too few combinations", str(sample), "1 or more"))
    for output in outputs:
        try:
            check_output(output)
        except AdvisorError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)


def run_sweep(knowledge: Knowledge, folder: str | None, cells: Sequence[str], sample: int | None) -> Coverage:
    """The sweep, with its bar while it runs and its time at the end."""
    began = time.monotonic()
    found = sweep(
        knowledge,
        None if folder is None else Path(folder),
        tuple(dict.fromkeys(cells)),
        sample,
        progress=Bar(began),
    )
    if sys.stderr is not None and sys.stderr.isatty():
        say("")
    say(f"{len(found.answers):,} combinations in {time.monotonic() - began:.0f} s")
    return found


def show(found: Coverage, form: str, output: str | None, picture: str | None) -> None:
    """Write the report, and the picture where one is wanted."""
    if picture is not None:
        write_whole(picture, to_svg(found))
    write_whole(output, _WRITERS[form](found))
