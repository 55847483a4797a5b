"""`advisor batch` on the command line: files, exit codes, what is written and what is said."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from tests.batch.conftest import job
from tests.cli.conftest import Run


def put(place: Path, name: str, **fields: object) -> Path:
    path = place / name
    path.write_text(json.dumps(job(1, **fields)), encoding="utf-8")
    return path


def test_a_batch_writes_a_table_and_a_sheet_each(run: Run, tmp_path: Path) -> None:
    put(tmp_path, "a.json")
    out = tmp_path / "out"
    done = run("batch", str(tmp_path), "--output", str(out), "--format", "json")
    assert done.code == 0 and "1 done" in done.out
    (row,) = csv.DictReader((out / "summary.csv").read_text(encoding="utf-8").splitlines())
    assert row["status"] == "done" and float(row["time_s"]) > 0
    assert json.loads((out / row["sheet"]).read_text(encoding="utf-8"))["sheet_version"] == 1
    assert (out / "summary.md").read_text(encoding="utf-8") == done.out
    again = run("batch", str(tmp_path), "--output", str(out), "--format", "json")
    assert again.code == 0 and "1 of them finished before" in again.err
    assert again.out == done.out


def test_without_a_folder_only_the_table_is_printed(run: Run, tmp_path: Path) -> None:
    done = run("batch", str(put(tmp_path, "a.json")))
    assert done.code == 0 and "hinge-1" in done.out
    assert [path.name for path in tmp_path.iterdir()] == ["a.json"]


def test_the_exit_code_says_the_worst(run: Run, tmp_path: Path) -> None:
    slit = {"name": "slit", "shape": "concave", "radius": "0.5 mm", "width": "3 mm", "access": "1 mm"}
    put(tmp_path, "slit.json", features=[slit])
    assert run("batch", str(tmp_path)).code == 1
    put(tmp_path, "wrong.json", alloy="unobtainium")
    done = run("batch", str(tmp_path))
    assert done.code == 2 and "unknown alloy" in done.out and "slit" in done.out


def test_a_dask_scheduler_on_loopback_spreads_the_work(run: Run, tmp_path: Path) -> None:
    """The command finds the scheduler by its address, as it would on another machine."""
    distributed = pytest.importorskip("distributed")
    put(tmp_path, "a.json")
    options = {"n_workers": 1, "threads_per_worker": 1, "processes": False, "dashboard_address": None}
    with distributed.LocalCluster(host="127.0.0.1", protocol="tcp", **options) as cluster:
        words = ["--backend", "dask", "--scheduler", cluster.scheduler_address]
        spread = run("batch", str(tmp_path), *words)
    assert spread.code == 0
    assert spread.out == run("batch", str(tmp_path)).out


@pytest.mark.parametrize(("words", "said"), [
    (["nowhere.yaml"], "no such file"),
    (["{job}", "--workers", "0"], "--workers"),
    (["{job}", "--scheduler", "tcp://x"], "--scheduler"),
    (["{job}", "--backend", "dusk"], "nearest: dask"),
    (["{job}", "--output", "{job}"], "not a folder"),
])  # fmt: skip
def test_wrong_words_are_named(run: Run, tmp_path: Path, words: list[str], said: str) -> None:
    path = str(put(tmp_path, "a.json"))
    done = run("batch", *[word.replace("{job}", path) for word in words])
    assert done.code == 2 and said in done.err and not done.out
