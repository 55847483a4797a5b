"""The JSON of a sheet: stable bytes, rounded numbers, and clear words for what is not a sheet."""

from __future__ import annotations

import json
import subprocess
import sys
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.errors import InputError
from advisor.render.json import from_json, to_json
from advisor.sheet.model import Sheet
from tests.sheet.sample import sample_sheet


def _with(**changes: Any) -> Sheet:
    return sample_sheet().model_copy(update=changes)


def test_it_reads_back_as_the_same_sheet() -> None:
    sheet = sample_sheet()
    assert from_json(to_json(sheet)) == sheet


def test_the_text_is_utf8_with_line_feeds_and_one_final_newline() -> None:
    text = to_json(_with(job={"name": "Türgriff 把手"}))
    assert "Türgriff 把手" in text
    assert "\r" not in text
    assert text.endswith("}\n") and not text.endswith("\n\n")


def test_keys_stand_in_schema_order() -> None:
    data = json.loads(to_json(sample_sheet()))
    assert list(data) == list(Sheet.model_fields)


@pytest.mark.parametrize(
    ("given_value", "written"),
    [
        (0.12345650000, "0.123456"),  # a tie goes to the even digit
        (0.1234575, "0.123458"),
        (2101.3456789, "2101.35"),
        (1234567.0, "1234570.0"),
        (-0.0, "0.0"),
        (45.0, "45.0"),
        (1e-7, "1e-07"),
    ],
)
def test_numbers_are_rounded_half_even_to_six_digits(given_value: float, written: str) -> None:
    text = to_json(_with(job={"value": given_value}))
    assert f'"value": {written}\n' in text


def test_whole_numbers_are_left_whole() -> None:
    assert '"batch": 1234567\n' in to_json(_with(job={"batch": 1234567}))


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_writing_twice_gives_the_same_bytes(value: float) -> None:
    once = to_json(_with(job={"value": value}))
    assert to_json(from_json(once)) == once


def test_the_bytes_do_not_depend_on_the_process() -> None:
    code = (
        "from tests.sheet.sample import sample_sheet; from advisor.render.json import to_json; import sys;"
        "sys.stdout.buffer.write(to_json(sample_sheet()).encode())"
    )
    seen = {
        subprocess.run(
            [sys.executable, "-c", code], check=True, capture_output=True, env={"PYTHONHASHSEED": seed}
        ).stdout
        for seed in ("1", "2")
    }
    assert seen == {to_json(sample_sheet()).encode()}


def test_a_number_that_is_not_finite_is_not_written() -> None:
    with pytest.raises(ValueError, match="finite"):
        to_json(_with(job={"value": float("nan")}))


def _changed(path: str, value: Any) -> str:
    data = json.loads(to_json(sample_sheet()))
    place = data
    *way, last = (int(part) if part.isdigit() else part for part in path.split("/"))
    for part in way:
        place = place[part]
    place[last] = value
    return json.dumps(data)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "not valid JSON"),
        ('{"sheet_version": 1,}', "sheet.json:1:"),
        ("[]", "not a process sheet"),
        ('{"name": "rail", "alloy": "s31603"}', "not a process sheet"),
        ('{"sheet_version": "one"}', "not a version, given 'one'"),
        ('{"sheet_version": true}', "not a version"),
        ('{"sheet_version": 0}', "not a version"),
        ('{"sheet_version": 2}', "newer program"),
        ('{"sheet_version": 1, "sheet_version": 1}', "stands twice"),
        ('{"sheet_version": 1, "x": NaN}', "not a finite number: NaN"),
        ('{"sheet_version": 1, "x": 1e999}', "not a finite number: 1e999"),
        ("[" * 200_000, "nested too deeply"),
        (_changed("features/0/steps/1/force_n", "much"), "features[0].steps[1].force_n: "),
        (_changed("features/0/steps/1/forse_n", 3), "nearest: force_n"),
        (_changed("features/0/steps/0/stage", "polish"), "given 'polish'"),
        (_changed("handling", {}), "handling.value: missing"),
        (_changed("reasons", {}), "reasons that are referred to are missing: r1, "),
    ],
    ids=lambda value: value[:30] if isinstance(value, str) else None,
)
def test_what_is_not_a_sheet_is_told_in_words(text: str, message: str) -> None:
    with pytest.raises(InputError) as caught:
        from_json(text, place="sheet.json")
    assert message in str(caught.value)
    assert all(problem.place.startswith("sheet.json") for problem in caught.value.problems)


def test_all_faults_are_told_at_once() -> None:
    data = json.loads(_changed("features/0/steps/0/stage", "polish"))
    data["totals"]["steps"] = "many"
    data["colour"] = "red"
    with pytest.raises(InputError) as caught:
        from_json(json.dumps(data))
    assert len(caught.value.problems) == 3
