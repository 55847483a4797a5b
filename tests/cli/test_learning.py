"""`advisor trial learn` and `propose`, and what `recommend` and `rule` make of a log."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest

from advisor.knowledge.locate import demo_jobs, knowledge_folder
from tests.cli.conftest import Run
from tests.learning.planted import fails_on_one_alloy
from tests.learning.trials import shop_trials

KEYS = ["coefficient", "scope", "trials", "factor", "low", "high", "prior_factor"]


def filled(folder: Path, contents: Iterable[dict[str, Any]]) -> Path:
    folder.mkdir()
    for number, content in enumerate(contents):
        (folder / f"n{number:03d}.json").write_text(json.dumps(content), encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return filled(tmp_path_factory.mktemp("shop") / "log", shop_trials(40))


@pytest.fixture(scope="module")
def faulty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return filled(tmp_path_factory.mktemp("faulty") / "log", fails_on_one_alloy())


@pytest.fixture
def job() -> str:
    return str(sorted(demo_jobs().glob("*.yaml"))[-1])


def test_learn_prints_a_list_of_factors(run: Run, log: Path) -> None:
    done = run("trial", "learn", "--log", str(log), "--format", "json")
    assert done.code == 0
    rows = json.loads(done.out)
    assert [list(row) for row in rows] == [KEYS] * len(rows)
    whole = {row["coefficient"]: row for row in rows if not row["scope"]}
    assert whole["removal"]["low"] < 1.4 < whole["removal"]["high"] * 1.05
    assert whole["removal"]["prior_factor"] == 1.0
    assert run("trial", "learn", "--log", str(log), "--format", "json").out == done.out


def test_an_empty_log_teaches_nothing_and_says_so(run: Run, tmp_path: Path) -> None:
    (tmp_path / "log").mkdir()
    done = run("trial", "learn", "--log", str(tmp_path / "log"))
    assert (done.code, done.out) == (
        0, "No trial of this log has a measured figure that can be held against a prediction.\n",
    )  # fmt: skip
    assert run("trial", "learn", "--log", str(tmp_path / "log"), "--format", "json").out == "[]\n"


def test_a_damaged_trial_is_told_and_the_rest_is_used(run: Run, log: Path, tmp_path: Path) -> None:
    copy = tmp_path / "log"
    shutil.copytree(log, copy)
    (copy / "half.yaml").write_text("used: {media: belt", encoding="utf-8")
    done = run("trial", "learn", "--log", str(copy), "--format", "json")
    assert done.code == 0
    assert "half.yaml" in done.err
    assert json.loads(done.out)[0]["trials"] == 40


def test_a_sheet_uses_what_was_learned_and_shows_it(run: Run, log: Path, job: str, tmp_path: Path) -> None:
    out = tmp_path / "learned"
    assert run("trial", "learn", "--log", str(log), "--output", str(out)).code == 0
    done = run("recommend", job, "--learned", str(out), "--format", "json")
    assert done.code == 0
    sheet = json.loads(done.out)
    assert sheet["learned"]
    for value in sheet["learned"]:
        assert set(KEYS) < set(value)
        assert value["published"] != value["learned"]
    shown = run("recommend", job, "--learned", str(out)).out
    assert "published about" in shown
    assert re.search(r"\d+ trials? here \(", shown)
    assert "learned" not in run("recommend", job).out.casefold().replace("be learned", "")


def test_a_folder_without_factors_is_refused(run: Run, job: str, tmp_path: Path) -> None:
    done = run("recommend", job, "--learned", str(tmp_path))
    assert done.code == 2
    assert "holds no learned.json" in done.err
    (tmp_path / "learned.json").write_text('{"knowledge": "x", "trials": "many"}', encoding="utf-8")
    done = run("recommend", job, "--learned", str(tmp_path))
    assert done.code == 2
    assert "is damaged at trials" in done.err
    (tmp_path / "learned.json").write_text('{"knowledge": "x", "trials": 3}', encoding="utf-8")
    done = run("recommend", job, "--learned", str(tmp_path))
    assert done.code == 2
    assert "other published figures" in done.err


def test_pictures_and_report_are_written(run: Run, log: Path, tmp_path: Path) -> None:
    places = ("--pictures", str(tmp_path / "a"), "--report", str(tmp_path / "a.html"))
    assert run("trial", "learn", "--log", str(log), *places).code == 0
    names = sorted(path.name for path in (tmp_path / "a").iterdir())
    assert names == [
        f"{coefficient}-{kind}.svg"
        for coefficient in ("removal", "roughness-floor")
        for kind in ("before-after", "drift", "measured")
    ]
    for name in names:
        text = (tmp_path / "a" / name).read_text(encoding="utf-8")
        assert text.lstrip().startswith("<?xml")
        assert "<dc:date>" not in text
    report = (tmp_path / "a.html").read_text(encoding="utf-8")
    assert report.count("<img ") == len(names)
    assert not re.findall(r"<script|https?:|src=\"(?!data:)", report)
    assert 'alt=""' not in report


def test_a_rule_tells_its_track_record(run: Run, faulty: Path, job: str) -> None:
    done = run("rule", "coated-media-can-run-dry", "--log", str(faulty))
    assert done.code == 0
    assert re.search(r"Followed in 42 trials: \d+ passed \(\d+ to \d+ %\), \d+ failed\.", done.out)
    assert "Track record" not in run("rule", "coated-media-can-run-dry").out
    sheet = run("recommend", job, "--log", str(faulty)).out
    assert re.search(r"In this shop: Followed in \d+ trial", sheet)


def test_propose_prints_a_list(run: Run, faulty: Path) -> None:
    done = run("trial", "propose", "--log", str(faulty), "--quick", "--format", "json")
    assert done.code == 0
    rows = json.loads(done.out)
    assert rows
    for row in rows:
        assert {"kind", "rule", "change", "evidence", "strength"} < set(row)
        assert row["kind"] == "exception"
        assert len(row["evidence"]["trials"]) == 12


def test_every_proposal_carries_the_checks_run_on_it_and_its_impact(
    run: Run, faulty: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "knowledge"
    shutil.copytree(knowledge_folder(), folder)
    jobs = sorted((folder / "jobs").rglob("*.yaml"))
    few = [path for path in jobs if "316" in path.read_text("utf-8")][:4]
    for path in jobs:
        if path not in few:
            path.unlink()
    asked = ("trial", "propose", "--log", str(faulty), "--knowledge", str(folder))
    done = run(*asked, "--format", "json")
    assert done.code == 0
    rows = json.loads(done.out)
    assert len(rows) > 10, "more than a page of them"
    for row in rows:
        assert row["checks"] == []
        assert row["impact"]["looked_at"] == len(few)
        assert set(row["impact"]["changed"]) <= {f"jobs/{path.stem}" for path in few}
    assert any(row["impact"]["changed"] for row in rows)


def test_an_accepted_proposal_stands_in_the_folder_and_is_proposed_no_more(
    run: Run, faulty: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "knowledge"
    shutil.copytree(knowledge_folder(), folder)
    asked = ("trial", "propose", "--log", str(faulty), "--knowledge", str(folder))
    first = json.loads(run(*asked, "--quick", "--format", "json").out)[0]
    before = {path: path.read_bytes() for path in folder.rglob("*.yaml")}
    done = run(*asked, "--apply", first["id"])
    assert done.code == 0, done.err
    changed = [path for path, data in before.items() if path.read_bytes() != data]
    assert [str(path.relative_to(folder)) for path in changed] == [first["file"]]
    assert run("check", str(folder)).code == 0
    again = run(*asked, "--apply", first["id"])
    assert again.code == 2
    assert "no such proposal now" in again.err


def test_the_packaged_knowledge_is_not_written(run: Run, faulty: Path) -> None:
    done = run("trial", "propose", "--log", str(faulty), "--apply", "exception-123456")
    assert done.code == 2
    assert "copy it, and name the copy with --knowledge FOLDER" in done.err


def test_places_that_cannot_be_written_are_refused_early(run: Run, log: Path, tmp_path: Path) -> None:
    taken = tmp_path / "taken"
    taken.write_text("", encoding="utf-8")
    for option in ("--output", "--pictures"):
        done = run("trial", "learn", "--log", str(log), option, str(taken))
        assert (done.code, done.out) == (2, "")
        assert f"{option}: is no folder" in done.err
    done = run("trial", "learn", "--log", str(log), "--report", str(tmp_path / "no" / "r.html"))
    assert (done.code, done.out) == (2, "")
