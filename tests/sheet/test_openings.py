"""A refusal names a smallest set of requirements, and every change it suggests opens the job."""

from __future__ import annotations

import math
import random
import re
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml
from typer.testing import CliRunner

from advisor.cli.app import app
from advisor.job.model import Job
from advisor.job.read import parse_job
from advisor.job.write import cell_json
from advisor.sequence.requirements import Requirement, requirements_of
from advisor.sequence.worlds import World
from advisor.sheet.in_the_way import in_the_way
from advisor.sheet.model import Blocked, Sheet
from advisor.sheet.nearest import rungs
from tests import invented

BELTS = ["belt", "nonwoven-belt"]
HOLLOW = {"name": "face", "shape": "concave", "radius": "120 mm", "width": "60 mm", "area": "60 cm2"}


def station(name: str, **fields: Any) -> dict[str, Any]:
    usual = {
        "name": name, "takes": BELTS, "power": "3 kW", "speed": ["600 rpm", "3600 rpm"],
        "wheel_diameter": "250 mm",
    }  # fmt: skip
    return {**usual, **fields}


def cell(compliance: Mapping[str, Any] | None = None, **fields: Any) -> dict[str, Any]:
    found: dict[str, Any] = {
        "operator": "robot", "handling": ["part-in-hand"], "media_history": "clean",
        "stations": [station("belts", **fields)],
    }  # fmt: skip
    return {**found, **({"compliance": dict(compliance)} if compliance else {})}


MARKS = {"defect": "machining-marks", "depth": "0.05 mm"}
SKIN = {"defect": "casting-skin", "depth": "0.5 mm"}
FLAPS = {"takes": ["flap-wheel"], "wheel_diameter": "200 mm", "speed": ["600 rpm", "3000 rpm"]}
#: The cases of bad input, each with what must be named.
CASES: Mapping[str, tuple[dict[str, Any], set[str]]] = {
    "too weak": ({"cell": cell(power="0.05 kW")}, {"power"}),
    "too slow": ({"cell": cell(speed=["20 rpm", "90 rpm"])}, {"surface speed"}),
    "too fast": ({"cell": cell(speed=["8000 rpm", "9500 rpm"])}, {"surface speed"}),
    "no station for the media": ({"cell": cell(takes=["belt"]), "finish": "mirror"}, {"station"}),
    "too heavy a hand": ({"cell": cell({"stroke": "25 mm", "force": ["300 N", "400 N"]})}, {"force"}),
    "a stroke below the wear of a part": (
        {"start": "mill-surface", "features": [{**invented.PLAIN_FACE, "area": "40000 cm2"}],
         "cell": cell({"stroke": "1.1 mm", "force": ["5 N", "200 N"]}, **FLAPS)}, {"stroke"},
    ),
    "a wall thinner than the depth": (
        {"start": SKIN, "part": {"wall": "0.4 mm"}, "cell": "robot-floor-stand"}, {"wall", "depth"},
    ),
    "less stock than depth": (
        {"start": SKIN, "features": [{**invented.PLAIN_FACE, "max_stock": "0.2 mm"}], "cell": "robot-floor-stand"},
        {"stock", "depth"},
    ),
    "a roughness beyond what is there": (
        {"cell": cell(takes=["belt"]), "finish": {"texture": "ground", "lay": "linear", "ra": ["8 um", "9 um"]}},
        {"roughness"},
    ),
    "too little room": ({"features": [{**invented.PLAIN_FACE, "access": "8 mm"}]}, {"access"}),
    "a hollow under large wheels": (
        {"start": {"defect": "burr"}, "features": [HOLLOW], "cell": "robot-wet-belt-cell"}, {"reach"},
    ),
    "a collector shared with steel": ({"alloy": "m11916", "start": {"defect": "burr"}, "cell": "hand-tools"}, set()),
    "two obstacles": (
        {"cell": cell({"stroke": "25 mm", "force": ["300 N", "400 N"]}),
         "features": [{**invented.PLAIN_FACE, "access": "8 mm"}]}, {"force", "access"},
    ),
}  # fmt: skip
every_case = pytest.mark.parametrize("case", CASES)


