"""What a replay costs beside the recommendation that it repeats; run with `--benchmark-enable`."""

from __future__ import annotations

from collections.abc import Callable

from pytest_benchmark.fixture import BenchmarkFixture

from advisor.audit.replay import read_stored, replay
from advisor.job import read_job
from advisor.knowledge.locate import demo_jobs
from advisor.pipeline import Desk, recommend
from advisor.render.json import to_json
from tests import invented

Note = Callable[[str, BenchmarkFixture], None]


def test_a_replay_beside_its_recommendation(benchmark: BenchmarkFixture, note: Note) -> None:
    """Both as a whole: from the text of the job or the sheet to the text of the answer."""
    desk = Desk(invented.knowledge())
    text = to_json(recommend(read_job(demo_jobs() / "vent-lever.yaml", desk.knowledge), desk))
    found = benchmark.pedantic(lambda: replay(read_stored(text), desk), rounds=7, warmup_rounds=1)
    desk.close()
    assert found.follows
    note("replay", benchmark)


def test_the_recommendation_beside_it(benchmark: BenchmarkFixture, note: Note) -> None:
    desk = Desk(invented.knowledge())
    path = demo_jobs() / "vent-lever.yaml"
    run = benchmark.pedantic(
        lambda: to_json(recommend(read_job(path, desk.knowledge), desk)), rounds=7, warmup_rounds=1
    )
    desk.close()
    assert run.startswith("{")
    note("recommendation", benchmark)
