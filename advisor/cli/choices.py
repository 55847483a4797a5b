"""What a user may choose on the command line, checked at once and refused with the nearest spelling."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, cast

from advisor.cli.streams import check_output
from advisor.errors import AdvisorError, InputError, Problem, listing, nearest

FORMATS = ("markdown", "html", "json")
FINDING_FORMATS = ("text", "json", "sarif")
REPORT_FORMATS = ("text", "json")
UNITS = ("si", "us")
VIEWS = ("sheet", "trial-card", "operator-card", "quote")


@dataclass(frozen=True, slots=True)
class Wanted:
    """How a sheet is to be shown, and where it goes."""

    format: Literal["markdown", "html", "json"]
    units: Literal["si", "us"]
    view: str
    output: str | None


def wanted(format_: str, units: str, view: str, output: str | None, inputs: tuple[str, ...] = ()) -> Wanted:
    """The checked choices. Raises InputError with everything that is wrong with them.

    `inputs` are files that the output must not overwrite.
    """
    problems: list[Problem] = []
    checks = (
        lambda: one_of("--format", format_, FORMATS),
        lambda: one_of("--units", units, UNITS),
        lambda: one_of("--view", view, VIEWS),
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
        cast(Literal["markdown", "html", "json"], format_.lower()),
        cast(Literal["si", "us"], units.lower()),
        view.lower(),
        output,
    )


def one_of(option: str, given: str, allowed: Sequence[str]) -> str:
    """The choice meant, whatever its case. Raises InputError with all of them and the nearest.

    >>> one_of("--format", "JSON", ["markdown", "json"])
    'json'
    """
    if given.lower() in allowed:
        return given.lower()
    raise InputError(Problem(option, "unknown choice", given, listing(allowed), nearest(given, allowed)))