def fields_of(case: str) -> dict[str, Any]:
    base = {"alloy": "s31603", "start": MARKS, "finish": "satin-fine", "features": [invented.PLAIN_FACE]}
    return {**base, "cell": cell(), **CASES[case][0]}


def generated(seed: int) -> dict[str, Any]:
    """A job whose cell is too weak, too slow, too fast, too heavy-handed, or has not what it takes."""
    draw = random.Random(seed)
    kind = ("power", "slow", "fast", "force", "access", "station", "stock", "wall")[seed % 8]
    fields: dict[str, Any] = {}
    held = None
    if kind == "power":
        fields["power"] = f"{draw.uniform(0.03, 0.06):.3f} kW"
    if kind in ("slow", "fast"):
        low = 20 if kind == "slow" else draw.randint(7000, 9000)
        fields["speed"] = [f"{low} rpm", f"{draw.randint(60, 140) if kind == 'slow' else 9500} rpm"]
    if kind == "station":
        fields["takes"] = ["belt"]
    if kind == "force":
        least = draw.randint(250, 350)
        held = {"stroke": "25 mm", "force": [f"{least} N", f"{least + 100} N"]}
    face = {**invented.PLAIN_FACE, **({"access": f"{draw.randint(2, 20)} mm"} if kind == "access" else {})}
    depth = f"{draw.uniform(0.02, 0.1):.3f} mm"
    if kind == "stock":
        face["max_stock"] = f"{draw.uniform(0.005, 0.015):.3f} mm"
    part = {"wall": f"{draw.uniform(0.06, 0.1):.3f} mm"} if kind == "wall" else {}
    if kind == "wall":
        depth = f"{draw.uniform(0.06, 0.1):.3f} mm"
    return {
        "alloy": "s31603" if kind == "power" else draw.choice(["s31603", "s30400", "a96063"]),
        "start": {"defect": "machining-marks", "depth": depth}, "part": part,
        "finish": "mirror" if kind == "station" else draw.choice(["satin-fine", "satin-medium"]),
        "features": [face], "cell": cell(held, **fields),
    }  # fmt: skip


# ---------------------------------------------------------------- the changes, read as a person reads them
def options(sheet: Sheet) -> Iterator[list[str]]:
    """The changes that are said to open the job, each a list of those to be made together."""
    for face in sheet.features:
        told = [entry.opens for entry in face.blocked if entry.opens]
        together = [words.split("; together with")[0] for words in told if "; together" in words]
        if together:
            yield together
        for words in told:
            if "; together" not in words:
                yield from ([each] for each in words.split("; or "))


def changed(fields: Mapping[str, Any], changes: list[str]) -> dict[str, Any]:
    """The fields of a job with some changes made, told from their words alone."""
    job = invented.job_of(**fields)
    found = {**fields, "cell": cell_json(job.cell), "features": [dict(face) for face in fields["features"]]}
    for words in changes:
        _make(found, words)
    return found


