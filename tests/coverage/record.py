"""The whole sweep as a page of letters, kept beside the coverage page so that a test can hold it to today.

One letter a combination: the cell that has the plan, a dot for a refusal, an exclamation mark for an error.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from string import ascii_lowercase

from advisor.coverage.answers import Answer, Coverage
from advisor.coverage.grid import Combination, Grid

REFUSED, FAULT = ".", "!"
_HEAD = "# Which cell has the plan for each combination; written by `python -m tests.refresh_coverage`."


@dataclass(frozen=True, slots=True)
class Record:
    """What the page was made from: the knowledge, the axes, and a letter for each combination."""

    fingerprint: str
    finishes: tuple[str, ...]
    cells: tuple[str, ...]
    letters: Mapping[Combination, str]


def letter(answer: Answer, cells: tuple[str, ...]) -> str:
    """The letter of one answer.

    >>> square = Combination("brass", "burr", "flat", "mirror")
    >>> letter(Answer(square, cell="bench"), ("arm", "bench")), letter(Answer(square), ("arm", "bench"))
    ('b', '.')
    """
    if answer.fault:
        return FAULT
    return ascii_lowercase[cells.index(answer.cell)] if answer.cell is not None else REFUSED


def to_record(coverage: Coverage) -> str:
    """A sweep as text: the axes, then a line for each family, shape and defect with a letter a finish."""
    grid = coverage.grid
    told = {answer.combination: letter(answer, grid.cells) for answer in coverage.answers}
    return "\n".join([*_opening(coverage), *_lines(grid, told)]) + "\n"


def _opening(coverage: Coverage) -> Iterator[str]:
    cells = zip(ascii_lowercase, coverage.grid.cells, strict=False)
    yield _HEAD
    yield f"knowledge: {coverage.fingerprint}"
    yield f"cells: {', '.join(f'{sign} {cell}' for sign, cell in cells)}"
    yield f"letters, one a finish: {' '.join(coverage.grid.finishes)}"


def _lines(grid: Grid, told: Mapping[Combination, str]) -> Iterator[str]:
    for family in grid.families:
        for shape in grid.shapes:
            yield f"{family}, {shape}"
            for defect in grid.defects:
                row = "".join(told[Combination(family, defect, shape, finish)] for finish in grid.finishes)
                yield f"  {row} {defect}"


def read_record(text: str) -> Record:
    """The record that a text holds."""
    head, knowledge, cells, finishes, *rows = text.splitlines()
    assert head == _HEAD
    columns = tuple(finishes.split(": ")[1].split(" "))
    letters: dict[Combination, str] = {}
    family = shape = ""
    for row in rows:
        if row.startswith("  "):
            signs, defect = row.split()
            for finish, sign in zip(columns, signs, strict=True):
                letters[Combination(family, defect, shape, finish)] = sign
        else:
            family, shape = row.split(", ")
    named = tuple(each.split(" ")[1] for each in cells.removeprefix("cells: ").split(", "))
    return Record(knowledge.removeprefix("knowledge: "), columns, named, letters)
