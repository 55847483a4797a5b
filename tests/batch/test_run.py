"""A batch gives what `recommend` gives, however it is spread, broken off, begun again or grown."""

from __future__ import annotations

import gc
import json
import tracemalloc
from pathlib import Path

import joblib
import pytest

from advisor.batch.journal import NAME, Journal
from advisor.batch.run import run
from advisor.batch.table import COLUMNS, to_csv, to_markdown
from advisor.batch.task import Line, Task, Way
from advisor.batch.work import work
from advisor.job.read import parse_job
from advisor.pipeline import recommend
from advisor.render.json import to_json
from tests import invented
from tests.batch.conftest import job, tasks


def alone(task: Task) -> str:
    """The sheet as one job by itself gets it."""
    return to_json(recommend(parse_job(json.loads(task.text), invented.knowledge()), invented.desk()))


class Folder:
    """A folder of results that counts what is written into it."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.written: list[str] = []

    def keep(self, name: str, text: str) -> None:
        (self.path / name).write_bytes(text.encode())
        self.written.append(name)

    def run(self, todo: list[Task], way: Way) -> tuple[Line, ...]:
        return run(todo, way, self.keep, Journal(self.path), workers=1).lines


def test_each_sheet_is_the_one_a_job_gets_alone(tmp_path: Path, way: Way) -> None:
    todo = tasks(3)
    for task, line in zip(todo, Folder(tmp_path).run(todo, way), strict=True):
        assert line.status == "done" and line.source == task.source
        assert (tmp_path / str(line.sheet)).read_text(encoding="utf-8") == alone(task)


def test_a_failing_job_does_not_stop_the_rest(way: Way, monkeypatch: pytest.MonkeyPatch) -> None:
    todo = [
        Task("good", json.dumps(job(1)), row=True),
        Task("wrong.yaml", "name: x\nalloy: no-such\n"),
        Task("no process", json.dumps(job(2, features=[
            {"name": "slit", "shape": "concave", "radius": "0.5 mm", "width": "3 mm", "access": "1 mm"}
        ])), row=True),
        Task("broken", "{", row=True),
    ]  # fmt: skip
    lines = run(todo, way, workers=1).lines
    assert [line.status for line in lines] == ["done", "wrong", "no process", "failed"]
    assert "wrong.yaml:2:8" in str(lines[1].reason)
    assert lines[2].reason and lines[2].sheet
    assert "a fault of the program" in str(lines[3].reason)


def test_what_is_finished_is_not_done_again_and_what_changed_is(tmp_path: Path, way: Way) -> None:
    todo = tasks(4)
    Folder(tmp_path).run(todo[:2], way)  # broken off after two
    again = Folder(tmp_path)
    lines = again.run(todo, way)
    assert len(again.written) == 2
    moved = [Task(f"elsewhere {task.source}", task.text, task.row) for task in todo]
    third = Folder(tmp_path)
    assert [line.sheet for line in third.run(moved, way)] == [line.sheet for line in lines]
    assert not third.written, "where a job lies is no part of it"
    changed = [*todo[:3], Task(todo[3].source, json.dumps(job(3, name="hinge-3", batch=7)), row=True)]
    fourth = Folder(tmp_path)
    fourth.run(changed, way)
    assert len(fourth.written) == 1
    assert way.key(todo[0]) != Way(None, "sha256:other", "json").key(todo[0])


def test_a_sheet_that_is_gone_or_not_as_written_is_made_again(tmp_path: Path, way: Way) -> None:
    todo = tasks(2)
    first, second = Folder(tmp_path).run(todo, way)
    (tmp_path / str(first.sheet)).unlink()
    (tmp_path / str(second.sheet)).write_text("{}", encoding="utf-8")
    again = Folder(tmp_path)
    again.run(todo, way)
    assert len(again.written) == 2


def test_a_journal_cut_short_costs_only_what_was_lost(tmp_path: Path, way: Way) -> None:
    todo = tasks(3)
    Folder(tmp_path).run(todo, way)
    path = tmp_path / NAME
    path.write_bytes(path.read_bytes()[:-20])
    for expected in (1, 0):
        again = Folder(tmp_path)
        again.run(todo, way)
        assert len(again.written) == expected


def test_jobs_of_one_name_have_sheets_of_their_own(tmp_path: Path, way: Way) -> None:
    todo = [Task(str(n), json.dumps(job(n, name="twin")), row=True) for n in range(3)]
    assert len({line.sheet for line in Folder(tmp_path).run(todo, way)}) == 3


def test_other_processes_give_the_same(way: Way) -> None:
    todo = tasks(4)
    spread = run(todo, way, workers=2)
    assert spread.lines == run(todo, way, workers=1).lines


def test_threads_each_have_a_desk_of_their_own(way: Way) -> None:
    todo = tasks(4)
    with joblib.parallel_config(backend="threading", n_jobs=2):
        spread = run(todo, way)
    assert spread.lines == run(todo, way, workers=1).lines


def test_dask_on_loopback_gives_the_same(way: Way, monkeypatch: pytest.MonkeyPatch) -> None:
    """A scheduler and a worker in processes of their own, as on another machine, but on this one."""
    distributed = pytest.importorskip("distributed")
    todo = tasks(4)
    expected = run(todo, way, workers=1).lines
    options = {"n_workers": 1, "threads_per_worker": 1, "processes": True, "dashboard_address": None}
    with (
        distributed.LocalCluster(host="127.0.0.1", **options) as cluster,
        distributed.Client(cluster),
        joblib.parallel_config(backend="dask"),
    ):
        assert run(todo, way).lines == expected


def test_a_worker_with_other_knowledge_is_refused() -> None:
    with pytest.raises(Exception, match="other knowledge"):
        work(0, tasks(1)[0], Way(None, "sha256:other"))


def grown(way: Way, count: int, start: int) -> int:
    """How much memory (bytes) more is in use after so many jobs that were never seen."""
    gc.collect()
    before = tracemalloc.get_traced_memory()[0]
    for number in range(start, start + count):
        work(number, Task("it", json.dumps(job(number)), row=True), way)
    gc.collect()
    return tracemalloc.get_traced_memory()[0] - before


@pytest.mark.slow
def test_memory_does_not_grow_with_the_number_of_jobs(way: Way, monkeypatch: pytest.MonkeyPatch) -> None:
    """With memories small enough to fill, later jobs add nothing; they would add about 60 kB each otherwise."""
    monkeypatch.setattr("advisor.choices.decide.MOST_CHOICES", 200)
    monkeypatch.setattr("advisor.inference.engine.MOST_SIGNATURES", 50)
    monkeypatch.setattr("advisor.inference.properties.MOST_VALUES", 8)
    monkeypatch.setattr("advisor.sequence.memory.MOST_PLANS", 1)
    monkeypatch.setattr("advisor.sequence.memory.MOST_FIELDS", 2)
    tracemalloc.start()
    try:
        grown(way, 24, 0)  # the one plan that is kept differs in size from job to job
        assert grown(way, 12, 24) < 12 * 20_000
    finally:
        tracemalloc.stop()


def test_memories_that_are_full_change_no_answer(way: Way, monkeypatch: pytest.MonkeyPatch) -> None:
    todo = tasks(3)
    expected = [alone(task) for task in todo]
    monkeypatch.setattr("advisor.choices.decide.MOST_CHOICES", 3)
    monkeypatch.setattr("advisor.inference.engine.MOST_SIGNATURES", 2)
    monkeypatch.setattr("advisor.inference.properties.MOST_VALUES", 1)
    monkeypatch.setattr("advisor.sequence.memory.MOST_PLANS", 1)
    monkeypatch.setattr("advisor.sequence.memory.MOST_FIELDS", 1)
    assert [work(n, task, way).text for n, task in enumerate(todo)] == expected


def test_the_tables_hold_every_job_and_no_formula() -> None:
    lines = (
        Line(source="a.csv:2", name="=cmd()", status="done", alloy="s31603", features=1, steps=2),
        Line(source="b|c.yaml", name="<b>x</b>", status="wrong", reason="- not | good"),
    )
    rows = to_csv(lines).splitlines()
    assert rows[0] == ",".join(COLUMNS) and len(rows) == 3
    assert "'=cmd()" in rows[1] and "'- not | good" in rows[2]
    shown = to_markdown(lines)
    assert "<b>" not in shown and "b\\|c.yaml" in shown
    assert "1 done, 1 wrong" in shown
