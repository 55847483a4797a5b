"""The commands of the trial log as a user types them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import yaml

from tests.cli.conftest import Run
from tests.trials.made import JOB, TRIAL, changed


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a job, a trial and an empty log; commands run in it."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "gate-arm.yaml").write_text(yaml.safe_dump(JOB), "utf-8")
    (tmp_path / "first.yaml").write_text(yaml.safe_dump(changed(job="gate-arm.yaml")), "utf-8")
    return tmp_path


def test_a_trial_is_stored_listed_and_shown(run: Run, shop: Path) -> None:
    kept = run("trial", "new", "first.yaml", "--log", "log")
    assert kept.code == 0, kept.err
    key = kept.out.strip()
    assert (shop / "log" / f"{key}.yaml").is_file()
    listed = run("trial", "list", "--log", "log", "--format", "json")
    (one,) = json.loads(listed.out)
    assert (one["id"], one["used"]["force"], one["job"]["name"]) == (key, "45 N", "gate-arm")
    shown = run("trial", "show", key[:6], "--log", "log", "--units", "us")
    assert "force: 10.1 lbf" in shown.out
    assert run("trial", "list", "--log", "log", "--job", "other").out == "No trials yet.\n"


def test_the_same_file_twice_is_refused_with_2(run: Run, shop: Path) -> None:
    assert run("trial", "new", "first.yaml", "--log", "log").code == 0
    again = run("trial", "new", "first.yaml", "--log", "log")
    assert again.code == 2
    assert "in the log already" in again.err
    assert len(list((shop / "log").iterdir())) == 1


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"step": 9}, "has no such step for 'outer sweep', given '9'; allowed: 1 to"),
        ({"photos": ["nowhere.jpg"]}, "photos: no such file, given 'nowhere.jpg'"),
        ({"corrects": "t000000000000"}, "corrects: no such trial in this log"),
        ({"followed": ["bars-across-the-pth"]}, "nearest: bars-across-the-path"),
        ({"date": "2999-01-01"}, "lies ahead of this machine's clock"),
        ({"measured": {"removal": "-3 um"}}, "outside what is possible, given '-3 um'"),
    ],
)
def test_what_cannot_be_ends_with_2_and_stores_nothing(
    run: Run,
    shop: Path,
    fields: dict[str, Any],
    says: str,
) -> None:
    (shop / "bad.yaml").write_text(yaml.safe_dump(changed(**fields)), "utf-8")
    ended = run("trial", "new", "bad.yaml", "--log", "log")
    assert (ended.code, ended.out) == (2, "")
    assert says in ended.err
    assert not (shop / "log").exists()


def test_photos_are_named_from_the_log(run: Run, shop: Path) -> None:
    (shop / "before.jpg").write_bytes(b"\xff\xd8")
    (shop / "with.yaml").write_text(yaml.safe_dump(changed(photos=["before.jpg"])), "utf-8")
    assert run("trial", "new", "with.yaml", "--log", "log").code == 0
    (one,) = json.loads(run("trial", "list", "--log", "log", "--format", "json").out)
    assert one["photos"] == ["../before.jpg"]


def test_ra_without_its_cut_off_and_direction_is_asked_for(run: Run, shop: Path) -> None:
    (shop / "bare.yaml").write_text(yaml.safe_dump(changed(roughness=None)), "utf-8")
    kept = run("trial", "new", "bare.yaml", "--log", "log")
    assert kept.code == 0
    assert "cut-off" in kept.err
    assert "direction" in kept.err


def test_with_its_sheet_only_what_differed_is_written(run: Run, shop: Path) -> None:
    assert run("recommend", "gate-arm.yaml", "--format", "json", "--output", "sheet.json").code == 0
    step = json.loads((shop / "sheet.json").read_text("utf-8"))["features"][0]["steps"][0]
    short = {"feature": "outer sweep", "step": 1, "used": {"force": "51 N"}, "measured": {"removal": "90 um"},
             "verdict": "pass"}  # fmt: skip
    (shop / "short.yaml").write_text(yaml.safe_dump(short), "utf-8")
    kept = run("trial", "new", "short.yaml", "--sheet", "sheet.json", "--log", "log")
    assert kept.code == 0, kept.err
    (one,) = json.loads(run("trial", "list", "--log", "log", "--format", "json").out)
    assert (one["used"]["media"], one["used"]["grade"], one["used"]["passes"]) == (
        step["media"], step["grade"], step["passes"]
    )  # fmt: skip
    assert one["used"]["force"] == "51 N"
    wrong = {**short, "step": 7}
    (shop / "wrong.yaml").write_text(yaml.safe_dump(wrong), "utf-8")
    assert (
        "the sheet has no such step"
        in run("trial", "new", "wrong.yaml", "--sheet", "sheet.json", "--log", "log").err
    )


ANSWERS = [
    "gate-arm.yaml", "outer sweep", "1", "belt", "ceramic-alumina", "P80", "J", "40", "", "dry", "45 N", "22 m/s",
    "40 mm/s", "6", "", "", "", "", "1.2 um", "0.8 mm", "across", "-4 um", "85 um", "", "", "chater", "chatter", "pass",
    "kt", "2026-05-04", "", "",
]  # fmt: skip


def test_without_a_file_it_asks_in_the_order_of_the_card(run: Run, shop: Path) -> None:
    kept = run("trial", "new", "--log", "log", typed="\n".join(ANSWERS) + "\n")
    assert kept.code == 0, kept.err
    assert "outside what is possible, given '-4 um'" in kept.err, "a wrong answer is asked again"
    assert "nearest: chatter" in kept.err
    (one,) = json.loads(run("trial", "list", "--log", "log", "--format", "json").out)
    assert one["measured"] == {"ra": "1.2 um", "removal": "85 um"}
    assert one["roughness"] == {"cutoff": "0.8 mm", "direction": "across"}
    assert one["symptoms"] == ["chatter"]


def test_answers_that_break_off_are_not_lost(run: Run, shop: Path) -> None:
    ended = run("trial", "new", "--log", "log", typed="\n".join(ANSWERS[:8]) + "\n")
    assert ended.code == 2
    assert "Nothing is stored" in ended.err
    kept = ended.err[ended.err.index("{") : ended.err.rindex("}") + 1]
    assert yaml.safe_load(kept)["used"]["grade"] == "P80"
    assert not (shop / "log").exists()


def test_with_a_sheet_it_asks_only_what_differed(run: Run, shop: Path) -> None:
    assert run("recommend", "gate-arm.yaml", "--format", "json", "--output", "sheet.json").code == 0
    answers = [
        "outer sweep",
        "1",
        "force 51 N",
        "pases 9",
        "passes 9",
        "",
        "",
        "",
        "",
        "",
        "90 um",
        "",
        "",
        "",
        "pass",
    ]
    kept = run(
        "trial",
        "new",
        "--sheet",
        "sheet.json",
        "--log",
        "log",
        typed="\n".join([*answers, "", "", "", ""]) + "\n",
    )
    assert kept.code == 0, kept.err
    (one,) = json.loads(run("trial", "list", "--log", "log", "--format", "json").out)
    assert (one["used"]["force"], one["used"]["passes"], one["measured"]) == ("51 N", 9, {"removal": "90 um"})


def test_next_answers_in_words_and_in_json(run: Run, shop: Path) -> None:
    assert run("trial", "new", "first.yaml", "--log", "log").code == 0
    text = run("trial", "next", "last", "--log", "log")
    assert text.code == 0, text.err
    assert text.out.index("Cautions: read these first") < text.out.index("Change one thing")
    said = json.loads(run("trial", "next", "last", "--log", "log", "--format", "json").out)
    assert said["missed"][0]["symptom"] == "chatter"
    assert said["moves"]


def test_next_ends_with_1_where_nothing_is_left_to_say(run: Run, shop: Path) -> None:
    bare = changed(symptoms=None, measured=None, roughness=None, verdict="fail")
    (shop / "bare.yaml").write_text(yaml.safe_dump(bare), "utf-8")
    assert run("trial", "new", "bare.yaml", "--log", "log").code == 0
    ended = run("trial", "next", "last", "--log", "log")
    assert ended.code == 1
    assert "nothing says how" in ended.out


def test_a_log_that_is_nowhere_ends_with_2(run: Run, shop: Path) -> None:
    for command in (("list",), ("show", "last"), ("next", "last")):
        ended = run("trial", *command, "--log", "nowhere")
        assert ended.code == 2
        assert "the log cannot be read" in ended.err


def test_damaged_files_are_told_and_the_rest_is_listed(run: Run, shop: Path) -> None:
    assert run("trial", "new", "first.yaml", "--log", "log").code == 0
    (shop / "log" / "half.yaml").write_text(yaml.safe_dump(TRIAL)[:200], "utf-8")
    listed = run("trial", "list", "--log", "log")
    assert (listed.code, len(listed.out.splitlines())) == (0, 1)
    assert "half.yaml" in listed.err


def test_like_and_the_sheet_show_what_was_tried(run: Run, shop: Path) -> None:
    assert run("trial", "new", "first.yaml", "--log", "log").code == 0
    text = run("trial", "like", "gate-arm.yaml", "--log", "log")
    assert text.code == 0, text.err
    assert "pass, 0 points away" in text.out
    assert "same alloy" in text.out
    (first, *_) = json.loads(run("trial", "like", "gate-arm.yaml", "--log", "log", "--format", "json").out)
    assert (first["feature"], first["points"]) == ("outer sweep", 0.0)
    sheet = json.loads(run("recommend", "gate-arm.yaml", "--log", "log", "--format", "json").out)
    assert sheet["past"][0]["trial"] == first["trial"]
    assert json.loads(run("recommend", "gate-arm.yaml", "--format", "json").out)["past"] == []


def test_next_can_begin_from_what_trials_taught(run: Run, shop: Path) -> None:
    assert run("trial", "new", "first.yaml", "--log", "log").code == 0
    assert run("trial", "learn", "--log", "log", "--output", "taught").code == 0
    said = run("trial", "next", "last", "--log", "log", "--learned", "taught")
    assert said.code == 0, said.err
    assert "Change one thing" in said.out


OWN = {"step": 1, "extra": True, "used": {"media": "belt", "grain": "ceramic-alumina", "grade": "P120", "force": "40 N",
       "surface_speed": "22 m/s", "feed": "40 mm/s", "passes": 4}}  # fmt: skip


def test_a_step_of_ones_own_goes_through_every_command(run: Run, shop: Path) -> None:
    (shop / "own.yaml").write_text(yaml.safe_dump(changed(**OWN, incoming=None)), "utf-8")
    kept = run("trial", "new", "own.yaml", "--log", "log")
    assert kept.code == 0, kept.err
    assert "extra step after step 1" in run("trial", "list", "--log", "log").out
    assert "extra step after step 1" in run("trial", "show", "last", "--log", "log").out
    assert "extra step after step 1" in run("trial", "like", "gate-arm.yaml", "--log", "log").out
    advice = run("trial", "next", "last", "--log", "log")
    assert advice.code == 0, advice.err
    assert "extra step after step 1" in advice.out
    learned = json.loads(run("trial", "learn", "--log", "log", "--format", "json").out)
    assert {row["coefficient"] for row in learned} >= {"removal", "roughness-floor"}
    sheet = run("recommend", "gate-arm.yaml", "--log", "log").out
    assert "extra step after step 1" in sheet


def test_a_step_that_is_only_mistyped_is_told_how_one_of_ones_own_is_written(run: Run, shop: Path) -> None:
    (shop / "slip.yaml").write_text(yaml.safe_dump(changed(step=12)), "utf-8")
    ended = run("trial", "new", "slip.yaml", "--log", "log")
    assert ended.code == 2
    assert "has no such step for 'outer sweep', given '12'; allowed: 1 to" in ended.err
    assert "extra: true" in ended.err
    assert not (shop / "log").exists()


def test_with_a_sheet_a_step_of_ones_own_takes_only_its_job(run: Run, shop: Path) -> None:
    assert run("recommend", "gate-arm.yaml", "--format", "json", "--output", "sheet.json").code == 0
    content = changed(**OWN, incoming=None, job=None)
    (shop / "own.yaml").write_text(yaml.safe_dump(content), "utf-8")
    kept = run("trial", "new", "own.yaml", "--sheet", "sheet.json", "--log", "log")
    assert kept.code == 0, kept.err
    (one,) = json.loads(run("trial", "list", "--log", "log", "--format", "json").out)
    assert (one["extra"], one["used"]["grade"], one["job"]["name"]) == (True, "P120", "gate-arm")
    assert "lubricant" not in one["used"], "nothing of the sheet's own step"


def test_asked_for_a_step_of_ones_own_is_named_by_what_it_came_after(run: Run, shop: Path) -> None:
    answers = [*ANSWERS[:2], "after 1", *ANSWERS[3:5], "", *ANSWERS[5:]]
    kept = run("trial", "new", "--log", "log", typed="\n".join(answers) + "\n")
    assert kept.code == 0, kept.err
    assert kept.err.count("This one is needed") == 1, "its grade, which no sheet says"
    (one,) = json.loads(run("trial", "list", "--log", "log", "--format", "json").out)
    assert (one["step"], one["extra"], one["used"]["grade"]) == (1, True, "P80")
