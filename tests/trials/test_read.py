"""A trial file is read for what it says, in SI or US units, or refused with everything that is wrong."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from advisor.errors import InputError
from advisor.knowledge.base import Knowledge
from advisor.knowledge.strict_yaml import load
from advisor.trials.fields import USED_FIELDS, USED_KEYS, options_of
from advisor.trials.model import Trial, Used
from advisor.trials.read import TRIAL_KEYS, parse_trial
from advisor.trials.stored import StoredReader
from advisor.trials.write import to_plain
from tests.trials.made import JOB, changed, trial


def problems(knowledge: Knowledge, **fields: Any) -> list[str]:
    with pytest.raises(InputError) as caught:
        trial(knowledge, **fields)
    return [str(problem) for problem in caught.value.problems]


def test_every_field_is_read_in_its_base_unit(knowledge: Knowledge) -> None:
    read = trial(knowledge)
    assert read.job.name == "gate-arm"
    assert (read.feature, read.step, read.verdict, read.date, read.by) == (
        "outer sweep",
        1,
        "pass",
        "2026-05-04",
        "kt",
    )
    assert (read.used.media, read.used.grain, read.used.grade, read.used.backing) == (
        "belt",
        "ceramic-alumina",
        "P80",
        "J",
    )
    assert (read.used.force_n, read.used.surface_speed_m_s, read.used.feed_mm_s, read.used.passes) == (
        45,
        22,
        40,
        6,
    )
    assert (read.incoming.depth_mm, read.incoming.ra_um) == (0.25, 6.3)
    assert (read.measured.ra_um, read.measured.removal_um, read.measured.time_s) == (1.2, 85, 40)
    assert (read.roughness.cutoff_mm, read.roughness.direction) == (0.8, "across")
    assert read.symptoms == ("chatter",)


def test_us_units_are_exact(knowledge: Knowledge) -> None:
    # 1 lbf = 4.4482216152605 N and 1 in = 25.4 mm by definition, so 1 ft/min = 0.00508 m/s.
    read = trial(
        knowledge, used__force="10 lbf", used__surface_speed="4000 ft/min", used__feed="100 in/min",
        used__wheel_diameter="10 in", measured__ra="48 uin", measured__removal="3 thou",
    )  # fmt: skip
    assert read.used.force_n == pytest.approx(44.482216152605, rel=1e-15)
    assert read.used.surface_speed_m_s == 20.32
    assert read.used.feed_mm_s == pytest.approx(100 * 25.4 / 60, rel=1e-15)
    assert read.used.wheel_diameter_mm == 254.0
    assert (read.measured.ra_um, read.measured.removal_um) == (1.2192, 76.2)


def test_the_job_may_be_a_file_beside_the_trial(knowledge: Knowledge, tmp_path: Path) -> None:
    (tmp_path / "gate-arm.yaml").write_text(yaml.safe_dump(JOB), encoding="utf-8")
    read = parse_trial(changed(job="gate-arm.yaml"), knowledge, "trial.yaml", tmp_path)
    assert read.job == trial(knowledge).job


def test_a_missing_job_file_is_told_once_with_its_place(knowledge: Knowledge, tmp_path: Path) -> None:
    text = "job: nowhere.yaml\nfeature: x\nstep: 1\nused: {media: belt}\nverdict: pass\n"
    with pytest.raises(InputError) as caught:
        parse_trial(load(text, "t.yaml"), knowledge, "t.yaml", tmp_path)
    assert [problem.place for problem in caught.value.problems] == ["t.yaml:1:6"]
    assert "no such file" in str(caught.value)


def test_the_only_feature_need_not_be_named(knowledge: Knowledge) -> None:
    one = {**JOB, "features": JOB["features"][:1]}
    assert trial(knowledge, job=one, feature=None).feature == "outer sweep"
    assert any("names the feature" in text for text in problems(knowledge, feature=None))


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"measured__removal": "-5 um"}, "measured.removal: outside what is possible, given '-5 um'"),
        ({"measured__ra": "201 um"}, "measured.ra: outside what is possible, given '201 um'; allowed: 0.005 to 200 um"),
        ({"measured__ra": "0 um"}, "measured.ra: outside what is possible"),
        ({"measured__time": "40"}, "measured.time: a time needs a unit: s, min, h"),
        ({"measured__time": "40 N"}, "measured.time: 40 N is a force; a time is needed"),
        ({"used__force": "45 kg"}, "used.force: 45 kg is a mass; a force is needed"),
        ({"used__force": 45}, "used.force: a force needs a unit"),
        ({"used__passes": 2.5}, "used.passes: a whole number is needed"),
        ({"used__passes": 0}, "used.passes: outside what is possible"),
        ({"used__media": "belts"}, "nearest: belt"),
        ({"used__grade": "P81"}, "nearest: P"),
        ({"used__grade": "medium"}, "not a grade of this media (belt)"),
        ({"used__hardness_shore_a": "40 mm"}, "used.hardness_shore_a: a number without a unit is needed"),
        ({"used__press": "45 N"}, "used.press: unknown key"),
        ({"feature": "outer sweeps"}, "nearest: outer sweep"),
        ({"step": 0}, "step: outside what is possible"),
        ({"step": "one"}, "step: a whole number without a unit is needed"),
        ({"symptoms": ["chater"]}, "nearest: chatter"),
        ({"symptoms": ["Heat tints"]}, "nearest: heat-tint-seen"),
        ({"verdict": "good"}, "verdict: unknown value, given 'good'; allowed: pass, fail"),
        ({"date": "04.05.2026"}, "date: not a day"),
        ({"date": "2026-02-30"}, "date: not a day"),
        ({"date": "1926-05-04"}, "date: too long ago"),
        ({"roughness__direction": "sideways"}, "roughness.direction: unknown value"),
        ({"verdict": None}, "a trial ends with a verdict; allowed: pass, fail"),
        ({"used": None}, "a trial says what was used"),
        ({"used__media": None}, "the media that was used is needed"),
        ({"job": {**JOB, "alloy": "s3160"}}, "alloy: unknown alloy"),
        ({"stored": "yesterday"}, "stored: the log writes this itself"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_in_words(knowledge: Knowledge, fields: dict[str, Any], says: str) -> None:
    found = problems(knowledge, **fields)
    assert len(found) == 1, found
    assert says in found[0]


def test_everything_wrong_is_told_at_once(knowledge: Knowledge) -> None:
    found = problems(
        knowledge, measured__removal="-1 um", symptoms=["chater"], used__force="3", verdict="ok", step=0
    )
    assert len(found) == 5


def test_what_is_no_mapping_is_refused(knowledge: Knowledge) -> None:
    for text in ("", "[]", "hello"):
        with pytest.raises(InputError, match=r"trial is a mapping of fields"):
            parse_trial(load(text, "t.yaml"), knowledge, "t.yaml")


def test_a_symptom_may_be_written_by_its_name(knowledge: Knowledge) -> None:
    rows = knowledge.tables.symptoms
    named = trial(knowledge, symptoms=[row.name for row in rows.values()][:5])
    assert named.symptoms == tuple(rows)[:5]


def test_the_table_of_fields_and_the_model_are_one() -> None:
    assert {field.attribute for field in USED_FIELDS} == set(Used.model_fields)
    assert set(TRIAL_KEYS) == set(Trial.model_fields) - {"id", "file"}


def test_every_choice_has_options(knowledge: Knowledge) -> None:
    assert all(options_of(field, knowledge) for field in USED_FIELDS if field.kind == "choice")


_POSITIVE = st.floats(0.02, 60, allow_nan=False).map(lambda value: round(value, 4))


@given(
    force=_POSITIVE, speed=_POSITIVE, ra=_POSITIVE, removal=_POSITIVE, age=st.integers(0, 5000),
    passes=st.integers(1, 60), unit=st.sampled_from(["N", "lbf"]), note=st.text("abc d", max_size=20),
)  # fmt: skip
def test_written_and_read_again_it_is_the_same_trial(
    knowledge: Knowledge, force: float, speed: float, ra: float, removal: float, age: int, passes: int,
    unit: str, note: str,
) -> None:  # fmt: skip
    read = trial(
        knowledge, used__force=f"{force} {unit}", used__surface_speed=f"{max(speed, 0.1)} m/s", used__passes=passes,
        used__media_age=age, measured__ra=f"{ra} um", measured__removal=f"{removal} um", note=note,
    )  # fmt: skip
    again = parse_trial(to_plain(read), knowledge)
    assert again == read
    quick = StoredReader(knowledge).read(
        {key: value for key, value in to_plain(read).items() if key != "job"}, read.job, "", ""
    )
    assert quick is not None
    assert quick.model_copy(update={"file": read.file}) == read, "the quick reader reads the same"
    assert to_plain(again) == to_plain(read)


@pytest.mark.parametrize(
    "fields",
    [
        {"used__force": "10 lbf"}, {"used__media": "no-such-media"}, {"used__grade": "medium"}, {"step": 0},
        {"measured__removal": "-5 um"}, {"symptoms": ["chater"]}, {"verdict": "good"}, {"unknown": 1},
        {"feature": "elsewhere"}, {"used__passes": 2.5}, {"used__force": 45},
        {"used__force": "4_5 N"}, {"used__force": "nan N"}, {"date": "2026-02-30"},
        {"by": "two\nlines"}, {"stored": "now"}, {"note": 5}, {"symptoms": ["chatter", "chatter"]},
        {"incoming__defect": "dust"},
    ],
)  # fmt: skip
def test_the_quick_reader_leaves_what_is_unusual_to_the_full_one(
    knowledge: Knowledge, fields: dict[str, Any]
) -> None:
    content = {key: value for key, value in changed(**fields).items() if key != "job"}
    assert StoredReader(knowledge).read(content, trial(knowledge).job, "", "") is None


def test_every_field_of_a_trial_is_documented() -> None:
    page = (Path(__file__).parents[2] / "docs" / "how-to" / "record-a-trial.md").read_text("utf-8")
    table = page.split("## Every field")[1].split("\n## ")[0]
    named = set(re.findall(r"`(\w+)`", table))
    sections = {"used", "incoming", "measured", "roughness"}
    assert {
        *TRIAL_KEYS,
        *USED_KEYS,
        "depth",
        "ra",
        "removal",
        "time",
        "parts_per_media",
        "cutoff",
    } - sections <= named
