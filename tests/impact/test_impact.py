"""`advisor impact`: which worked jobs a change of the knowledge moves, and through which rules."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner

from advisor.cli.app import app
from advisor.cli.impacting import show_impact
from advisor.knowledge.locate import knowledge_folder

FEW = ("zinc-knob-for-plating", "balustrade-aa-m31", "tinted-duct-nickel-institute")


@pytest.fixture
def folders(tmp_path: Path) -> tuple[Path, Path]:
    """Two copies of the packaged knowledge with three worked jobs each."""
    for name in ("old", "new"):
        shutil.copytree(knowledge_folder(), tmp_path / name)
        for job in (tmp_path / name / "jobs").glob("*.yaml"):
            if job.stem not in FEW:
                job.unlink()
    return tmp_path / "old", tmp_path / "new"


def _run(old: Path, new: Path, *more: str) -> tuple[int, str]:
    result = CliRunner().invoke(app, ["impact", "--old", str(old), "--knowledge", str(new), *more])
    return result.exit_code, result.stdout


def test_nothing_changed_moves_nothing(folders: tuple[Path, Path]) -> None:
    code, text = _run(*folders)
    assert code == 0
    assert text


def test_a_rule_taken_away_is_named_with_the_job_it_moves(folders: tuple[Path, Path]) -> None:
    old, new = folders
    path = new / "rules" / "speed.yaml"
    text = path.read_text(encoding="utf-8")
    start = text.index("- rule: aluminium-satin-code-at-its-wheel-speed")
    end = text.index("- rule:", start + 1)
    path.write_text(text[:start] + text[end:], encoding="utf-8")
    code, shown = _run(old, new)
    assert code == 1
    assert "balustrade-aa-m31" in shown
    assert "aluminium-satin-code-at-its-wheel-speed" in shown
    code, shown = _run(old, new, "--format", "json")
    assert code == 1
    report = json.loads(shown)
    assert [job["key"] for job in report["changed"]] == ["jobs/balustrade-aa-m31"]


def test_a_bar_on_standard_error_shows_how_far_it_is(
    folders: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """On a screen only; the report on standard output is the same with it and without."""
    old, new = folders
    path = new / "rules" / "speed.yaml"
    text = path.read_text(encoding="utf-8")
    start = text.index("- rule: aluminium-satin-code-at-its-wheel-speed")
    path.write_text(text[:start] + text[text.index("- rule:", start + 1) :], encoding="utf-8")
    quiet = show_impact(str(old), str(new), None, "json"), capsys.readouterr()
    monkeypatch.setattr("advisor.cli.progress.sys.stderr.isatty", lambda: True)
    shown = show_impact(str(old), str(new), None, "json"), capsys.readouterr()
    assert quiet[0] and shown[0]
    assert quiet[1].out == shown[1].out
    assert "[" not in quiet[1].err
    states = [part.split(",")[0] for part in shown[1].err.split("\r")[1:]]
    assert [state.split("] ")[1] for state in states] == ["0 of 3", "1 of 3", "2 of 3", "3 of 3"]


def test_a_folder_that_is_not_there_is_one_clear_message(tmp_path: Path) -> None:
    result = CliRunner().invoke(app, ["impact", "--old", str(tmp_path / "nowhere")])
    assert result.exit_code == 2
    assert "nowhere" in result.output
    assert "Traceback" not in result.output
