"""The commands on a sheet made with --log and --learned: recorded, replayed and explained later, offline."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from advisor.knowledge.locate import demo_jobs
from advisor.learning.show import file_text
from tests.audit import shop_log
from tests.cli.conftest import Run
from tests.learning.trials import sheets


@pytest.fixture
def shop(run: Run, tmp_path: Path) -> Path:
    """A folder with a log, a lesson, a recorded sheet and the same sheet outside of the record."""
    shop_log.fill(tmp_path / "log", 4)
    (tmp_path / "learned").mkdir()
    (tmp_path / "learned" / "learned.json").write_text(file_text(shop_log.learned()), encoding="utf-8")
    job = demo_jobs() / f"{sheets()[-1][0].name}.yaml"
    outcome = run(
        "recommend", str(job), "--log", str(tmp_path / "log"), "--learned", str(tmp_path / "learned"),
        "--record", str(tmp_path / "record"), "--format", "json", "--output", str(tmp_path / "sheet.json"),
    )  # fmt: skip
    assert outcome.code == 0 and outcome.err.startswith("Kept as ")
    return tmp_path


def test_a_recorded_sheet_is_proved_and_explained_when_the_log_is_gone(run: Run, shop: Path) -> None:
    content = json.loads((shop / "sheet.json").read_text(encoding="utf-8"))
    assert content["holds"] is not None and content["made_with"] == ["holds", "trial_log"] and content["past"]
    shutil.rmtree(shop / "log")
    shutil.rmtree(shop / "learned")
    outcome = run("replay", str(shop / "record"))
    assert (outcome.code, outcome.err) == (0, "") and "follows from its job" in outcome.out
    (sheet,) = (shop / "record" / "sheets").glob("*.json")
    value = content["learned"][0]
    asked = ("--feature", value["feature"], "--step", str(value["step"]), "--decision", value["field"])
    why = run("why", str(sheet), *asked)
    assert why.code == 0 and "learned for" in " ".join(why.out.split())


def test_elsewhere_the_log_is_named_and_a_missing_one_is_told_in_one_line(run: Run, shop: Path) -> None:
    sheet = str(shop / "sheet.json")
    lost = run("replay", sheet)
    assert (lost.code, lost.out, lost.err.count("\n")) == (2, "", 1)
    assert "trial log of 4 trials that is not at hand; name its folder with --log FOLDER" in lost.err
    assert run("replay", sheet, "--log", str(shop / "nowhere")).code == 2
    assert run("replay", sheet, "--log", str(shop / "log")).code == 0
    (first, *_) = sorted((shop / "log").glob("*.yaml"))
    first.unlink()
    other = run("replay", sheet, "--log", str(shop / "log"))
    assert other.code == 2 and "another trial log, of 4 trials, than the 3 trials" in other.err
    anyway = run("replay", sheet, "--log", str(shop / "log"), "--anyway")
    assert anyway.code == 1 and "trial_log.fingerprint" in anyway.out
