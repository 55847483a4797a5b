"""How long a log takes to read and the next try to think out; run with `--benchmark-enable`."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest
import yaml
from pytest_benchmark.fixture import BenchmarkFixture

from advisor.knowledge.load import load_knowledge
from advisor.learning.teach import teach
from advisor.pipeline import Desk
from advisor.trials.advice import Advice
from advisor.trials.log import Log, read_log
from advisor.trials.next_try import next_try
from advisor.trials.read import parse_trial
from advisor.trials.store import store
from advisor.trials.work import read_work
from advisor.trials.write import to_plain
from tests import invented
from tests.benchmarks.long_log import written
from tests.trials.made import changed, trial

Note = Callable[[str, BenchmarkFixture], None]
#: A tenth of the log that is to be read in ten seconds, and all of it.
TRIALS = 2000
WHOLE = 20_000
#: The log over which `learn` may take five seconds, and with which `next` may take half a second.
SEVERAL_THOUSAND = 5000


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


@pytest.fixture(scope="module")
def several_thousand(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written(tmp_path_factory.mktemp("shop"), SEVERAL_THOUSAND)


def test_reading_twenty_thousand_trials(tmp_path: Path, benchmark: BenchmarkFixture, note: Note) -> None:
    folder, knowledge = written(tmp_path, WHOLE), load_knowledge()
    log = benchmark.pedantic(read_log, args=(folder, knowledge), rounds=3)
    assert (len(log.trials), log.left_out) == (WHOLE, ())
    note("20,000 trials, stored", benchmark)


def test_learning_from_five_thousand_trials_with_their_reading(
    several_thousand: Path, benchmark: BenchmarkFixture, note: Note
) -> None:
    knowledge = load_knowledge()
    lesson = benchmark.pedantic(
        lambda: teach(read_log(several_thousand, knowledge).standing, Desk(knowledge, "plain")), rounds=3
    )
    assert lesson.learned.trials == SEVERAL_THOUSAND
    note("reading and learning, 5,000 trials", benchmark)


@pytest.mark.parametrize("named", ["by its id", "last"])
def test_the_next_try_with_a_log_of_several_thousand(
    named: str, several_thousand: Path, benchmark: BenchmarkFixture, note: Note
) -> None:
    """With its reading, on a desk that knows nothing."""
    knowledge = load_knowledge()
    identity = "last" if named == "last" else min(path.stem for path in several_thousand.iterdir())

    def advise() -> Advice:
        one, log = read_work(several_thousand, identity, knowledge)
        return next_try(one, log, Desk(knowledge, "plain"))

    advice = benchmark.pedantic(advise, rounds=5)
    assert len(advice.tried) > 100, "the same step was tried again and again"
    note(f"next try of 5,000, {named}", benchmark)


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
