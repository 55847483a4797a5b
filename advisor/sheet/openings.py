"""What would open a refusal: changes to job or cell, each set tried by planning again before it is named."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from advisor.job.model import Job
from advisor.knowledge.cell import Cell, Station
from advisor.process.speed import rotational_speed
from advisor.sequence.limits import POWER_SHARE, Unmet
from advisor.sequence.offers import NotOffered
from advisor.sequence.paths import PathFinder, Scope, target_window
from advisor.sequence.plan import FeaturePlan, feature_desk
from advisor.units import figure

#: So many changes are tried for one feature, and so many times more are gathered where they do not do.
MOST_TRIED = 8
ROUNDS = 4
#: What a station is taken to be that is not there yet: power in kW, wheel in mm.
USUAL_POWER_KW = 3.0
USUAL_WHEEL_MM = 200.0

Item = NotOffered | Unmet
Change = Callable[[Job], Job]
Wanted = Callable[[FeaturePlan], Sequence[Item]]


@dataclass(frozen=True, slots=True)
class Opening:
    """A requirement in the way, what has to change, in words, and the job with that change.

    `larger` is the same change for the farthest of the limits of its kind, where they differ in size.
    """

    item: Item
    words: str
    change: Change
    larger: Opening | None = None

    @property
    def kind(self) -> tuple[str, str]:
        """What is in the way, whatever its size."""
        return self.item.media, self.item.limit


def openings(plan: FeaturePlan, wanted: Wanted) -> tuple[tuple[Opening, ...], ...]:
    """Sets of changes that give the feature a plan, none with a part that is not needed.

    Every single change that does is a set of its own; only where none does, one smallest set is sought: all
    changes that `wanted` leads to, round by round, and then without each that is not needed. Empty where
    nothing tried helps.
    """
    offered = tuple(_changes(wanted(plan), plan.desk.job))[:MOST_TRIED]
    alone = tuple((size,) for each in offered if (size := _large_enough(plan, each, wanted)) is not None)
    if alone:
        return alone
    taken: list[Opening] = []
    stuck = plan
    for _ in range(ROUNDS):
        known = {each.words for each in taken}
        more = [each.larger or each for each in _changes(wanted(stuck), stuck.desk.job)]
        more = [each for each in more if each.words not in known]
        if not more:
            return ()
        taken += more
        if _opens(plan, taken):
            return (_needed(plan, taken),)
        stuck = _again(plan, taken)
    return ()


def _large_enough(plan: FeaturePlan, change: Opening, wanted: Wanted) -> Opening | None:
    """A change in a size that opens the feature alone, the smallest first, or None.

    Where one stage is opened and the next is stuck on the same limit, that one's size is tried.
    """
    held: Opening | None = change
    for _ in range(ROUNDS):
        if held is None:
            return None
        for size in (held, held.larger):
            if size is not None and _opens(plan, (size,)):
                return size
        stuck = _again(plan, (held.larger or held,))
        asked = _changes(wanted(stuck), stuck.desk.job)
        tried = (held.larger or held).words
        held = next((each for each in asked if each.kind == change.kind and each.words != tried), None)
    return None


def _opens(plan: FeaturePlan, changes: Sequence[Opening]) -> bool:
    """Whether there is a plan after some changes: looked for as wide as a plan is ever looked for."""
    stuck = _again(plan, changes, search=False)
    if not stuck.desk.tools:
        return False
    target = stuck.feature.finish
    finder = PathFinder(stuck.desk, stuck.desk.job.batch)
    return bool(finder.search(Scope(0, target_window(target.ra_low_um, target.ra_high_um, False)), 1.0))


def _needed(plan: FeaturePlan, taken: Sequence[Opening]) -> tuple[Opening, ...]:
    """The same changes without those that the plan can do without, the last ones first."""
    kept = list(taken)
    for each in reversed(taken):
        fewer = [other for other in kept if other is not each]
        if _opens(plan, fewer):
            kept = fewer
    return tuple(kept)


def _again(plan: FeaturePlan, changes: Iterable[Opening], search: bool = True) -> FeaturePlan:
    """The fields of the feature after some changes, or without `search` its desk alone.

    What the rules say here is not counted for the sheet.
    """
    job = plan.desk.job
    for each in changes:
        job = each.change(job)
    handling = plan.desk.handling if plan.desk.handling in job.cell.handling else job.cell.handling[0]
    feature = next(face for face in job.features if face.name == plan.feature.name)
    desk = feature_desk(job, feature, handling, plan.desk.knowledge, plan.desk.decider.listening(), plan.desk.page)
    if not search or not desk[0].tools:
        return FeaturePlan(feature, desk[0], (), 0.0, (), (), desk[1])
    finder = PathFinder(desk[0], job.batch)
    target = feature.finish
    finder.search(Scope(0, target_window(target.ra_low_um, target.ra_high_um, False)), 1.0)
    return FeaturePlan(feature, desk[0], (), 0.0, (), tuple(finder.fields.values()), desk[1])


# ---------------------------------------------------------------- from a limit to a change
def _changes(items: Iterable[Item], job: Job) -> Iterator[Opening]:
    """One change for each requirement; of several that differ only in size, the smallest."""
    kinds: dict[tuple[str, str], list[Item]] = {}
    for item in sorted(items, key=_size):
        kinds.setdefault((item.media, item.limit), []).append(item)
    seen: set[str] = set()
    for found in kinds.values():
        smallest, largest = (_opening(each, job) for each in (found[0], found[-1]))
        if smallest is None or smallest.words in seen:
            continue
        seen.add(smallest.words)
        yield replace(smallest, larger=largest if largest and largest.words != smallest.words else None)


def _opening(item: Item, job: Job) -> Opening | None:
    found = _change(item, job)
    return Opening(item, *found) if found else None


def _size(item: Item) -> float:
    """How far a limit is missed, so that the nearest comes first; what is not there at all comes last."""
    value, allowed = item.value, item.allowed
    if isinstance(value, (int, float)) and isinstance(allowed, (int, float)) and value > 0 and allowed > 0:
        return abs(math.log(value / allowed))
    return math.inf


def _change(item: Item, job: Job) -> tuple[str, Change] | None:
    maker = {
        "power": _power,
        "force": _force,
        "surface speed": _speed,
        "reach": _reach,
        "access": _access,
        "station": _station,
    }.get(item.limit)
    return maker(item, job) if maker else None


def _power(item: Item, job: Job) -> tuple[str, Change] | None:
    needed = math.ceil(float(item.value or 0.0) / POWER_SHARE / 1e3 * 1.02 * 100) / 100
    stations = [each for each in job.cell.stations_for(item.media) if each.power_kw is not None]
    if not stations:
        return None
    station = max(stations, key=lambda each: each.power_kw or 0.0)
    words = f"at least {figure(needed)} kW on {station.name}"
    return words, lambda job: _with_station(job, station.name, power_kw=max(needed, station.power_kw or 0.0))


def _force(item: Item, job: Job) -> tuple[str, Change] | None:
    window = job.cell.compliance.force_n if job.cell.compliance else None
    if window is None:
        return None
    value = float(item.value or 0.0)
    wide = (min(window[0], value * 0.9), max(window[1], value * 1.1))
    words = f"a compliant tool that holds {figure(wide[0])} to {figure(wide[1])} N"

    def change(job: Job) -> Job:
        held = job.cell.compliance
        assert held is not None
        now = held.force_n or wide
        both = (min(now[0], wide[0]), max(now[1], wide[1]))
        return _with_cell(job, compliance=held.model_copy(update={"force_n": both}))

    return words, change


def _speed(item: Item, job: Job) -> tuple[str, Change] | None:
    stations = job.cell.stations_for(item.media)
    low, high = (item.low, item.high) if isinstance(item, NotOffered) else (None, None)
    if not stations or low is None or high is None:
        return None
    station = stations[0]
    turns = [float(rotational_speed(each, station.wheel_diameter_mm / 1e3)) for each in (low, high)]
    words = f"{figure(math.ceil(turns[0]))} to {figure(math.floor(turns[1]))} rpm on {station.name}"
    return words, lambda job: _with_station(job, station.name, speed_rpm=_joined(job, station.name, turns))


def _joined(job: Job, name: str, turns: Sequence[float]) -> tuple[float, float]:
    """The speeds a station has and those it should have, in one range."""
    low, high = next(each.speed_rpm for each in job.cell.stations if each.name == name)
    return min(low, math.ceil(turns[0])), max(high, math.floor(turns[1]))


def _reach(item: Item, job: Job) -> tuple[str, Change] | None:
    stations = job.cell.stations_for(item.media)
    if not stations or not isinstance(item.allowed, float) or not isinstance(item, NotOffered) or item.low is not None:
        return None
    size = math.floor(item.allowed * 10) / 10
    if size < 3.0:
        return None
    station = stations[0]
    faster = station.wheel_diameter_mm / size
    words = f"a wheel of at most {figure(size)} mm on {station.name}, turning as much faster as it is smaller"
    return words, lambda job: _with_station(
        job, station.name, wheel_diameter_mm=size, speed_rpm=(station.speed_rpm[0], station.speed_rpm[1] * faster)
    )


def _access(item: Item, job: Job) -> tuple[str, Change] | None:
    if not isinstance(item.allowed, (int, float)):
        return None
    needed = float(item.allowed)

    def change(job: Job) -> Job:
        faces = tuple(
            face.model_copy(update={"access_mm": max(face.access_mm, needed)})
            if face.access_mm is not None
            else face
            for face in job.features
        )
        return job.model_copy(update={"features": faces})

    return f"{needed:g} mm of free space", change


def _station(item: Item, job: Job) -> tuple[str, Change] | None:
    if not isinstance(item, NotOffered) or item.low is None or item.high is None:
        return None
    turns = [float(rotational_speed(each, USUAL_WHEEL_MM / 1e3)) for each in (item.low, item.high)]
    added = Station(
        name=f"a station for {item.media}",
        takes=(item.media,),
        power_kw=USUAL_POWER_KW,
        speed_rpm=(math.ceil(turns[0]), math.floor(turns[1])),
        wheel_diameter_mm=USUAL_WHEEL_MM,
    )
    words = f"a station that takes it ({item.media}), with {USUAL_POWER_KW:g} kW and a {USUAL_WHEEL_MM:g} mm wheel"
    return words, lambda job: _with_cell(job, stations=(*job.cell.stations, added))


def _with_station(job: Job, name: str, **fields: object) -> Job:
    stations = tuple(
        each.model_copy(update=fields) if each.name == name else each for each in job.cell.stations
    )
    return _with_cell(job, stations=stations)


def _with_cell(job: Job, **fields: object) -> Job:
    cell: Cell = job.cell.model_copy(update={"key": None, **fields})
    return job.model_copy(update={"cell": cell})
