"""What a user may choose on the command line, checked at once and refused with the nearest spelling."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, cast

from advisor.cli.streams import check_output
from advisor.errors import AdvisorError, InputError, Problem, listing, nearest

FORMATS = ("markdown", "html", "json", "csv")
FINDING_FORMATS = ("text", "json", "sarif")
REPORT_FORMATS = ("text", "json")
UNITS = ("si", "us")
PROGRAM = "program"
VIEWS = ("sheet", "trial-card", "operator-card", "quote", PROGRAM)
_PROGRAM_FORMATS = ("csv", "json")

Format = Literal["markdown", "html", "json", "csv"]


@dataclass(frozen=True, slots=True)
class Wanted:
    """How a sheet is to be shown, and where it goes. A program is CSV, and CSV is a program."""

    format: Format
    units: Literal["si", "us"]
    view: str
    output: str | None


def wanted(
    format_: str | None, units: str, view: str, output: str | None, inputs: tuple[str, ...] = ()
) -> Wanted:
    """The checked choices. Raises InputError with everything that is wrong with them.

    Without a format a program comes as CSV and every other view as Markdown. `inputs` are files that
    the output must not overwrite.
    """
    program = view.lower() == PROGRAM
    chosen = format_ if format_ is not None else "csv" if program else "markdown"
    problems: list[Problem] = []
    checks = (
        lambda: one_of("--format", chosen, FORMATS),
        lambda: one_of("--units", units, UNITS),
        lambda: one_of("--view", view, VIEWS),
        lambda: _fitting(chosen.lower(), program),
        lambda: check_output(output, inputs),
    )
    for check in checks:
        try:
            check()
        except AdvisorError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    return Wanted(
        cast(Format, chosen.lower()), cast(Literal["si", "us"], units.lower()), view.lower(), output
    )


def _fitting(format_: str, program: bool) -> None:
    """Refuse a program in another form, and CSV of anything else."""
    if program and format_ in FORMATS and format_ not in _PROGRAM_FORMATS:
        raise InputError(Problem("--format", "a program has another form", format_, listing(_PROGRAM_FORMATS)))
    if format_ == "csv" and not program:
        raise InputError(Problem("--format", "only a program is CSV; add --view program", format_))


def one_of(option: str, given: str, allowed: Sequence[str]) -> str:
    """The choice meant, whatever its case. Raises InputError with all of them and the nearest.

    >>> one_of("--format", "JSON", ["markdown", "json"])
    'json'
    """
    if given.lower() in allowed:
        return given.lower()
    raise InputError(Problem(option, "unknown choice", given, listing(allowed), nearest(given, allowed)))
