"""How long a log takes to read and the next try to think out; run with `--benchmark-enable`."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest
import yaml
from pytest_benchmark.fixture import BenchmarkFixture

from advisor.pipeline import Desk
from advisor.trials.log import Log, read_log
from advisor.trials.next_try import next_try
from advisor.trials.read import parse_trial
from advisor.trials.store import store
from advisor.trials.write import to_plain
from tests import invented
from tests.trials.made import changed, trial

Note = Callable[[str, BenchmarkFixture], None]
#: A tenth of the log that is to be read in ten seconds.
TRIALS = 2000


@pytest.fixture(scope="module")
def stored(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log as the command writes it."""
    folder, knowledge = tmp_path_factory.mktemp("log"), invented.knowledge()
    for number in range(TRIALS):
        one = trial(knowledge, used__force=f"{20 + number / 100:.2f} N", note=f"part {number}")
        store(one, folder, datetime(2026, 6, 1, tzinfo=UTC))
    return folder


@pytest.fixture(scope="module")
def by_hand(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log of YAML files that people laid in, each with the whole job."""
    folder, knowledge = tmp_path_factory.mktemp("log"), invented.knowledge()
    for number in range(TRIALS):
        content = to_plain(trial(knowledge, used__force=f"{20 + number / 100:.2f} N"))
        (folder / f"part-{number}.yaml").write_text(yaml.safe_dump(content, sort_keys=False), "utf-8")
    return folder


@pytest.mark.parametrize("kind", ["stored", "by_hand"])
def test_reading_two_thousand_trials(
    kind: str, request: pytest.FixtureRequest, benchmark: BenchmarkFixture, note: Note
) -> None:
    folder = request.getfixturevalue(kind)
    log = benchmark.pedantic(read_log, args=(folder, invented.knowledge()), rounds=3)
    assert (len(log.trials), log.left_out) == (TRIALS, ())
    note(f"2,000 trials, {kind.replace('_', ' ')}", benchmark)


def test_the_next_try_on_a_desk_that_knows_nothing(benchmark: BenchmarkFixture, note: Note) -> None:
    knowledge = invented.knowledge()
    one = parse_trial(
        changed(symptoms=["chatter", "slow-cut"], measured__removal="40 um", verdict="fail"), knowledge
    ).model_copy(update={"id": "try-1"})
    log = Log(Path(), (one,))
    desks: list[Desk] = []

    def fresh() -> tuple[tuple[object, ...], dict[str, object]]:
        while desks:
            desks.pop().close()
        desks.append(Desk(knowledge))
        return (one, log, desks[-1]), {}

    advice = benchmark.pedantic(next_try, setup=fresh, rounds=5)
    desks.pop().close()
    assert advice.moves
    note("next try, two faces, unseen", benchmark)
