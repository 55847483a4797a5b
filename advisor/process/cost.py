"""What a part and a batch take in time and money, beside the cutting itself."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from advisor.process.bands import Bounds
from advisor.process.real import Real, mostly


@dataclass(frozen=True, slots=True)
class PartTime:
    """The time (s) of one good part by where it goes; each line is its share of the batch."""

    cutting: Real
    handling: Real
    inspection: Real
    set_up: Real
    dressing: Real
    changing: Real
    rework: Real

    @property
    def total(self) -> Real:
        """All lines together (s)."""
        return (
            self.cutting
            + self.handling
            + self.inspection
            + self.set_up
            + self.dressing
            + self.changing
            + self.rework
        )


@dataclass(frozen=True, slots=True)
class PartCost:
    """The cost of one good part: `machine` time and `media`, in the cell's currency."""

    machine: Real
    media: Real

    @property
    def total(self) -> Real:
        """Machine and media together."""
        return self.machine + self.media


@dataclass(frozen=True, slots=True)
class Swing:
    """How a total moves when one assumption goes from its low to its high end, all others expected."""

    name: str
    at_low: float
    at_high: float

    @property
    def size(self) -> float:
        """How far apart both ends lie."""
        return abs(self.at_high - self.at_low)


def rework_runs(rework_share: Real, rework_work: Real) -> Real:
    """The runs through the cell that one good part takes, counted in whole runs (1 or more).

    1 + w r / (1 - r): a share r of parts fails inspection and is worked again with a share w of the
    work of a run; reworked parts fail as often, so r + r^2 + ... repeats are expected. Raises
    ValueError unless 0 <= r < 1. Scrap isn't in it. Source: geometric series.

    >>> round(rework_runs(0.05, 0.5), 4)
    1.0263
    """
    if mostly(rework_share < 0) or mostly(rework_share >= 1):
        raise ValueError(f"the share of parts worked again must be from 0 to below 1, given {rework_share}")
    return 1.0 + rework_work * rework_share / (1.0 - rework_share)


def part_time(
    *,
    cutting: Real,
    handling: Real,
    inspection: Real,
    set_up: Real,
    batch: Real,
    dressing: Real = 0.0,
    changing: Real = 0.0,
    rework_share: Real = 0.0,
    rework_work: Real = 1.0,
) -> PartTime:
    """The time (s) of one good part with its share of everything that isn't cutting.

    `cutting`, `handling` (load, turn, unload), `inspection`, `dressing` and `changing` are seconds
    per part (the last two from `shared`), `set_up` seconds per batch of `batch` parts (1 or more,
    otherwise ValueError). Reworked parts are handled, cut and inspected again (`rework_runs`), not
    set up again. Source: counting.

    >>> time = part_time(cutting=60.0, handling=20.0, inspection=15.0, set_up=1800.0, batch=100,
    ...                  dressing=2.0, changing=1.0, rework_share=0.05, rework_work=0.5)
    >>> time.set_up, round(time.rework, 2), round(time.total, 2)
    (18.0, 2.58, 118.58)
    """
    if mostly(batch < 1):
        raise ValueError(f"a batch has at least one part, given {batch}")
    again = rework_runs(rework_share, rework_work) - 1.0
    run = cutting + handling + inspection + dressing + changing
    return PartTime(cutting, handling, inspection, set_up / batch, dressing, changing, run * again)


def shared(time: Real, parts: Real) -> Real:
    """The share (s) of one part in something that takes `time` (s) once every `parts` (above zero).

    Serves dressing, touch-off and changes of media alike; a fraction of a part means several times
    a part. It is the average over many batches: media stays on for the next. Source: counting.

    >>> shared(120.0, 60)
    2.0
    """
    return time / parts


def inspection_time(time: Real, share: Real, first_off: Real = 0.0, batch: Real = 1.0) -> Real:
    """The inspection (s) of an average part: `time` (s) on a `share` of parts, and `first_off` once a batch.

    >>> inspection_time(30.0, 0.2, 300.0, 100)
    9.0
    """
    return time * share + first_off / batch


def batch_time(part: PartTime, batch: Real) -> Real:
    """The time (s) of a whole batch, set-up and rework included. Source: counting.

    >>> batch_time(PartTime(60.0, 20.0, 15.0, 18.0, 2.0, 1.0, 2.5), 100)
    11850.0
    """
    return part.total * batch


def media_cost(price: Real, parts: Real) -> Real:
    """What a part uses up of a media that costs `price` and does so many `parts` (above zero).

    >>> media_cost(9.0, 150)
    0.06
    """
    return price / parts


def media_per_thousand(parts: Real) -> Real:
    """How many belts, discs or wheels a thousand parts use up, when one does so many `parts` (above zero).

    >>> media_per_thousand(146.0) > 6.8, media_per_thousand(0.5)
    (True, 2000.0)
    """
    return 1000.0 / parts


def media_to_order(parts_to_do: Real, parts: Real) -> Real:
    """How many whole media a batch needs, if it begins with a fresh one: rounded up. Source: counting.

    >>> media_to_order(100, 146.0), media_to_order(293, 146.0)
    (1.0, 3.0)
    """
    return -((-parts_to_do / parts + 1e-9) // 1.0)


def part_cost(time: PartTime, machine_rate: Real, media: Real, runs: Real = 1.0) -> PartCost:
    """The cost of one good part.

    `machine_rate` is the price of a second with cell, energy and people; `media` what one run uses
    up (sum of `media_cost` over the steps), times the `runs` of `rework_runs`. Source: counting.

    >>> cost = part_cost(PartTime(60.0, 20.0, 15.0, 18.0, 2.0, 1.0, 4.0), 0.015, 0.40, 1.025)
    >>> round(cost.machine, 2), round(cost.media, 2), round(cost.total, 2)
    (1.8, 0.41, 2.21)
    """
    return PartCost(time.total * machine_rate, media * runs)


def swings(total: Callable[[Mapping[str, float]], float], bands: Mapping[str, Bounds]) -> tuple[Swing, ...]:
    """Which assumption moves a total most: each in turn at its low and its high end, widest first.

    `total` gives the figure from one value of every assumption. Equal swings keep the order of
    their names. One at a time hides what two assumptions do together; the bands from draws show
    that. Source: one-at-a-time sensitivity.

    >>> from advisor.process.bands import Spread
    >>> bands = {"cut": Spread(40.0, 60.0, 90.0), "load": Spread(15.0, 20.0, 30.0)}
    >>> [(swing.name, swing.size) for swing in swings(lambda at: at["cut"] + at["load"], bands)]
    [('cut', 50.0), ('load', 15.0)]
    """
    middle = {name: band.expected for name, band in bands.items()}
    found = [
        Swing(name, total({**middle, name: band.low}), total({**middle, name: band.high}))
        for name, band in bands.items()
    ]
    return tuple(sorted(found, key=lambda swing: (-swing.size, swing.name)))
