"""What would open a refusal: for each requirement in the way the nearest change, tried by planning again."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import islice

from advisor.knowledge.cell import Station
from advisor.process.reach import largest_wheel_radius
from advisor.sequence.plan import FeaturePlan
from advisor.sequence.requirements import Requirement, Test, own_collector
from advisor.sequence.worlds import (
    USUAL_POWER_KW,
    World,
    station_for,
    with_finish,
    with_start,
    with_wall,
    with_wheel,
)
from advisor.sheet.nearest import Change, Opening, Trial
from advisor.units import figure

#: So many stations are named that would each do.
MOST_STATIONS = 2


def openings(
    requirement: Requirement, world: World, plan: FeaturePlan, comes_through: Test, several: bool = True
) -> tuple[Opening, ...]:
    """The nearest changes of what one requirement asks that open the way in a world; none where it is fixed.

    Without `several` only one station is added, not a set of them.
    """
    finder = _FINDERS.get(requirement.key)
    if finder is None or not comes_through(requirement.let_go(world)):
        return ()
    trial = Trial(world, plan, comes_through)
    found = _station(trial, several) if requirement.key == "station" else finder(trial)
    return tuple(islice(found, MOST_STATIONS))


# ---------------------------------------------------------------- each requirement in its own terms
def _station_changed(name: str, **fields: object) -> Change:
    return lambda world: world.with_stations(
        lambda each: each.model_copy(update=fields) if each.name == name else each
    )


def _power(trial: Trial) -> Iterator[Opening]:
    for station in trial.world.job.cell.stations:
        if station.power_kw is not None and trial.works(_station_changed(station.name, power_kw=None)):
            name = station.name
            yield from trial.one(
                station.power_kw,
                True,
                lambda value, name=name: _station_changed(name, power_kw=value),  # type: ignore[misc]
                f"at least {{}} kW on {name}, which the hardest of its steps wants",
            )
            return


def _speed(trial: Trial) -> Iterator[Opening]:
    for station in trial.world.job.cell.stations:
        found = tuple(
            trial.window(
                station.speed_rpm,
                lambda low, high, name=station.name: _station_changed(name, speed_rpm=(low, high)),  # type: ignore[misc]
                f"{{}} to {{}} rpm on {station.name}",
                1.0,
            )
        )
        if found:
            yield from found
            return


def _force(trial: Trial) -> Iterator[Opening]:
    held = trial.world.job.cell.compliance
    if held is not None and held.force_n is not None:
        yield from trial.window(
            held.force_n,
            lambda low, high: lambda world: world.with_compliance(force_n=(low, high)),
            "a compliant tool that holds {} to {} N",
            0.1,
        )


def _stroke(trial: Trial) -> Iterator[Opening]:
    held = trial.world.job.cell.compliance
    if held is not None and held.stroke_mm is not None:
        yield from trial.one(
            held.stroke_mm,
            True,
            lambda value: lambda world: world.with_compliance(stroke_mm=value),
            "a compliant tool with a stroke of at least {} mm",
        )


def _reach(trial: Trial) -> Iterator[Opening]:
    radius = trial.plan.feature.radius_mm or 0.0
    start = 2.0 * float(largest_wheel_radius(radius)) * 1.001

    def on(names: Sequence[str]) -> Callable[[float], Change]:
        def fitted(size: float) -> Change:
            def one(each: Station) -> Station:
                return with_wheel(each, size) if each.name in names else each

            return lambda world: world.with_stations(one)

        return fitted

    stations = [each for each in trial.world.job.cell.stations if each.wheel_diameter_mm > start / 1.001]
    for station in stations:
        words = f"a wheel of at most {{}} mm on {station.name}, turning as much faster as it is smaller"
        found = tuple(trial.one(start, False, on([station.name]), words))
        if found:
            yield from found
            return
    words = "wheels of at most {} mm on every station, turning as much faster as they are smaller"
    yield from trial.one(start, False, on([each.name for each in stations]), words)


def _face(field: str, up: bool, words: str) -> Callable[[Trial], Iterator[Opening]]:
    """A number of the face itself."""

    def found(trial: Trial) -> Iterator[Opening]:
        now = getattr(trial.plan.feature, field)
        if now is not None:
            yield from trial.one(
                now, up, lambda value: lambda world: world.with_face(trial.name, **{field: value}), words
            )

    return found


def _wall(trial: Trial) -> Iterator[Opening]:
    wall = trial.world.job.part.wall_mm
    if wall is None:
        return
    yield from trial.one(
        wall, True, lambda value: lambda world: with_wall(world, value), "a wall of at least {} mm"
    )
    if trial.plan.feature.max_stock_mm is None:
        stock = trial.nearest(wall / 4.0, True, lambda value: _stock(trial.name, min(value, wall)))
        if stock is not None and stock < wall:
            yield Opening(
                f"max_stock of {figure(stock)} mm for this face, where the part bears it", _stock(trial.name, stock)
            )


def _stock(name: str, value: float) -> Change:
    return lambda world: world.with_face(name, max_stock_mm=value)


def _depth(trial: Trial) -> Iterator[Opening]:
    typical, worst = trial.plan.feature.start.depth_mm
    if typical > 0:
        proud = trial.plan.desk.knowledge.tables.defects[trial.plan.feature.start.defect].kind == "proud"
        yield from trial.one(
            typical,
            False,
            lambda value: _start(trial.name, depth_mm=(value, value * worst / typical)),
            f"a start no {'higher' if proud else 'deeper'} than {{}} mm",
        )


def _start_roughness(trial: Trial) -> Iterator[Opening]:
    yield from trial.one(
        trial.plan.feature.start.roughness_um,
        False,
        lambda value: _start(trial.name, roughness_um=value),
        "a start no rougher than Ra {} um",
    )


def _start(name: str, **fields: object) -> Change:
    return lambda world: with_start(world, name, **fields)


def _finish(name: str, **fields: object) -> Change:
    return lambda world: with_finish(world, name, **fields)


def _roughness(trial: Trial) -> Iterator[Opening]:
    yield from trial.window(
        trial.plan.feature.finish.ra_um,
        lambda low, high: _finish(trial.name, ra_low_um=low, ra_high_um=high),
        "a Ra band of {} to {} um",
        0.0,
    )


def _handling(trial: Trial) -> Iterator[Opening]:
    now = trial.world.job.cell.handling[0]
    other = "tool-in-hand" if now == "part-in-hand" else "part-in-hand"
    said = other.replace("-", " ")
    for words, ways in (("also", (now, other)), ("instead", (other,))):
        change: Change = lambda world, ways=ways: world.with_cell(handling=ways)  # type: ignore[misc]  # noqa: E731
        if trial.works(change):
            yield Opening(f"the {said} {words}", change)
            return


def _said(words: str, change: Change) -> Callable[[Trial], Iterator[Opening]]:
    """A change that is no matter of more or less."""

    def found(trial: Trial) -> Iterator[Opening]:
        if trial.works(change):
            yield Opening(words, change)

    return found


def _dust(trial: Trial) -> Iterator[Opening]:
    own = own_collector(trial.world.job.cell)
    yield from _said(
        f"a {own.collector} collector that serves this metal alone", lambda world: world.with_cell(dust=own)
    )(trial)


def _lay(trial: Trial) -> Iterator[Opening]:
    yield from _said("any lay", _finish(trial.name, lay="any"))(trial)


def _station(trial: Trial, several: bool = True) -> Iterator[Opening]:
    """A station for one more media; where no single one does, for as few as do."""
    cell = trial.world.job.cell
    there = {key for station in cell.stations for key in station.takes}
    wanted = [
        station_for(media, trial.plan.feature)
        for media in trial.plan.desk.knowledge.tables.media.values()
        if media.key not in there
    ]

    def with_more(added: Sequence[Station]) -> Change:
        return lambda world: world.with_cell(stations=(*world.job.cell.stations, *added))

    alone = False
    for each in wanted:
        if trial.works(with_more([each])):
            alone = True
            yield Opening(_told([each]), with_more([each]), each.takes[0])
    if several and not alone and trial.works(with_more(wanted)):
        kept = _fewest(wanted, lambda some: trial.works(with_more(some)))
        yield Opening(_told(kept), with_more(kept), kept[0].takes[0])


def _fewest(stations: Sequence[Station], works: Callable[[Sequence[Station]], bool]) -> list[Station]:
    """Stations of which none can be left out; larger shares of them are left out first."""
    kept, share = list(stations), max(1, len(stations) // 2)
    while True:
        place = 0
        while place < len(kept):
            fewer = kept[:place] + kept[place + share :]
            if works(fewer):
                kept = fewer
            else:
                place += share
        if share == 1:
            return kept
        share = max(1, share // 2)


def _told(stations: Sequence[Station]) -> str:
    each = [
        f"a station for {station.takes[0]}, with {USUAL_POWER_KW:g} kW and a {figure(station.wheel_diameter_mm)} mm "
        "wheel"
        for station in stations
    ]
    return " and ".join(each)


_FINDERS: dict[str, Callable[[Trial], Iterator[Opening]]] = {
    "station": _station,
    "handling": _handling,
    "wet": _said("wet work in this cell", lambda world: world.with_cell(wet=True)),
    "dust": _dust,
    "media history": _said(
        "media that has touched no steel", lambda world: world.with_cell(media_history="clean")
    ),
    "lay": _lay,
    "roughness": _roughness,
    "start roughness": _start_roughness,
    "depth": _depth,
    "access": _face("access_mm", True, "at least {} mm of free space"),
    "hollow": _face("radius_mm", True, "a hollow of at least {} mm radius"),
    "reach": _reach,
    "surface speed": _speed,
    "force": _force,
    "stroke": _stroke,
    "power": _power,
    "wall": _wall,
    "stock": _face("max_stock_mm", True, "at least {} mm of stock to take off (max_stock)"),
}
