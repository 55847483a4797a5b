"""The command `what-if`, as a user runs it."""

from __future__ import annotations

import json
from pathlib import Path

from tests.cli.conftest import Run


def test_only_what_differs_is_shown(run: Run, job: Path) -> None:
    outcome = run("what-if", str(job), "--change", "start.depth=0.6 mm", "--change", "batch=3")
    assert outcome.code == 0 and outcome.err == ""
    assert "  start.depth: 0.25 mm -> 0.6 mm" in outcome.out
    told = json.loads(run("what-if", str(job), "--change", "batch=3", "--format", "json").out)
    assert told["changes"] == [{"field": "batch", "value": "3"}]


def test_a_range_is_drawn(run: Run, job: Path, tmp_path: Path) -> None:
    picture = tmp_path / "radius.svg"
    outcome = run("what-if", str(job), "--change", "feature.radius=5 mm..60 mm", "--picture", str(picture))
    assert outcome.code == 0
    assert outcome.out.startswith("gate-arm: feature.radius from 5 to 60 mm")
    assert picture.read_text(encoding="utf-8").startswith("<svg ")


def test_wrong_changes_end_with_2_and_one_line(run: Run, job: Path, tmp_path: Path) -> None:
    for words in (
        ("--change", "feature.radiu=5 mm"),
        ("--change", "feature.radius=5 kg"),
        (),
        ("--change", "batch=3", "--picture", str(tmp_path / "x.svg")),
        ("--change", "feature.radius=5 mm..9 mm", "--picture", str(tmp_path / "none" / "x.svg")),
        ("--change", "batch=3", "--format", "yaml"),
    ):
        outcome = run("what-if", str(job), *words)
        assert (outcome.code, outcome.out, outcome.err.count("\n")) == (2, "", 1), words


def test_the_sheet_says_how_far_it_holds_unless_told_not_to(run: Run, job: Path) -> None:
    assert "## How far this holds" in run("recommend", str(job)).out
    assert "## How far this holds" not in run("recommend", str(job), "--no-robustness").out
    told = json.loads(run("demo", "--format", "json").out)
    assert told["holds"] is None
