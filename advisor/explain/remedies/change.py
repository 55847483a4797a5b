"""One change of a job, its cell or the knowledge, and the job that some changes make."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from advisor.job.change import set_field
from advisor.job.model import Job
from advisor.job.read import parse_job
from advisor.job.write import cell_json, to_json
from advisor.knowledge.base import Knowledge
from advisor.units import figure

_NUMBER = re.compile(r"(\d+(?:\.\d+)?)( [a-zA-Z]\S*)?")


@dataclass(frozen=True, slots=True)
class Change:
    """One change: a field of the job set to a value, or a rule left out.

    `rank` is how far it is. `attribute` is what the rules call the field, empty where they have no one name
    for it; `number` is the new value in the unit of the attribute, None for a word. `at_limit` is a number
    that was picked for a limit nearby: it stands for all on its side of the limit. `sets` is the field of
    the models that it sets (owner, field, value), where nothing else follows from it.
    """

    field: str
    value: str
    rank: float
    rule: str | None = None
    attribute: str = ""
    number: float | None = None
    at_limit: bool = False
    sets: tuple[str, str, object] | None = None

    def __str__(self) -> str:
        return f"without rule {self.rule}" if self.rule else f"{self.field}={self.value}"

    @property
    def place(self) -> str:
        """What is changed, whatever to: two changes of one place do not go together."""
        return f"rule {self.rule}" if self.rule else self.field

    def moved(self, number: float, present: float) -> Change:
        """The same number set to another value.

        >>> Change("start.depth", "0.4 mm", 0.3, None, "depth_mm", 0.4).moved(0.25, 0.2).value
        '0.25 mm'
        """
        unit = number_in(self.value)
        assert unit is not None
        text = unit[1].format(figure(number))
        return Change(
            self.field, text, abs(math.log(number / present)), None, self.attribute, float(text.split()[0])
        )


def number_in(text: str) -> tuple[float, str] | None:
    """The number in a typed value and the pattern around it; None where there is not just one.

    >>> number_in("0.3 mm"), number_in("[8 N, 60 N]"), number_in("satin-fine")
    ((0.3, '{} mm'), None, None)
    """
    match = _NUMBER.fullmatch(text)
    return (float(match[1]), "{}" + (match[2] or "")) if match else None


def changed(job: Job, changes: Iterable[Change], knowledge: Knowledge) -> Job:
    """The job with some fields changed, read again from its text.

    Raises InputError where the result is no job.
    """
    data: dict[str, Any] = to_json(job)
    for change in changes:
        if change.rule is not None:
            continue
        if change.field.startswith("cell.") and isinstance(data.get("cell"), str):
            data["cell"] = cell_json(job.cell)
        data = set_field(data, change.field, change.value)
    return parse_job(data, knowledge, job.name)


def left_out(changes: Iterable[Change]) -> frozenset[str]:
    """The rules that some changes leave out."""
    return frozenset(change.rule for change in changes if change.rule is not None)
