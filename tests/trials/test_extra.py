"""A step that the sheet does not have: recorded, shown, advised on and learned from as what it is."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from advisor.errors import InputError
from advisor.knowledge.base import Knowledge
from advisor.learning.bench import Bench as LearningBench
from advisor.learning.readings import read
from advisor.pipeline import Desk
from advisor.trials.bench import open_bench
from advisor.trials.case import same_work
from advisor.trials.log import Log, read_log
from advisor.trials.model import Trial
from advisor.trials.next_try import next_try
from advisor.trials.show import list_text, trial_text
from advisor.trials.show_next import advice_text
from advisor.trials.store import store
from tests.trials.made import trial

BELT = {
    "media": "belt", "grain": "ceramic-alumina", "grade": "P120", "force": "40 N", "surface_speed": "22 m/s",
    "feed": "40 mm/s", "passes": 4,
}  # fmt: skip


@pytest.fixture(scope="module")
def desk(knowledge: Knowledge) -> Iterator[Desk]:
    one = Desk(knowledge, "plain")
    yield one
    one.close()


def own(knowledge: Knowledge, step: int = 1, **fields: Any) -> Trial:
    """A pass of one's own with another belt, after a step of the sheet."""
    content = {"step": step, "extra": True, "used": BELT, "incoming": None, **fields}
    return trial(knowledge, **content).model_copy(update={"id": f"own-{step}"})


def test_it_is_stored_and_read_back_as_it_was(knowledge: Knowledge, tmp_path: Path) -> None:
    now = datetime(2026, 6, 1, tzinfo=UTC)
    kept = store(own(knowledge), tmp_path, now)
    plain = store(trial(knowledge), tmp_path, now)
    log = read_log(tmp_path, knowledge)
    assert log.left_out == ()
    assert set(map(str, log.trials)) == {str(kept), str(plain)}
    assert '"extra"' not in Path(plain.file).read_text("utf-8"), "ids of old trials stay as they are"


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"used": {"media": "belt", "grain": "ceramic-alumina"}}, "its grade is needed"),
        ({"used": {"media": "belt", "grade": "P120"}}, "its grain is needed"),
        ({"step": 0, "extra": None}, "step"),
        ({"step": -1}, "step"),
        ({"extra": "perhaps"}, "neither true nor false"),
    ],
)
def test_what_is_missing_or_impossible_is_told(
    knowledge: Knowledge, fields: dict[str, Any], says: str
) -> None:
    with pytest.raises(InputError, match=says):
        own(knowledge, **fields)


def test_a_step_that_is_only_mistyped_is_refused_with_a_hint(knowledge: Knowledge, desk: Desk) -> None:
    steps = len(open_bench(trial(knowledge), desk).plan.path)
    with pytest.raises(InputError, match=f"has no such step .* 1 to {steps}; .* step: {steps}, extra: true"):
        open_bench(trial(knowledge, step=steps + 1), desk)
    with pytest.raises(InputError, match="has no such step"):
        open_bench(own(knowledge, steps + 1), desk)


def test_it_stands_between_what_the_plan_leaves_and_what_it_finds_next(
    knowledge: Knowledge, desk: Desk
) -> None:
    path = open_bench(trial(knowledge), desk).plan.path
    for place in range(len(path) + 1):
        bench = open_bench(own(knowledge, place), desk)
        assert bench.step.candidate.key == ("belt", "ceramic-alumina", "P120")
        assert bench.step.before == (path[place - 1].after if place else path[0].before)
        assert bench.last == (place == len(path))
        assert (bench.before and bench.before.candidate.key) == (path[place - 1].candidate.key if place else None)
        stage = bench.step.candidate.stage
        assert stage == (path[max(place - 1, 0)].candidate.stage if place in (0, len(path)) else "refine")


def test_it_is_other_work_than_the_step_of_that_number(knowledge: Knowledge) -> None:
    assert not same_work(own(knowledge), trial(knowledge))
    assert same_work(own(knowledge), own(knowledge, used=BELT | {"force": "50 N"}))


def test_it_reads_as_a_step_of_ones_own_everywhere(knowledge: Knowledge, desk: Desk) -> None:
    one, first = own(knowledge), own(knowledge, 0)
    log = Log(Path(), (first, one))
    assert "outer sweep, extra step after step 1: belt" in list_text(log.trials, log)
    assert "extra step before step 1" in trial_text(first, log, knowledge)
    assert "extra step after step 1" in advice_text(next_try(one, log, desk))


def test_the_next_try_of_it_changes_one_thing_and_breaks_nothing(knowledge: Knowledge, desk: Desk) -> None:
    one = own(knowledge, symptoms=["too-rough"], verdict="fail")
    again = own(knowledge, used=BELT | {"force": "34 N"}, symptoms=["too-rough"], verdict="fail")
    again = again.model_copy(update={"id": "again"})
    advice = next_try(one, Log(Path(), (one,)), desk)
    assert advice.cautions
    assert advice.moves
    for move in advice.moves:
        changed = {key for key in move.settings if key != "passes"}
        assert len(changed) <= 1
    later = next_try(again, Log(Path(), (one, again)), desk)
    assert len(later.tried) == 2
    lower = next(move for move in advice.moves if "force" in move.settings)
    assert lower.do not in {move.do for move in later.moves}


def test_it_teaches_like_any_other_trial(knowledge: Knowledge, desk: Desk) -> None:
    """Settings tell the depth: the same belt, force, speed and feed are foreseen as in a step of the sheet."""
    found = read([own(knowledge, measured={"removal": "20 um", "ra": "0.9 um"})], LearningBench(desk))
    assert {reading.coefficient for reading in found.readings} == {"removal", "roughness-floor"}
    assert all(reading.predicted > 0 for reading in found.readings)
