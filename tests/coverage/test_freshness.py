"""The coverage page is of today: its record has today's axes, its sums follow from it, a sample comes out anew.

Sweeping all takes minutes, so a sample of it is swept, the same in every run. With 200 of 200 as recorded,
at most 1.5 in 100 can differ with 95 in 100 certainty (the rule of three).
"""

from __future__ import annotations

import re
from collections import Counter

import pytest

from advisor.coverage.answers import Answer, Coverage
from advisor.coverage.grid import Grid
from advisor.coverage.sensible import read_unusual, why_unusual
from advisor.knowledge.load import load_knowledge
from tests.coverage.record import FAULT, REFUSED, Record, letter, read_record, to_record
from tests.refresh_coverage import PAGE, PICTURE, RECORD

KNOWLEDGE = load_knowledge()
#: Which of several cells comes first may shift with a figure; whether there is a plan at all may not.
SAME_CELL = 0.95


@pytest.fixture(scope="module")
def record() -> Record:
    return read_record(RECORD.read_text(encoding="utf-8"))


def test_the_record_has_every_combination_of_today(record: Record) -> None:
    grid = Grid.of(KNOWLEDGE)
    assert record.cells == grid.cells
    assert record.finishes == grid.finishes
    assert set(record.letters) == set(grid.combinations())
    assert FAULT not in record.letters.values()


def test_the_page_names_the_knowledge_it_was_made_with(record: Record) -> None:
    page = PAGE.read_text(encoding="utf-8")
    assert re.findall(r"`(sha256:[0-9a-f]{64})`", page) == [record.fingerprint]
    assert PICTURE.read_text(encoding="utf-8").count(record.fingerprint) == 1


@pytest.mark.parametrize("axis", ["family", "defect", "shape", "finish"])
def test_the_sums_of_the_page_follow_from_the_record(axis: str, record: Record) -> None:
    unusual = read_unusual()
    sensible: Counter[str] = Counter()
    planned: Counter[str] = Counter()
    for combination, sign in record.letters.items():
        if why_unusual(combination, unusual) is None:
            sensible[getattr(combination, axis)] += 1
            planned[getattr(combination, axis)] += sign != REFUSED
    page = PAGE.read_text(encoding="utf-8").split(f"### By {axis}\n")[1].split("###")[0]
    rows = re.findall(r"^\| `([^`]+)` \| ([\d,]+) \| ([\d,]+) \|", page, re.MULTILINE)
    assert {key: (int(a.replace(",", "")), int(b.replace(",", ""))) for key, a, b in rows} == {
        key: (sensible[key], planned[key]) for key in sensible
    }


def test_a_sample_of_the_sweep_comes_out_as_recorded(record: Record, swept: Coverage) -> None:
    """Whoever changes what has a plan runs `python -m tests.refresh_coverage`."""
    today = {answer.combination: letter(answer, record.cells) for answer in swept.answers}
    moved = {
        str(square): f"{record.letters[square]} is now {sign}" for square, sign in today.items()
        if (record.letters[square] == REFUSED) is not (sign == REFUSED)
    }  # fmt: skip
    assert not moved
    same = sum(record.letters[square] == sign for square, sign in today.items())
    assert same >= SAME_CELL * len(today)


def test_a_record_is_read_as_it_was_written() -> None:
    grid = Grid({"brass": "c26000"}, ("burr", "paint"), ("flat", "edge"), ("mirror", "bright"), ("bench",))
    cells = ("bench", None, "bench", "bench", None, "bench", "bench", "bench")
    answers = tuple(Answer(square, cell=cell) for square, cell in zip(grid.combinations(), cells, strict=True))
    again = read_record(to_record(Coverage(grid, "sha256:0", True, answers)))
    assert list(again.letters.values()) == ["a", ".", "a", "a", ".", "a", "a", "a"]
    assert list(again.letters) == list(grid.combinations())
    assert (again.fingerprint, again.cells, again.finishes) == ("sha256:0", ("bench",), ("mirror", "bright"))
