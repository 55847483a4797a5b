"""What a refusal says would open it does open it, on generated cells and parts that are refused."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

import pytest

from advisor.job.read import parse_job
from advisor.job.write import cell_json
from advisor.sheet.model import Blocked, Sheet
from advisor.units import figure
from tests import invented

USUAL_SPEEDS = {key: row.speed_m_s for key, row in invented.knowledge().tables.media.items()}


def station(name: str, **fields: Any) -> dict[str, Any]:
    usual = {
        "name": name, "takes": ["belt", "nonwoven-belt"], "power": "3 kW", "speed": ["600 rpm", "3600 rpm"],
        "wheel_diameter": "250 mm",
    }  # fmt: skip
    return {**usual, **fields}


def fields_of(seed: int) -> dict[str, Any]:
    """A job whose cell is too weak, too slow, too fast, too heavy-handed, or has not what it takes."""
    draw = random.Random(seed)
    kind = ("weak", "slow", "fast", "force", "access", "station")[seed % 6]
    power = f"{draw.uniform(0.05, 0.06):.3f} kW" if kind == "weak" else "3 kW"
    low, high = {"slow": (20, draw.randint(60, 140)), "fast": (draw.randint(7000, 9000), 9500)}.get(kind, (600, 3600))
    takes = ["belt"] if kind == "station" else ["belt", "nonwoven-belt"]
    cell: dict[str, Any] = {
        "operator": "robot", "handling": ["part-in-hand"], "media_history": "clean",
        "stations": [station("belts", takes=takes, power=power, speed=[f"{low} rpm", f"{high} rpm"])],
    }  # fmt: skip
    if kind == "force":
        least = draw.randint(250, 350)
        cell["compliance"] = {"stroke": "25 mm", "force": [f"{least} N", f"{least + 100} N"]}
    face = {**invented.PLAIN_FACE, **({"access": f"{draw.randint(2, 20)} mm"} if kind == "access" else {})}
    return {
        "alloy": "s31603" if kind == "weak" else draw.choice(["s31603", "s30400", "a96063"]),
        "start": {"defect": "machining-marks", "depth": f"{draw.uniform(0.02, 0.1):.3f} mm"},
        "finish": "mirror" if kind == "station" else draw.choice(["satin-fine", "satin-medium"]),
        "features": [face],
        "cell": cell,
    }  # fmt: skip


SEEDS = range(12)


@cache
def sheet(seed: int) -> Sheet:
    return invented.sheet_of(**fields_of(seed))


def opened(fields: Mapping[str, Any], entries: list[Blocked]) -> dict[str, Any]:
    """The job with the changes that some entries name, read from their words as a person would."""
    changed = {**fields, "cell": dict(fields["cell"]), "features": [dict(face) for face in fields["features"]]}
    cell = changed["cell"]
    cell["stations"] = [dict(each) for each in cell["stations"]]
    for entry in entries:
        words = str(entry.opens)
        numbers = re.findall(r"\d+\.?\d*", words)
        if match := re.match(r"at least ([\d.]+) kW on (\w+)", words):
            next(each for each in cell["stations"] if each["name"] == match[2])["power"] = f"{match[1]} kW"
        elif match := re.match(r"(\d+) to (\d+) rpm on (\w+)", words):
            found = next(each for each in cell["stations"] if each["name"] == match[3])
            found["speed"] = [f"{match[1]} rpm", f"{match[2]} rpm"]
        elif words.startswith("a compliant tool that holds"):
            cell["compliance"] = {**cell["compliance"], "force": [f"{numbers[0]} N", f"{numbers[1]} N"]}
        elif words.endswith("of free space"):
            changed["features"][0]["access"] = f"{numbers[0]} mm"
        elif match := re.match(r"a station that takes it \(([\w-]+)\), with ([\d.]+) kW and a (\d+) mm wheel", words):
            low, high = (speed * 60 / (3.14159265 * float(match[3]) / 1e3) for speed in USUAL_SPEEDS[match[1]])
            speed = [f"{low + 1:.0f} rpm", f"{high - 1:.0f} rpm"]
            size = f"{match[3]} mm"
            new = station("new", takes=[match[1]], power=f"{match[2]} kW", speed=speed, wheel_diameter=size)
            cell["stations"].append({**new, "name": f"new {match[1]}"})
        else:
            raise AssertionError(f"nobody could act on: {words}")
    return changed


def sets(found: Sheet) -> Iterator[list[Blocked]]:
    """The entries that belong together: each alone, or all that need one another."""
    entries = [entry for entry in found.features[0].blocked if entry.limit and entry.opens]
    together = [entry for entry in entries if "together with" in str(entry.opens)]
    if together:
        yield [entry.model_copy(update={"opens": str(entry.opens).partition(";")[0]}) for entry in together]
    yield from ([entry] for entry in entries if entry not in together)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_change_named_really_opens_it(seed: int) -> None:
    found = sheet(seed)
    assert found.refused and found.features[0].blocked
    named = list(sets(found))
    assert named
    for entries in named[:3]:
        again = invented.sheet_of(**opened(fields_of(seed), entries))
        assert not again.refused, [entry.opens for entry in entries]


@pytest.mark.parametrize("seed", [0, 5, 11])
def test_of_a_set_nothing_is_left_out_without_closing_it(seed: int) -> None:
    for entries in sets(sheet(seed)):
        for left in entries if len(entries) > 1 else ():
            fewer = [entry for entry in entries if entry is not left]
            assert invented.sheet_of(**opened(fields_of(seed), fewer)).refused


THIN = {"alloy": "s31603", "finish": "satin-medium", "cell": "robot-floor-stand"}


@pytest.mark.parametrize("defect", ["casting-skin", "deep-scratch", "parting-line"])
def test_a_wall_thinner_than_the_depth_is_refused_and_what_opens_it_opens_it(defect: str) -> None:
    start = {"defect": defect, "depth": "0.4 mm"}
    found = invented.sheet_of(**THIN, part={"wall": "0.3 mm"}, start=start)
    (entry,) = found.features[0].blocked
    assert found.refused and entry.limit == "wall" and entry.value == 0.4
    thicker = re.findall(r"a wall of at least ([\d.]+) mm", str(entry.opens))[0]
    assert not invented.sheet_of(**THIN, part={"wall": f"{thicker} mm"}, start=start).refused
    assert isinstance(entry.allowed, float)
    shallow = {"defect": defect, "depth": f"{figure(entry.allowed * 0.9)} mm"}
    assert not invented.sheet_of(**THIN, part={"wall": "0.3 mm"}, start=shallow).refused


def test_what_may_come_off_by_word_of_the_job_is_not_refused_for_the_wall() -> None:
    start = {"defect": "deep-scratch", "depth": "0.6 mm"}
    thin = {**THIN, "part": {"wall": "1 mm"}, "start": start}
    assert invented.sheet_of(**thin).refused
    assert not invented.sheet_of(**thin, features=[{**invented.PLAIN_FACE, "max_stock": "0.9 mm"}]).refused


def test_an_empty_batch_is_wrong_input_with_its_place() -> None:
    from advisor.errors import InputError

    with pytest.raises(InputError, match=r"batch.*allowed: 1 to"):
        invented.job_of(**THIN, start="machining-marks", batch=0)


def test_the_changed_cell_is_one_that_can_be_written() -> None:
    """The job that was tried is a job: its cell reads back as what it is."""
    job = invented.job_of(**fields_of(0))
    assert parse_job({**fields_of(0), "name": "x", "cell": cell_json(job.cell)}, invented.knowledge()).cell.stations
