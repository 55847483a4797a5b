"""Every number in the trail recomputes: each line from its stated inputs, and each band from its coefficients."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import pytest
from hypothesis import given, settings

from advisor.explain.link import Link
from advisor.explain.numbers import number_links, number_terms
from advisor.explain.origins import Origins
from advisor.explain.point import Place, field_on_sheet, places
from advisor.figures.coefficients import Draws
from advisor.job.model import Job
from advisor.job.write import canonical_json
from advisor.pipeline import WorkedOut, sheet_of, work_out
from advisor.sheet.model import Band
from tests import invented
from tests.strategies import swept_jobs

NUMBERS = (
    "rpm",
    "force",
    "step_over",
    "removal",
    "remaining",
    "ra",
    "rz",
    "time",
    "power",
    "contact",
    "passes",
    "feed",
)
#: All that an equation of the trail may use besides the symbols of its inputs.
ARITHMETIC = {"max": max, "min": min, "exp": math.exp, "ceil": math.ceil, "pi": math.pi, "__builtins__": {}}


def lines(link: Link) -> Iterator[Link]:
    yield link
    for inner in link.because:
        yield from lines(inner)


def worked_again(link: Link) -> float:
    """What an equation gives for the inputs that stand below it: the reader's own calculation."""
    symbol, _, equation = str(link.equation).partition(" = ")
    assert symbol == link.symbol
    inputs = {str(each.symbol): each.value for each in link.because}
    assert len(inputs) == len(link.because), f"two inputs of one symbol in {equation}"
    return float(eval(equation, {**ARITHMETIC}, inputs))  # our own equation, no names but these


def check(job: Job) -> int:
    found = work_out(job, invented.desk())
    sheet = sheet_of(found, invented.knowledge())
    return sum(_step(place, found) for place in places(found, sheet))


def _step(place: Place, found: WorkedOut) -> int:
    origins = Origins.of_step(found, invented.knowledge(), place.plan, place.planned)
    drawn = Draws(canonical_json(found.job))
    told = 0
    for name in NUMBERS:
        for link in number_links(place, name, origins):
            for line in lines(link):
                if line.equation is not None:
                    assert worked_again(line) == pytest.approx(line.value, rel=1e-9, abs=1e-9), line.what
                    told += 1
        field = field_on_sheet(name)
        on_sheet = getattr(place.step, str(field))
        for term in number_terms(place, name, origins):
            if isinstance(on_sheet, Band):
                again = np.percentile(
                    np.asarray(term.draw(drawn)) + np.zeros(drawn.count), (5, 50, 95), method="nearest"
                )
                given_ = (on_sheet.low, on_sheet.expected, on_sheet.high)
                assert tuple(again) == pytest.approx(given_, rel=1e-6, abs=1e-6), (place.name, name)
            elif isinstance(on_sheet, (int, float)):
                assert term.value == pytest.approx(on_sheet, rel=1e-6, abs=0.5 if name == "rpm" else 1e-9), (
                    name
                )
    return told


@pytest.mark.parametrize("name", sorted(invented.JOBS))
def test_the_numbers_of_an_invented_job_recompute(name: str) -> None:
    assert check(invented.job(name)) > 20


@settings(max_examples=10, deadline=None)
@given(swept_jobs())
def test_the_numbers_of_any_job_recompute(job: Job) -> None:
    check(job)
