"""Proposes coefficients that this shop's trials have moved, as changed rows of the coefficient table."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from advisor.errors import InputError
from advisor.knowledge.base import Knowledge
from advisor.knowledge.reference import Band, Coefficient
from advisor.learning.calibrate import Fit, factor_over
from advisor.learning.proposal import Evidence, Proposal, proposal_id
from advisor.learning.teach import Lesson
from advisor.learning.yaml_edit import Stretch, find_block, listed, replaced, scalar

FILE = "reference/coefficients.yaml"
#: A row is moved by no fewer trials, and by no less than this much. Own choice.
FEWEST = 8
LEAST = 0.10
#: More energy for the same metal means less depth.
_INVERSE = "specific_energy_80"


def moved_rows(lesson: Lesson, knowledge: Knowledge, text: str) -> Iterator[tuple[Proposal, str | None]]:
    """A proposal for every row that enough trials disagree with, and the file with the row changed.

    Where the file is laid out in a way that is not edited, the proposal comes without one.

    The whole band moves and keeps its relative width, which is that of shops at large. Where the 95 %
    band of the factor holds 1, or nearly, nothing is proposed. A row of one family or grade is moved
    by the trials that use it, whatever else they have in common.
    """
    for found in lesson.fits:
        rows: dict[str, list[int]] = {}
        for place, reading in enumerate(found.readings):
            if reading.row is not None:
                rows.setdefault(reading.row, []).append(place)
        for key, places in sorted(rows.items()):
            proposal = _proposal(found, knowledge.tables.coefficients[key], places, text)
            if proposal is not None:
                yield proposal


def _proposal(
    found: Fit, row: Coefficient, places: list[int], text: str
) -> tuple[Proposal, str | None] | None:
    trials = tuple(sorted({found.readings[place].trial for place in places}))
    low, factor, high = factor_over(found, places)
    if len(trials) < FEWEST or low <= 1.0 <= high or abs(math.log(factor)) < LEAST:
        return None
    times = 1.0 / factor if row.symbol == _INVERSE else factor
    band = Band.model_validate(
        {name: float(f"{value * times:.3g}") for name, value in row.band.model_dump().items()}
    )
    says = (
        f"{row.name}: {row.band.expected:g} to {band.expected:g} {row.unit if row.unit != '1' else ''}".rstrip()
        + f". In {len(trials)} trials the {found.coefficient} was {factor:.2f} times the published "
        f"(95 % {low:.2f} to {high:.2f})."
    )
    strength = (
        f"the 95 % band of the factor, {low:.2f} to {high:.2f}, leaves out 1; "
        f"{len(trials)} trials{_one_cell(found, places)}"
    )
    new: str | None
    try:
        new = with_band(text, row, band, f"Moved by {times:.3g} on the trials under evidence.", trials)
        change = find_block(new, f"key: {row.key}", FILE).text()
    except InputError as error:
        new, change = None, f"# to be edited by hand, {error.problems[0].what}\nband: {band.model_dump()}\n"
    evidence = Evidence(trials=trials, counts={"trials": len(trials)})
    proposal = Proposal(
        id=proposal_id("coefficient", row.key, f"{band.expected:g}"), kind="coefficient", rule=row.key,
        says=says, change=change, file=FILE, evidence=evidence, strength=strength,
    )  # fmt: skip
    return proposal, new


def _one_cell(found: Fit, places: list[int]) -> str:
    cells = {found.readings[place].scope.get("cell") for place in places}
    return ", all in one cell, so it may be the cell and not the metal" if len(cells) == 1 else ""


def with_band(text: str, row: Coefficient, band: Band, note: str, trials: Sequence[str]) -> str:
    """The coefficient file with another band for a row, a note that says why, and the trials as evidence.

    Raises InputError where the row is laid out otherwise.
    """
    block = find_block(text, f"key: {row.key}", FILE)
    end = Stretch(block.end, block.end)
    kept = f"{row.note} {note}" if row.note else note
    evidence = listed(dict.fromkeys((*row.evidence, *trials)))
    changes: dict[Stretch, list[str]] = {}
    for name, lines in (
        ("band", ["  band:", *(f"    {name}: {value!r}" for name, value in band.model_dump().items())]),
        ("note", [f"  note: {scalar(kept)}"]),
        ("evidence", [f"  evidence: {evidence}"]),
    ):
        place = block.field(name) or end
        changes[place] = [*changes.get(place, []), *lines]
    return replaced(block, changes)
