"""Single changes of a cell: what its stations take and give, and what is said of the cell as a whole."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Literal

from advisor.explain.remedies.change import Change
from advisor.job.model import Job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.cell import Cell, Dust, Station
from advisor.units import figure

#: How far a change of the cell is, see `proposals`.
CELL, ANOTHER_CELL = 1.7, 3.6
DIAMETERS_MM = (25.0, 50.0, 80.0, 100.0, 125.0, 150.0, 200.0, 250.0, 300.0, 350.0, 400.0)
HARDNESSES = (20.0, 30.0, 40.0, 50.0, 60.0, 70.0)
_COLLECTORS: tuple[Literal["none", "dry", "wet"], ...] = ("none", "dry", "wet")
#: A machine takes wheels from so small to so large a share of the one it carries. Own estimate.
SMALLEST_SHARE, LARGEST_SHARE = 0.25, 2.0


def cell_changes(job: Job, knowledge: Knowledge, media: Sequence[str]) -> Iterator[Change]:
    """Every change of the cell, of one field each; `media` are those that a station may be given or lose."""
    cell = job.cell
    yield _of_cell("wet", "false" if cell.wet else "true", not cell.wet)
    other = "person" if cell.operator == "robot" else "robot"
    yield _of_cell("operator", other, other)
    for handling in (("part-in-hand",), ("tool-in-hand",), ("part-in-hand", "tool-in-hand")):
        if set(handling) != set(cell.handling):
            yield Change("cell.handling", f"[{', '.join(handling)}]", CELL)
    for each in ("clean", "steel"):
        if each != cell.media_history:
            yield _of_cell("media_history", each, each)
    yield from _dust(cell)
    for station in cell.stations:
        yield from _station(station)
        yield from _takes(station, knowledge, media)
    yield from _compliance(cell)
    yield from (Change("cell", key, ANOTHER_CELL) for key in knowledge.tables.cells if key != cell.key)


def _dust(cell: Cell) -> Iterator[Change]:
    dust = cell.dust or Dust()
    for collector in _COLLECTORS:
        if collector != dust.collector:
            yield _of_cell(
                "dust.collector", f'"{collector}"', dust.model_copy(update={"collector": collector})
            )
    if cell.dust:
        for shared in ((), ("steel",)):
            after = dust.model_copy(update={"shared_with": shared})
            yield _of_cell("dust.shared_with", f"[{', '.join(shared)}]", after)


def _compliance(cell: Cell) -> Iterator[Change]:
    if cell.compliance and cell.compliance.force_n:
        low, high = cell.compliance.force_n
        for window in ((low * 0.5, high), (low, high * 0.5), (low * 2.0, high), (low, high * 2.0)):
            if window[0] < window[1]:
                after = cell.compliance.model_copy(update={"force_n": window})
                yield _of_cell("compliance.force", _band(*window, "N"), after)


def _of_cell(name: str, text: str, value: object) -> Change:
    owner = name.partition(".")[0]
    return Change(f"cell.{name}", text, CELL, sets=("cell", owner, value))


def _of_station(
    station: Station, name: str, text: str, field: str, value: object, farther: float = 0.0
) -> Change:
    place = f"station {station.name}"
    return Change(f"cell.stations[{station.name}].{name}", text, CELL + farther, sets=(place, field, value))


def _band(low: float, high: float, unit: str) -> str:
    return f"[{figure(low)} {unit}, {figure(high)} {unit}]"


def _station(station: Station) -> Iterator[Change]:
    """Its power, its speeds, its wheel and what lies on the shelf."""
    if station.power_kw is not None:
        for factor in (0.5, 2.0):
            power = float(figure(station.power_kw * factor))
            yield _of_station(station, "power", f"{figure(power)} kW", "power_kw", power)
    low, high = station.speed_rpm
    for speed in ((low, high * 0.5), (low * 0.5, high), (low, high * 2.0), (low * 2.0, high)):
        if speed[0] <= speed[1]:
            yield _of_station(station, "speed", _band(*speed, "rpm"), "speed_rpm", speed)
    now = station.wheel_diameter_mm
    for diameter in DIAMETERS_MM:
        fits = diameter >= (station.min_diameter_mm or 0.0)
        if fits and diameter != now and SMALLEST_SHARE <= diameter / now <= LARGEST_SHARE:
            apart = abs(math.log(diameter / now)) / 4
            yield _of_station(
                station, "wheel_diameter", f"{figure(diameter)} mm", "wheel_diameter_mm", diameter, apart
            )
    shelf = station.wheel_hardness
    for hardness in HARDNESSES:
        if shelf and hardness not in shelf:
            more = tuple(sorted((*shelf, hardness)))
            yield _of_station(
                station, "wheel_hardness", f"[{', '.join(map(figure, more))}]", "wheel_hardness", more
            )


def _takes(station: Station, knowledge: Knowledge, media: Sequence[str]) -> Iterator[Change]:
    for key in media:
        takes = tuple(each for each in station.takes if each != key)
        after = takes if key in station.takes else (*takes, key)
        if after and (key in station.takes or _could_take(station, key, knowledge)):
            yield _of_station(station, "takes", f"[{', '.join(after)}]", "takes", after)


def _could_take(station: Station, media: str, knowledge: Knowledge) -> bool:
    """Whether a station runs something of the same form: no belt on a spindle, no wheel on a belt grinder."""
    rows = knowledge.tables.media
    return any(rows[each].form == rows[media].form for each in station.takes)