def _make(job: dict[str, Any], words: str) -> None:
    numbers = [float(each) for each in re.findall(r"\d+\.?\d*(?:e[+-]?\d+)?", words)]
    there, face = job["cell"], job["features"][0]
    if words.startswith("a station for"):
        for part in words.split(" and a station for "):
            key = part.removeprefix("a station for ").split(",")[0]
            power, wheel = re.findall(r"\d+\.?\d*", part.split(",", 1)[1])
            row = invented.knowledge().tables.media[key]
            speeds = (row.speed_m_s[0], min(row.speed_m_s[1], row.marked_speed_m_s or math.inf))
            turns = [f"{60000 * each / (math.pi * float(wheel))} rpm" for each in speeds]
            more = {"takes": [key], "power": f"{power} kW", "speed": turns, "wheel_diameter": f"{wheel} mm"}
            there["stations"].append(station(f"more {key}", **more))
        return
    for name in [each for each in there["stations"] if f"on {each['name']}" in words]:
        if "kW" in words:
            name["power"] = f"{numbers[0]} kW"
        elif "rpm" in words:
            name["speed"] = [f"{numbers[0]} rpm", f"{numbers[1]} rpm"]
        elif "wheel" in words:
            size = float(str(name["wheel_diameter"]).split()[0])
            low, high = (float(str(each).split()[0]) for each in name["speed"])
            name["wheel_diameter"] = f"{numbers[0]} mm"
            name["speed"] = [f"{low} rpm", f"{high * size / numbers[0]} rpm"]
        return
    if "holds" in words:
        there["compliance"]["force"] = [f"{numbers[0]} N", f"{numbers[1]} N"]
    elif "stroke" in words:
        there["compliance"]["stroke"] = f"{numbers[0]} mm"
    elif "max_stock" in words:
        face["max_stock"] = f"{numbers[0]} mm"
    elif "wall" in words:
        job["part"] = {"wall": f"{numbers[0]} mm"}
    elif "free space" in words:
        face["access"] = f"{numbers[0]} mm"
    elif "hollow" in words:
        face["radius"] = f"{numbers[0]} mm"
    elif "deeper" in words or "higher" in words:
        job["start"] = {**job["start"], "depth": f"{numbers[0]} mm"}
    elif "rougher" in words:
        job["start"] = {**job["start"], "roughness": f"{numbers[0]} um"}
    elif "Ra band" in words:
        finish = invented.job_of(**job).features[0].finish
        job["finish"] = {"texture": finish.texture, "lay": finish.lay, "ra": [f"{n} um" for n in numbers]}
    elif "serves this metal alone" in words:
        there["dust"] = {"collector": "wet" if "wet" in words else "dry", "shared_with": []}
    elif "wet work" in words:
        there["wet"] = True
    else:
        raise AssertionError(f"a change that this test cannot read: {words}")


@cache
def refused(case: str | int) -> Sheet:
    return invented.sheet_of(**(generated(case) if isinstance(case, int) else fields_of(case)))


@every_case
def test_the_case_is_named_and_each_change_opens_it(case: str) -> None:
    found = refused(case)
    entries = found.features[0].blocked
    assert found.refused and CASES[case][1] <= {entry.limit for entry in entries}
    ways = list(options(found))
    assert ways
    for changes in ways:
        assert not invented.sheet_of(**changed(fields_of(case), changes)).refused, changes


@pytest.mark.parametrize("seed", range(8))
def test_each_change_opens_generated_jobs(seed: int) -> None:
    found = refused(seed)
    ways = list(options(found))
    assert found.refused and ways
    for changes in ways:
        assert not invented.sheet_of(**changed(generated(seed), changes)).refused, changes


def _set_and_others(job: Job) -> tuple[list[Requirement], list[Requirement], int]:
    plan = invented.plans_of(job)[0]
    named = in_the_way(plan)
    keys = {each.key for each, _, _ in named}
    asked = requirements_of(job, plan.feature, invented.knowledge())
    more = max((more for _, _, more in named), default=0)
    return [each for each in asked if each.key in keys], [each for each in asked if each.key not in keys], more


def _planned(world: World) -> bool:
    """By the real planner, which knows nothing of requirements."""
    return bool(invented.plans_of(world.job)[0].path)


def let_go(job: Job, requirements: list[Requirement]) -> World:
    world = World(job)
    for each in requirements:
        world = each.let_go(world)
    return world


#: Not here: two sets at once, and the one whose search through every media takes long.
SETS = [case for case in CASES if case not in ("two obstacles", "a roughness beyond what is there")]


