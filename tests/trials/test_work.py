"""What is read of a long log for one step tells the same as the whole log."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import yaml

from advisor.errors import InputError
from advisor.knowledge.base import Knowledge
from advisor.trials.case import same_work
from advisor.trials.log import read_log
from advisor.trials.model import Trial
from advisor.trials.store import store
from advisor.trials.work import read_work
from tests.trials.made import JOB, changed, trial

NOW = datetime(2026, 6, 1, 9, 30, tzinfo=UTC)


@pytest.fixture
def log(knowledge: Knowledge, tmp_path: Path) -> tuple[Path, list[Trial]]:
    """Trials of two jobs, two faces, three steps and one step beyond the sheet, some of them corrected."""
    other = {**JOB, "name": "gate-arm, left"}
    kept: list[Trial] = []

    def keep(**fields: object) -> Trial:
        moment = NOW + timedelta(minutes=7 * (len(kept) * 5 % 11))  # not stored in the order of their names
        kept.append(store(trial(knowledge, note=f"number {len(kept)}", **fields), tmp_path, moment))
        return kept[-1]

    for force in ("40 N", "44 N", "48 N"):
        keep(used__force=force)
        keep(used__force=force, step=2)
        keep(used__force=force, feature="cheek")
        keep(used__force=force, job=other)
        keep(used__force=force, extra=True)
    keep(step=3, corrects=kept[0].id)  # the number of the step had been mistyped
    keep(used__force="50 N", corrects=kept[5].id)
    return tmp_path, kept


def test_it_holds_every_trial_of_the_same_work_and_what_corrects_them(
    knowledge: Knowledge, log: tuple[Path, list[Trial]]
) -> None:
    folder, kept = log
    whole = read_log(folder, knowledge)
    for one in kept:
        found, part = read_work(folder, one.id, knowledge)
        assert found == whole.by_id[one.id]
        same = [each for each in whole.standing if same_work(each, one)]
        assert [each for each in part.standing if same_work(each, one)] == same
        assert {each.id for each in part.trials} <= set(whole.by_id)
        assert part.unread == len(whole.trials) - len(part.trials) > 0


def test_the_last_one_and_a_shortened_id_mean_the_same(
    knowledge: Knowledge, log: tuple[Path, list[Trial]]
) -> None:
    folder, kept = log
    whole = read_log(folder, knowledge)
    assert read_work(folder, "last", knowledge)[0] == whole.find("last")
    assert read_work(folder, kept[3].id[:9], knowledge)[0].id == kept[3].id
    (folder / "by-hand.yaml").write_text(yaml.safe_dump(changed(date="2999-01-01")), "utf-8")
    assert read_work(folder, "last", knowledge)[0].id == "by-hand" == read_log(folder, knowledge).find("last").id
    assert read_work(folder, "by-hand", knowledge)[0].id == "by-hand"


def test_what_is_damaged_is_told_and_what_is_nowhere_refused(
    knowledge: Knowledge, log: tuple[Path, list[Trial]]
) -> None:
    folder, kept = log
    Path(kept[1].file).write_bytes(Path(kept[1].file).read_bytes()[:-9])
    _, part = read_work(folder, kept[3].id, knowledge)
    assert [problem.place for problem in part.left_out] == [kept[1].file]
    for named in (kept[1].id, "t00000000000", "last one"):
        with pytest.raises(InputError, match="no such trial in this log"):
            read_work(folder, named, knowledge)
    with pytest.raises(InputError, match="the log cannot be read"):
        read_work(folder / "nowhere", "last", knowledge)
