"""What can be had at all: the media, options and rooms that the cell, the tables and the face leave.

This speaks before any rule. What is not offered is a limit with a value and what would be allowed,
never a silent gap.
"""

from __future__ import annotations

from dataclasses import dataclass

from advisor.choices.decide import Room
from advisor.job.model import Feature
from advisor.knowledge.base import Tables
from advisor.knowledge.cell import Cell, Station
from advisor.knowledge.reference import Media
from advisor.process.reach import FREE_SHARE, largest_wheel_radius
from advisor.process.speed import surface_speed
from advisor.units import figure

#: Contact wheels carry a cover of about this thickness unless the wheel is small. Own estimate.
COVER_MM = 20.0
COVER_SHARE = 0.15
#: Widths that wheels, belts and discs commonly come in, in mm. Common practice.
USUAL_WIDTHS_MM = (
    3.0,
    6.0,
    10.0,
    12.0,
    15.0,
    20.0,
    25.0,
    30.0,
    40.0,
    50.0,
    60.0,
    75.0,
    100.0,
    120.0,
    150.0,
    200.0,
)


@dataclass(frozen=True, slots=True)
class Tool:
    """A media on the station that runs it."""

    media: Media
    station: Station
    slowest: float  # surface speeds in m/s
    fastest: float

    @property
    def diameter_mm(self) -> float:
        """The wheel, disc or contact wheel at hand."""
        return self.station.wheel_diameter_mm

    @property
    def cover_mm(self) -> float:
        """Thickness of the cover of the contact wheel, as usual for its size where the cell does not say."""
        return self.station.wheel_cover_mm or min(COVER_MM, COVER_SHARE * self.diameter_mm)


@dataclass(frozen=True, slots=True)
class NotOffered:
    """A media that cannot be used here: which limit, what it is, what would be allowed."""

    media: str
    limit: str
    value: str | float | None
    allowed: str | float | None
    unit: str | None
    text: str
    low: float | None = None  # what the media runs at, in m/s, where a station has to be changed or added
    high: float | None = None


def tools(
    cell: Cell, handling: str, tables: Tables
) -> tuple[dict[str, tuple[Tool, ...]], tuple[NotOffered, ...]]:
    """Every media that some station of the cell can run with this handling, and the others."""
    found: dict[str, tuple[Tool, ...]] = {}
    missing = []
    for key, media in tables.media.items():
        stations = cell.stations_for(key)
        if not stations:
            text = f"No station of this cell takes a {media.name}."
            low, high = _runs_at(media)
            missing.append(NotOffered(key, "station", None, ", ".join(cell.takes), None, text, low, high))
            continue
        if handling not in media.handling:
            text = f"A {media.name} is not used with the {handling.replace('-', ' ')}."
            missing.append(NotOffered(key, "handling", handling, ", ".join(media.handling), None, text))
            continue
        running = [tool for station in stations if (tool := _tool(media, station)) is not None]
        if not running:
            missing.append(_wrong_speed(media, stations[0]))
            continue
        found[key] = tuple(running)
    return found, tuple(missing)


def _tool(media: Media, station: Station) -> Tool | None:
    slow, fast = _station_speeds(station)
    bounds = [fast, media.speed_m_s[1], media.marked_speed_m_s, station.marked_speed_m_s]
    fastest = min(bound for bound in bounds if bound is not None)
    slowest = max(slow, media.speed_m_s[0])
    return Tool(media, station, slowest, fastest) if slowest <= fastest else None


def _station_speeds(station: Station) -> tuple[float, float]:
    diameter = station.wheel_diameter_mm / 1e3
    low, high = station.speed_rpm
    return float(surface_speed(diameter, low)), float(surface_speed(diameter, high))


def _wrong_speed(media: Media, station: Station) -> NotOffered:
    slow, fast = _station_speeds(station)
    low, high = media.speed_m_s
    text = (
        f"{station.name} turns its wheel at {figure(slow)} to {figure(fast)} m/s; "
        f"a {media.name} runs at {low:g} to {high:g} m/s."
    )
    allowed = low if fast < low else high
    value = round(fast if fast < low else slow, 3)
    return NotOffered(media.key, "surface speed", value, allowed, "m/s", text, *_runs_at(media))


