"""Times what a log teaches, so that a long log stays a matter of seconds. Only with `--benchmark-enable`."""

from __future__ import annotations

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from advisor.learning.teach import teach
from advisor.pipeline import Desk
from tests.benchmarks.conftest import Note
from tests.learning.trials import knowledge, read_trials, shop_trials


@pytest.mark.parametrize("count", [500, 5000])
def test_learning_from_a_log(count: int, benchmark: BenchmarkFixture, note: Note) -> None:
    """From trials in memory to factors, on a desk that has planned nothing yet; every force is another."""
    contents = list(shop_trials(count))
    for number, content in enumerate(contents):
        force = float(content["used"]["force"].split()[0])
        content["used"]["force"] = f"{force * (1 + 1e-4 * (number % 997)):.6g} N"
    trials = read_trials(contents)
    lesson = benchmark.pedantic(lambda: teach(trials, Desk(knowledge(), "plain")), rounds=3)
    assert lesson.learned.trials == count
    note(f"learning, {count} trials", benchmark)
