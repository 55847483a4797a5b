"""The command `compare`, as a user runs it."""

from __future__ import annotations

import json
from pathlib import Path

from advisor.render.json import to_json
from tests import invented
from tests.cli.conftest import Run


def stored(folder: Path, name: str) -> str:
    path = folder / f"{name}.json"
    path.write_text(to_json(invented.sheet(name)), encoding="utf-8")
    return str(path)


def test_two_sheets_are_laid_side_by_side(run: Run, tmp_path: Path) -> None:
    first, second = stored(tmp_path, "oar-lock"), stored(tmp_path, "counter-top")
    outcome = run("compare", first, second)
    assert outcome.code == 0 and outcome.err == ""
    assert outcome.out.startswith(f"< {first}\n> {second}\n")
    told = json.loads(run("compare", first, second, "--format", "json").out)
    assert told["second"]["name"] == second


def test_what_is_no_sheet_ends_with_2_and_one_line(run: Run, tmp_path: Path) -> None:
    good = stored(tmp_path, "oar-lock")
    other = tmp_path / "other.json"
    other.write_text('{"a": 1}', encoding="utf-8")
    outcome = run("compare", good, str(other))
    assert (outcome.code, outcome.out, outcome.err.count("\n")) == (2, "", 1)
    assert str(other) in outcome.err and "not a process sheet" in outcome.err
    assert run("compare", "-", "-").code == 2
    assert "that was read" in run("compare", good, good, "--output", good).err
