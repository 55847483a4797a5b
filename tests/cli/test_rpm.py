"""`advisor rpm` on the command line: how it is written, what it answers, what it refuses."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from advisor.render.json import to_json
from tests import invented
from tests.cli.conftest import Run


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("sheets") / "sheet.json"
    path.write_text(to_json(invented.sheet("tap-lever")), encoding="utf-8")
    return path


@pytest.mark.parametrize("words", [
    ["--diameter", "183 mm", "--speed", "25 m/s"],
    ["--diameter", "183mm", "--speed", "25m/s"],
    ["--diameter", "183", "mm", "--speed", "25", "m/s"],
    ["--diameter=183", "mm", "--speed=25", "m/s"],
])  # fmt: skip
def test_a_quantity_may_stand_with_or_without_quotes(run: Run, words: list[str]) -> None:
    done = run("rpm", *words)
    assert done.code == 0 and "2609" in done.out


def test_inches_and_feet_a_minute(run: Run) -> None:
    """8 in at 6000 ft/min: 2865 rpm (handbook arithmetic, 12 x 6000 / (pi x 8))."""
    done = run("rpm", "--diameter", "8", "in", "--speed", "6000", "ft/min", "--units", "us")
    assert done.code == 0 and "2865" in done.out and "8 in" in done.out


@pytest.mark.parametrize("marked", ["50 m/s", "4700 rpm"])
def test_above_the_marking_it_is_refused_with_what_would_help(run: Run, marked: str) -> None:
    words = ["--diameter", "150 mm", "--speed", "48 m/s", "--new-diameter", "200 mm", "--marked", marked]
    done = run("rpm", *words, "--format", "json")
    found = json.loads(done.out)
    assert done.code == 1 and found["rpm"] is None
    (refused,) = found["refused"]
    assert refused["limit"] == "marked rpm" and "no faster than" in refused["helps"]
    assert run("rpm", *words[:2], "--speed", "30 m/s", *words[4:]).code == 0


def test_a_step_of_a_stored_sheet(run: Run, sheet: Path) -> None:
    step = invented.sheet("tap-lever").features[0].steps[-1]
    assert step.wheel is not None
    words = ["--step", str(step.number), "--diameter", f"{step.wheel.diameter_mm:g} mm", "--format", "json"]
    done = run("rpm", str(sheet), *words)
    found = json.loads(done.out)
    assert done.code == 0
    assert found["rpm"] == step.rpm and found["force_n"] == pytest.approx(step.force_n, rel=1e-5)
    assert {note.text for note in invented.sheet("tap-lever").cautions} <= set(found["cautions"])


@pytest.mark.parametrize(("words", "said"), [
    ([], "--diameter: the diameter of the wheel is needed"),
    (["--diameter", "183 mm"], "--speed: without a sheet"),
    (["--diameter", "183", "--speed", "25 m/s"], "a length needs a unit"),
    (["--diameter", "3 kg", "--speed", "25 m"], "--speed: 25 m is a length"),
    (["--diameter", "1 m", "--speed", "25 m/s", "--step", "2"], "--step: needs a sheet"),
    (["--diameter", "200 mm", "--speed", "25 m/s", "--new-diameter", "183 mm"], "smaller than the wheel"),
    (["--diameter", "20 m", "--speed", "25 m/s"], "outside what a wheel can be"),
    (["no-such.json", "--step", "1", "--diameter", "183 mm"], "no-such.json"),
])  # fmt: skip
def test_wrong_input_is_named(run: Run, words: list[str], said: str) -> None:
    done = run("rpm", *words)
    assert done.code == 2 and said in done.err and not done.out


def test_a_step_that_is_not_there(run: Run, sheet: Path) -> None:
    done = run("rpm", str(sheet), "--step", "9", "--diameter", "183 mm")
    assert done.code == 2 and "no such step" in done.err
    done = run("rpm", str(sheet), "--step", "1", "--feature", "nowhere", "--diameter", "183 mm")
    assert done.code == 2 and "no such feature" in done.err
