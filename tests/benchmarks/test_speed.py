"""How long the program takes, where somebody wants to know; run with `--benchmark-enable`."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from itertools import cycle
from pathlib import Path

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from advisor.inference.matchers import available, matcher_maker
from advisor.job import Job, read_job
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.locate import demo_jobs, knowledge_folder
from advisor.pipeline import Desk, recommend
from tests import invented
from tests.benchmarks.compare_matchers import generated

ROOT = Path(__file__).parents[2]
Note = Callable[[str, BenchmarkFixture], None]

MATCHERS = ["plain", pytest.param("durable-rules", marks=pytest.mark.skipif(
    available() != "durable-rules", reason="durable-rules does not import here"
))]  # fmt: skip


def three_faces() -> Job:
    """The demo job: a flat, a round and a hollow, two of them with a local defect."""
    return read_job(demo_jobs() / "vent-lever.yaml", invented.knowledge())


def local_defect() -> Job:
    """A bead with its tint on one face."""
    return invented.job("kettle-seam")


JOBS = {"three faces": three_faces, "local defect": local_defect}


@pytest.mark.parametrize("name", JOBS)
def test_a_job_on_a_fresh_desk(name: str, benchmark: BenchmarkFixture, note: Note) -> None:
    job = JOBS[name]()
    desks: list[Desk] = []

    def fresh() -> tuple[tuple[Job, Desk], dict[str, object]]:
        while desks:
            desks.pop().close()
        desks.append(Desk(invented.knowledge()))
        return (job, desks[-1]), {}

    sheet = benchmark.pedantic(recommend, setup=fresh, rounds=5)
    desks.pop().close()
    assert not sheet.refused
    note(f"{name}, unseen", benchmark)


@pytest.mark.parametrize("name", JOBS)
def test_a_job_that_the_desk_has_seen(name: str, benchmark: BenchmarkFixture, note: Note) -> None:
    job, desk = JOBS[name](), Desk(invented.knowledge())
    recommend(job, desk)
    sheet = benchmark.pedantic(recommend, args=(job, desk), rounds=5)
    desk.close()
    assert not sheet.refused
    note(f"{name}, seen", benchmark)


@pytest.mark.parametrize("size", [320, 640, 4000])
@pytest.mark.parametrize("matcher", MATCHERS)
def test_one_situation(matcher: str, size: int, benchmark: BenchmarkFixture, note: Note) -> None:
    """Against generated rules of two to five tests, of which a third hold."""
    rules, masks = generated(size)
    made, plain = matcher_maker(matcher)(rules), matcher_maker("plain")(rules)
    turns = cycle(masks)
    benchmark.pedantic(lambda: made.fire(next(turns)), rounds=100, warmup_rounds=5)
    assert [made.fire(mask) for mask in masks[:20]] == [plain.fire(mask) for mask in masks[:20]]
    made.close()
    note(f"{matcher}, {size} rules", benchmark)


@pytest.fixture(scope="module")
def four_hundred(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """All packaged tables with some 400 of the packaged rules: whole topics, the small ones first."""
    root = Path(shutil.copytree(knowledge_folder(), tmp_path_factory.mktemp("shop") / "knowledge"))
    count = 0
    for path in sorted((root / "rules").glob("*.yaml"), key=lambda path: path.stat().st_size):
        if count >= 400:
            path.unlink()
        else:
            count += path.read_text(encoding="utf-8").count("- rule:")
    return root


@pytest.mark.parametrize("kept", [False, True], ids=["cold", "cached"])
@pytest.mark.parametrize("rules", ["400", "all"])
def test_loading(rules: str, kept: bool, benchmark: BenchmarkFixture, note: Note, four_hundred: Path) -> None:
    """Reading, checking and placing the rules, and making the desk that answers from them."""
    folder = four_hundred if rules == "400" else knowledge_folder()
    load_knowledge(folder)  # fills the cache of this test run

    def opened() -> Desk:
        return Desk(load_knowledge(folder, use_cache=kept))

    desk = benchmark.pedantic(opened, rounds=5)
    assert len(desk.knowledge.rules) >= 400
    note(f"loading {rules} rules, {'cached' if kept else 'cold'}", benchmark)


#: What the command line cannot do without, imported and nothing more.
BARE = "import pydantic, typer, jinja2, yaml"
PROCESSES = {"advisor demo": ["-m", "advisor", "demo"], "bare imports": ["-c", BARE]}


def process(name: str, folder: Path, cache: Path) -> subprocess.CompletedProcess[bytes]:
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "XDG_CACHE_HOME": str(cache)}
    return subprocess.run(
        [sys.executable, *PROCESSES[name]], capture_output=True, cwd=folder, env=environment, check=True
    )


@pytest.mark.parametrize("name", PROCESSES)
def test_whole_process(name: str, benchmark: BenchmarkFixture, note: Note, tmp_path: Path) -> None:
    """Again on a machine where it ran before: knowledge and sheet are found, not made."""
    done = benchmark.pedantic(process, args=(name, tmp_path, tmp_path / "cache"), rounds=5, warmup_rounds=1)
    assert bool(done.stdout) is (name == "advisor demo")
    note(name, benchmark)


@pytest.mark.parametrize("known", ["nothing", "knowledge"])
def test_whole_process_that_makes_its_sheet(
    known: str, benchmark: BenchmarkFixture, note: Note, tmp_path: Path
) -> None:
    """The first time ever, and the first time for this job."""
    filled, rounds = tmp_path / "filled", iter(range(100))
    process("advisor demo", tmp_path, filled)
    shutil.rmtree(filled / "finishing-advisor" / "sheets")

    def fresh() -> tuple[tuple[str, Path, Path], dict[str, object]]:
        cache = tmp_path / str(next(rounds))
        if known == "knowledge":
            shutil.copytree(filled, cache)
        return ("advisor demo", tmp_path, cache), {}

    assert benchmark.pedantic(process, setup=fresh, rounds=5).stdout
    note(f"advisor demo, {known} known", benchmark)
