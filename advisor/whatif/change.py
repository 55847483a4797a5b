"""Reads what is to be changed in a job: `field=value`, or `field=low..high` for a range."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from advisor.errors import InputError, Problem
from advisor.job.change import get_field, set_field
from advisor.job.model import Job
from advisor.job.read import parse_job
from advisor.job.write import cell_json, to_json
from advisor.knowledge.base import Knowledge
from advisor.knowledge.cell import Cell
from advisor.units import convert, find_unit

PLACE = "--change"
_FIELD = re.compile(r"(?P<field>[^=\[\]]*(?:\[[^\]]*\][^=\[\]]*)*)=(?P<value>.*)", re.DOTALL)
_RANGE = re.compile(r"(?P<low>.*?)\s*\.\.\s*(?P<high>.*)", re.DOTALL)
_AMOUNT = re.compile(r"(?P<number>[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(?P<unit>[^\d\s].*)?", re.DOTALL)
_WHOLE = ("batch",)


@dataclass(frozen=True, slots=True)
class Span:
    """A range of one quantity, ends included, with the unit both ends are written in (none: a bare number)."""

    low: float
    high: float
    unit: str
    whole: bool = False

    def text(self, value: float) -> str:
        """A value of the range as it stands in a job file."""
        number = str(round(value)) if self.whole else f"{value:.12g}"
        return f"{number} {self.unit}".strip()


@dataclass(frozen=True, slots=True)
class Wanted:
    """One change: the field, and its new value as text or its range."""

    field: str
    value: str
    span: Span | None = None


def read_change(text: str) -> Wanted:
    """The change in a text. Raises InputError where it is none.

    >>> read_change("start.depth=0.3 mm")
    Wanted(field='start.depth', value='0.3 mm', span=None)
    >>> read_change("features[outer sweep].radius = 5 mm..60 mm").span
    Span(low=5.0, high=60.0, unit='mm', whole=False)
    """
    match = _FIELD.fullmatch(text)
    if match is None or not match["field"].strip():
        example = "field=value, such as start.depth=0.3 mm, or a range: feature.radius=5 mm..60 mm"
        raise InputError(Problem(PLACE, "not a change", text, example))
    field, value = match["field"].strip(), match["value"].strip()
    return Wanted(field, value, _span(field, value))


def _span(field: str, value: str) -> Span | None:
    match = _RANGE.fullmatch(value)
    if match is None:
        return None
    first, last = _AMOUNT.fullmatch(match["low"].strip()), _AMOUNT.fullmatch(match["high"].strip())
    if first is None or last is None:
        what = f"a range of {field} needs a quantity at both ends"
        raise InputError(Problem(PLACE, what, value, "low..high, such as 5 mm..60 mm"))
    units = [(end["unit"] or "").strip() for end in (first, last)]
    unit = units[0] or units[1]
    low = float(first["number"])
    high = _in_unit(float(last["number"]), units[1] or unit, unit, value)
    whole = field.rpartition(".")[2] in _WHOLE
    if not low < high:
        raise InputError(Problem(PLACE, f"a range of {field} must rise", value, "the lower end first"))
    return Span(low, high, unit, whole)


def _in_unit(value: float, unit: str, wanted: str, given: str) -> float:
    if unit == wanted:
        return value
    here, there = find_unit(unit), find_unit(wanted)
    if here is None or there is None:
        lost = unit if here is None else wanted
        raise InputError(Problem(PLACE, f"unknown unit {lost!r} in a range", given))
    try:
        return convert(value, here, there)
    except ValueError:
        what = "the ends of a range are quantities of different kinds"
        raise InputError(Problem(PLACE, what, given)) from None


def changed_job(job: Job, values: Sequence[tuple[str, str]], knowledge: Knowledge) -> Job:
    """The job with fields set to other values, one after the other; nothing else is touched.

    Raises InputError with everything that is wrong: a field that is none, with what is allowed and the
    nearest; a value that the field cannot have.
    """
    written = to_json(job)
    if any(field.startswith("cell.") for field, _ in values):
        written["cell"] = _open(job.cell)
    try:
        for field, value in values:
            written = set_field(written, field, value)
        return parse_job(written, knowledge, PLACE)
    except InputError as error:
        raise InputError(_placed(problem) for problem in error.problems) from None


def value_of(job: Job, field: str, unit: str) -> float | None:
    """What a job gives for a quantity, in a unit; None where it gives none. Of two values the typical one."""
    written = to_json(job)
    if field.startswith("cell."):
        written["cell"] = _open(job.cell)
    found = get_field(written, field)
    found = found[0] if isinstance(found, list) and found else found
    amount = _AMOUNT.fullmatch(str(found)) if isinstance(found, (str, int, float)) else None
    if amount is None:
        return None
    here, there = find_unit((amount["unit"] or "").strip()), find_unit(unit)
    value = float(amount["number"])
    return value if here is None or there is None or here == there else convert(value, here, there)


def opened(job: Job, knowledge: Knowledge) -> Job:
    """The same job with its cell written out, so that a field of the cell can be changed and compared."""
    return parse_job({**to_json(job), "cell": _open(job.cell)}, knowledge, PLACE)


def _open(cell: Cell) -> dict[str, object]:
    return dict(cell_json(cell))


def _placed(problem: Problem) -> Problem:
    if problem.place.startswith(PLACE):
        return problem
    place = f"{PLACE}: {problem.place}" if problem.place else PLACE
    return Problem(place, problem.what, problem.given, problem.allowed, problem.nearest)
