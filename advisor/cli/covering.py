"""The command `coverage`: runs the sweep with a bar on standard error and shows what it found."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from advisor.cli.progress import Bar
from advisor.cli.streams import check_output, say, write_whole
from advisor.coverage.answers import Coverage
from advisor.coverage.picture import to_svg
from advisor.coverage.report import to_json, to_markdown, to_text
from advisor.coverage.sweep import sweep
from advisor.errors import AdvisorError, InputError, Problem, listing, nearest
from advisor.knowledge.base import Knowledge

SWEEP_FORMATS = ("text", "json", "markdown")
_WRITERS = {"text": to_text, "json": to_json, "markdown": to_markdown}


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
    bar = Bar()
    where = None if folder is None else Path(folder)
    found = sweep(knowledge, where, tuple(dict.fromkeys(cells)), sample, progress=bar)
    bar.end()
    say(f"{len(found.answers):,} combinations in {bar.seconds:.0f} s")
    return found


def show(found: Coverage, form: str, output: str | None, picture: str | None) -> None:
    """Write the report, and the picture where one is wanted."""
    if picture is not None:
        write_whole(picture, to_svg(found))
    write_whole(output, _WRITERS[form](found))
