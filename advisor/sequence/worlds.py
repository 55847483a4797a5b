"""A job as it might be: what job and cell say, changed or let go, so that planning can be tried again."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

from advisor.job.model import Feature, Job
from advisor.knowledge.cell import Cell, Compliance, Station
from advisor.knowledge.reference import Media
from advisor.process.reach import largest_wheel_radius
from advisor.process.speed import rotational_speed

#: What a station is taken to be that is not there yet: power in kW, wheel in mm. Own choice.
USUAL_POWER_KW = 3.0
USUAL_WHEEL_MM = 200.0
SMALLEST_WHEEL_MM = 3.0


@dataclass(frozen=True, slots=True)
class World:
    """A job as it might be. `cool`: the heat under the contact is no limit in it."""

    job: Job
    cool: bool = False

    def with_cell(self, **fields: object) -> World:
        """The same with another cell, which then is no row of the table."""
        cell: Cell = self.job.cell.model_copy(update={"key": None, **fields})
        return replace(self, job=self.job.model_copy(update={"cell": cell}))

    def with_stations(self, change: Callable[[Station], Station]) -> World:
        """The same with every station changed."""
        return self.with_cell(stations=tuple(change(each) for each in self.job.cell.stations))

    def with_compliance(self, **fields: object) -> World:
        """The same with another compliant tool."""
        held = self.job.cell.compliance or Compliance()
        return self.with_cell(compliance=held.model_copy(update=fields))

    def with_face(self, name: str, **fields: object) -> World:
        """The same with one face changed."""
        faces = tuple(
            face.model_copy(update=fields) if face.name == name else face for face in self.job.features
        )
        return replace(self, job=self.job.model_copy(update={"features": faces}))


def with_finish(world: World, name: str, **fields: object) -> World:
    """The same with another finish asked of a face."""
    finish = world.job.feature(name).finish.model_copy(update=fields)
    return world.with_face(name, finish=finish)


def with_start(world: World, name: str, **fields: object) -> World:
    """The same with a face that comes otherwise."""
    start = world.job.feature(name).start.model_copy(update=fields)
    return world.with_face(name, start=start)


def with_wall(world: World, wall_mm: float | None) -> World:
    """The same with another wall, or with nothing said of it."""
    part = world.job.part.model_copy(update={"wall_mm": wall_mm})
    return replace(world, job=world.job.model_copy(update={"part": part}))


def with_wheel(station: Station, most_mm: float) -> Station:
    """A station with a wheel of at most some size, turning as much faster as it is smaller."""
    if station.wheel_diameter_mm <= most_mm:
        return station
    low, high = station.speed_rpm
    faster = station.wheel_diameter_mm / most_mm
    return station.model_copy(update={"wheel_diameter_mm": most_mm, "speed_rpm": (low, high * faster)})


def with_any_speed(station: Station, media: Mapping[str, Media]) -> Station:
    """A station that turns as slowly and as fast as anything it takes may run."""
    speeds = [runs_at(media[key]) for key in station.takes if key in media]
    turns = [float(rotational_speed(each, station.wheel_diameter_mm / 1e3)) for pair in speeds for each in pair]
    low, high = station.speed_rpm
    return station.model_copy(update={"speed_rpm": (min(low, *turns), max(high, *turns))})


def runs_at(media: Media) -> tuple[float, float]:
    """The surface speeds of a media (m/s), up to what is marked on it."""
    low, high = media.speed_m_s
    return low, min(high, media.marked_speed_m_s or high)


def with_every_media(world: World, feature: Feature, media: Iterable[Media]) -> World:
    """The cell with a station for whatever it does not take."""
    there = {key for station in world.job.cell.stations for key in station.takes}
    added = tuple(station_for(each, feature) for each in media if each.key not in there)
    return world.with_cell(stations=(*world.job.cell.stations, *added))


def station_for(media: Media, feature: Feature) -> Station:
    """A usual station for a media, with a wheel that fits into the hollow where the face is one."""
    wheel = USUAL_WHEEL_MM
    if feature.shape == "concave" and feature.radius_mm is not None:
        wheel = min(wheel, max(SMALLEST_WHEEL_MM, float(int(2.0 * float(largest_wheel_radius(feature.radius_mm))))))
    slow, fast = (float(rotational_speed(each, wheel / 1e3)) for each in runs_at(media))
    return Station(
        name=f"a station for {media.key}",
        takes=(media.key,),
        power_kw=USUAL_POWER_KW,
        speed_rpm=(float(-int(-slow // 1)), float(int(fast))),
        wheel_diameter_mm=wheel,
    )