def _runs_at(media: Media) -> tuple[float, float]:
    """The surface speeds of a media, up to what is marked on it."""
    low, high = media.speed_m_s
    return low, min(high, media.marked_speed_m_s or high)


def fits(tool: Tool, feature: Feature, stage: str, tables: Tables) -> NotOffered | None:
    """None where a media fits the stage, the shape, the reach, the access and the lay; else the limit."""
    media = tool.media
    if stage not in media.stages:
        text = f"A {media.name} does not serve to {stage}."
        return NotOffered(media.key, "stage", stage, ", ".join(media.stages), None, text)
    if feature.shape not in media.shapes:
        text = f"A {media.name} does not fit a face that is {feature.shape}."
        return NotOffered(media.key, "shape", feature.shape, ", ".join(media.shapes), None, text)
    if feature.access_mm is not None and feature.access_mm < media.smallest_access_mm:
        text = (
            f"A {media.name} needs {media.smallest_access_mm:g} mm of free space; "
            f"here are {feature.access_mm:g} mm."
        )
        return NotOffered(media.key, "access", feature.access_mm, media.smallest_access_mm, "mm", text)
    if feature.shape == "concave" and feature.radius_mm is not None:
        out_of_reach = _reach(tool, feature.radius_mm)
        if out_of_reach:
            return out_of_reach
    lay = feature.finish.lay
    if stage == "finish" and lay != "any" and lay not in media.lays:
        text = f"A {media.name} cannot leave a {lay} lay."
        return NotOffered(media.key, "lay", lay, ", ".join(media.lays), None, text)
    return None


def _reach(tool: Tool, radius_mm: float) -> NotOffered | None:
    media = tool.media
    if media.smallest_concave_mm is not None:
        if radius_mm >= media.smallest_concave_mm:
            return None
        text = (
            f"A {media.name} follows a hollow of {media.smallest_concave_mm:g} mm radius and wider; "
            f"this is {radius_mm:g} mm."
        )
        return NotOffered(media.key, "reach", radius_mm, media.smallest_concave_mm, "mm", text)
    largest = float(largest_wheel_radius(radius_mm))
    if tool.diameter_mm / 2 <= largest:
        return None
    text = (
        f"A wheel of {tool.diameter_mm:g} mm bridges a hollow of {radius_mm:g} mm radius: "
        f"its radius may be at most {FREE_SHARE:g} of it, a wheel of {figure(2 * largest)} mm."
    )
    return NotOffered(media.key, "reach", tool.diameter_mm, 2 * largest, "mm", text)


def width_room(tool: Tool, feature: Feature) -> Room:
    """The widths that can be had; a wheel inside a hollow or a pocket may not be wider than it.

    Where no rule speaks the aim is the media's usual width, but at most 70 % of the narrowest width
    of the face (common practice: 60 to 80 %).
    """
    low, high = tool.media.width_mm
    inner = [
        side for side in (feature.access_mm, feature.width_mm if feature.shape == "concave" else None) if side
    ]
    high = max(low, min([high, *inner]))
    shelf = tuple(width for width in tool.station.wheel_width_mm if low <= width <= high)
    shelf = shelf or tuple(width for width in USUAL_WIDTHS_MM if low <= width <= high) or (high,)
    usual = tool.media.usual_width_mm
    wanted = usual if feature.width_mm is None else min(usual, 0.7 * feature.width_mm)
    return Room(low, high, shelf, "middle", wanted)


def edge_room(tool: Tool, feature: Feature) -> Room | None:
    """The radii the edge of the wheel can be dressed to; in a hollow at most 0.9 of its radius."""
    if tool.media.edge_mm is None:
        return None
    low, high = tool.media.edge_mm
    if feature.shape == "concave" and feature.radius_mm is not None:
        high = max(low, min(high, FREE_SHARE * feature.radius_mm))
    return Room(low, high, None, "low")
