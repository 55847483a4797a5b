"""The sweep itself: nothing ends in an error, refusals explain, and nearly all that is sensible has a plan."""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest
from typer.testing import CliRunner

from advisor.cli.app import app
from advisor.coverage import sweep as sweeping
from advisor.coverage.answers import Coverage, tally
from advisor.coverage.report import WANTED_SHARE
from advisor.coverage.sweep import sweep
from advisor.knowledge.load import load_knowledge

KNOWLEDGE = load_knowledge()
#: What a refusal may rest on: limits with their number or name, and rules that forbid.
LIMITS = {
    "station", "handling", "surface speed", "stage", "shape", "access", "reach", "lay", "power", "force",
    "pressure on the grain", "roughness", "passes", "stroke", "heat",
}  # fmt: skip


def test_no_combination_ends_in_an_error(swept: Coverage) -> None:
    assert len(swept.answers) == 200
    assert not swept.faults


def test_nearly_every_sensible_combination_has_a_plan(swept: Coverage) -> None:
    share = tally(swept.answers).share
    assert share is not None
    assert share >= WANTED_SHARE


def test_a_plan_names_its_cell_and_the_rules_behind_it(swept: Coverage) -> None:
    for answer in swept.answers:
        assert answer.planned or answer.obstacles
        if answer.planned:
            assert answer.cell in KNOWLEDGE.tables.cells
            assert 1 <= answer.steps <= 8
            assert answer.rules > 20
            assert 0.0 <= answer.memory < 0.5


@pytest.mark.parametrize("cell", ["hand-tools", "bench-belt-and-buff"])
def test_what_one_cell_refuses_is_explained(cell: str) -> None:
    found = sweep(KNOWLEDGE, None, (cell,), sample=90, workers=1)
    refused = [answer for answer in found.answers if not answer.planned]
    assert refused, "one cell alone cannot do everything"
    assert not found.faults
    for answer in refused:
        ((where, item),) = answer.obstacles
        assert where == cell
        assert item.text.endswith(".")
        if item.limit.startswith("rule "):
            assert set(item.limit.removeprefix("rule ").split(", ")) <= set(KNOWLEDGE.rule)
        else:
            assert item.limit in LIMITS, answer


def test_several_processes_find_what_one_finds(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sweeping, "FEW", 2)
    seen: list[tuple[int, int]] = []
    count = 24
    many = sweep(KNOWLEDGE, None, sample=count, workers=2, progress=lambda done, of: seen.append((done, of)))
    one = sweep(KNOWLEDGE, None, sample=count, workers=1)
    assert many.answers == one.answers
    assert seen[-1] == (count, count)
    assert [done for done, _ in seen] == sorted(done for done, _ in seen)


def test_an_error_becomes_an_answer_and_exit_1(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*given: object) -> None:
        raise KeyError("wire")

    monkeypatch.setattr(sweeping, "find", broken)
    outcome = CliRunner().invoke(app, ["coverage", "--sample", "3"], standalone_mode=True)
    assert outcome.exit_code == 1
    assert outcome.stdout.count("KeyError: 'wire'") == 3


def test_the_command_writes_report_and_picture(tmp_path: Path) -> None:
    report, picture = tmp_path / "sweep.json", tmp_path / "sweep.svg"
    words = ["coverage", "--sample", "12", "--format", "json", "--output", str(report)]
    outcome = CliRunner().invoke(app, [*words, "--picture", str(picture), "--cell", "robot-floor-stand"])
    assert outcome.exit_code == 0, outcome.output
    told = json.loads(report.read_text(encoding="utf-8"))
    assert told["cells"] == ["robot-floor-stand"]
    assert len(told["answers"]) == 12
    assert ElementTree.parse(picture).getroot().tag.endswith("svg")
    assert outcome.stdout == ""


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--cell", "robot-flor-stand"], "nearest: robot-floor-stand"),
        (["--sample", "0"], "1 or more"),
        (["--format", "html"], "unknown choice"),
        (["--picture", "no-such-folder/sweep.svg"], "no folder"),
        (["--knowledge", "no-such-folder"], "not a folder"),
    ],
)
def test_wrong_wishes_end_with_2(words: list[str], said: str) -> None:
    outcome = CliRunner().invoke(app, ["coverage", *words])
    assert outcome.exit_code == 2
    assert said in outcome.output
    assert "Traceback" not in outcome.output