@pytest.mark.parametrize("case", [*SETS, *range(0, 8, 3)])
def test_the_set_is_a_smallest_one(case: str | int) -> None:
    """All that is not named is let go, and there still is no plan; without any one that is named there is."""
    job = invented.job_of(**(generated(case) if isinstance(case, int) else fields_of(case)))
    named, others, more = _set_and_others(job)
    assert named and more == 0
    assert not _planned(let_go(job, others))
    for each in named:
        assert _planned(let_go(job, [*others, each])), each.key


def test_of_changes_together_none_can_be_left_out() -> None:
    found = refused("two obstacles")
    (changes,) = [each for each in options(found) if len(each) > 1]
    for left in changes:
        fewer = [each for each in changes if each != left]
        assert invented.sheet_of(**changed(fields_of("two obstacles"), fewer)).refused


@pytest.mark.parametrize("case", list(CASES)[:8])
def test_through_the_command_it_ends_with_1_and_says_what_would_open_it(case: str, tmp_path: Path) -> None:
    file = tmp_path / "job.yaml"
    file.write_text(yaml.safe_dump({"name": "case", "batch": 200, **fields_of(case)}), encoding="utf-8")
    outcome = CliRunner().invoke(app, ["recommend", str(file), "--no-robustness"])
    assert outcome.exit_code == 1, outcome.output
    assert "No plan for this face" in outcome.output and "What would open it" in outcome.output
    opened = tmp_path / "opened.yaml"
    changes = next(options(refused(case)))
    again = {"name": "case", "batch": 200, **changed(fields_of(case), changes)}
    opened.write_text(yaml.safe_dump(again), encoding="utf-8")
    outcome = CliRunner().invoke(app, ["recommend", str(opened), "--no-robustness"])
    assert outcome.exit_code == 0, (changes, outcome.output[-500:])


def test_rungs_are_round_and_lead_away_from_what_is_there() -> None:
    up, down = list(rungs(0.058, True)), list(rungs(216.0, False))
    assert up[:3] == [0.06, 0.08, 0.1] and up == sorted(up) and up[-1] <= 58.0
    assert down[:2] == [200.0, 150.0] and down == sorted(down, reverse=True) and down[-1] >= 0.216


def test_what_may_come_off_by_word_of_the_job_is_not_refused_for_the_wall() -> None:
    start = {"defect": "deep-scratch", "depth": "0.6 mm"}
    thin = {
        "alloy": "s31603", "finish": "satin-medium", "cell": "robot-floor-stand", "part": {"wall": "1 mm"},
        "start": start,
    }  # fmt: skip
    assert invented.sheet_of(**thin).refused
    assert not invented.sheet_of(**thin, features=[{**invented.PLAIN_FACE, "max_stock": "0.9 mm"}]).refused


def test_an_empty_batch_is_wrong_input_with_its_place(tmp_path: Path) -> None:
    file = tmp_path / "job.yaml"
    job = {"name": "none", **fields_of("too weak"), "cell": "robot-floor-stand", "batch": 0}
    file.write_text(yaml.safe_dump(job), encoding="utf-8")
    outcome = CliRunner().invoke(app, ["recommend", str(file)])
    assert outcome.exit_code == 2
    assert re.search(r"job\.yaml:\d+:\d+: batch.*given '?0'?; allowed: 1 to", outcome.output), outcome.output


def test_the_changed_cell_is_one_that_can_be_written() -> None:
    """The job that was tried is a job: its cell reads back as what it is."""
    job = invented.job_of(**fields_of("too weak"))
    again = {**fields_of("too weak"), "name": "x", "cell": cell_json(job.cell)}
    assert parse_job(again, invented.knowledge()).cell.stations


def test_entries_say_a_value_beside_what_is_allowed() -> None:
    entries = refused("less stock than depth").features[0].blocked
    entry: Blocked = next(each for each in entries if each.limit == "stock")
    assert (entry.value, entry.allowed, entry.unit) == (0.5, 0.2, "mm")
