"""Cells: the same mapping inline and in the table, and what makes one useless."""

from __future__ import annotations

from typing import Any

import pytest

from advisor.errors import InputError
from advisor.job import parse_cell
from advisor.job.write import cell_json
from advisor.knowledge.strict_yaml import from_plain, load

from .conftest import CELL

INLINE = CELL.replace("key: bench\n", "").replace("source: [own-estimate]\n", "")


def faults(text: str, knowledge: Any, row: bool = False) -> list[str]:
    with pytest.raises(InputError) as caught:
        parse_cell(load(text, "c.yaml"), "c.yaml", knowledge.tables["media"], row)
    return [str(problem) for problem in caught.value.problems]


def test_a_row_and_an_inline_cell_are_alike(knowledge: Any) -> None:
    row = knowledge.tables["cells"]["bench"]
    inline = parse_cell(load(INLINE, "c.yaml"), "c.yaml", knowledge.tables["media"])
    assert row.key == "bench"
    assert inline == row.model_copy(update={"key": None, "source": ()})
    station = inline.stations[0]
    assert (station.power_kw, station.speed_rpm, station.wheel_diameter_mm) == (3, (600, 3600), 250)
    assert (station.wheel_width_mm, station.wheel_face, station.wheel_cover) == (
        (25, 50),
        ("plain",),
        ("rubber",),
    )
    assert (station.marked_speed_m_s, station.min_diameter_mm) == (40, 200)
    assert (inline.changeover_s("belt"), inline.changeover_s("wheel"), inline.changeover_s("disc")) == (
        90,
        240,
        240,
    )
    assert inline.dust is not None
    assert inline.dust.shared_with == ()
    assert inline.takes == ("belt",)
    assert inline.stations_for("belt") == (station,)
    assert inline.stations_for("buff") == ()


def test_written_and_read_again(knowledge: Any) -> None:
    for text in (INLINE, INLINE.replace(", shared_with: []", ""), INLINE.replace("[8 N, 220 N]", "9 N")):
        cell = parse_cell(load(text, "c"), "c", knowledge.tables["media"])
        assert parse_cell(from_plain(cell_json(cell)), "c", knowledge.tables["media"]) == cell


def test_one_changeover_for_all(knowledge: Any) -> None:
    cell = parse_cell(load(INLINE.replace("{belt: 90 s, wheel: 240 s}", "3 min"), "c"), "c", {})
    assert {cell.changeover_s(form) for form in ("belt", "wheel", "disc", "hand-tool")} == {180}


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("takes: [belt]", "takes: []", "a station needs at least one media"),
        ("takes: [belt]", "takes: [bolt]", "given 'bolt'; allowed: belt, orbital-disc; nearest: belt"),
        ("takes: [belt]", "takes: [orbital-disc]", "nothing here can be run with part-in-hand"),
        ("    takes: [belt]\n", "", "a station needs the media it takes"),
        ("[600 rpm, 3600 rpm]", "[3600 rpm, 600 rpm]", "stations[1].speed: the wrong way round"),
        ("[600 rpm, 3600 rpm]", "20 m/s", "20 m/s is a speed; a rotation is needed"),
        ("wheel_hardness: [60, 30, 40]", "wheel_hardness: [400]", "wheel_hardness: outside what is possible"),
        ("wheel_hardness: [60, 30, 40]", "wheel_hardness: soft", "a number without a unit is needed"),
        ("min_diameter: 200 mm", "min_diameter: 300 mm", "min_diameter: larger than wheel_diameter"),
        ("wet: false", "wet: no", "wet: true or false is needed, given 'no'; nearest: false"),
        ("operator: robot", "operator: rabbit", "operator: unknown value, given 'rabbit'"),
        ("operator: robot\n", "", "operator: a cell needs an operator"),
        ("handling: [part-in-hand]", "handling: [part-in-glove]", "nearest: part-in-hand"),
        ("force: [8 N, 220 N]", "force: [8 kg, 220 kg]", "8 kg is a mass; a force is needed"),
        ("{hour: 55, currency: EUR}", "{hour: lots, currency: EUR}", "rates.hour: a number without a unit"),
        ("{hour: 55, currency: EUR}", "{hour: 55}", "the currency of the rate is needed"),
        ("shared_with: []", "shared_with: [stel]", "nearest: steel"),
        ("power: 3 kW", "power: 3 kW\n    gears: 5", "stations[1].gears: unknown key"),
    ],
)
def test_faults(old: str, new: str, says: str, knowledge: Any) -> None:
    assert old in INLINE
    found = faults(INLINE.replace(old, new), knowledge)
    assert any(says in fault for fault in found), found


def test_stations_are_needed_and_have_names_of_their_own(knowledge: Any) -> None:
    assert any("at least one station" in f for f in faults("operator: robot\nstations: []", knowledge))
    assert any("at least one station" in f for f in faults("operator: robot", knowledge))
    assert any("cell: a cell is a mapping" in f for f in faults("[1]", knowledge))
    second = "  - {name: Belts, takes: belt, speed: 9 rpm, wheel_diameter: 9 mm}\n"
    twice = INLINE.replace("compliance:", second + "compliance:")
    assert any("two stations of one name" in f for f in faults(twice, knowledge))


def test_a_row_needs_key_name_and_source(knowledge: Any) -> None:
    found = faults(INLINE.replace("name: a robot and a stand\n", ""), knowledge, row=True)
    assert [f.split(": ")[1] for f in found] == ["key", "name", "source"]
    assert any("unknown key, given 'key'" in f for f in faults(CELL, knowledge))
