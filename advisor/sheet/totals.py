"""What the whole job takes in time and money, where it goes, and which assumption moves it most."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from advisor.sheet.part import Band, Ids, Part


class TotalLine(Part):
    """One line of the time and cost of a good part; each is its share of the batch.

    `cost` is None where the cell gives no rates.
    """

    what: Literal[
        "working", "dulling", "handling", "inspection", "set-up", "dressing", "changing", "rework", "media"
    ]
    time_s: Band
    cost: Band | None = None


class MediaUse(Part):
    """What a thousand parts use up of one media: belts, discs or wheels, and what they cost.

    `serves` names the steps (`feature/number`) that are worked with it.
    """

    media: str
    grain: str | None = None
    grade: str | None = None
    station: str | None = None
    serves: tuple[str, ...] = ()
    per_1000_parts: Band
    cost_per_1000: Band | None = None


class Driver(Part):
    """One assumption that moves the total, all others held at what is expected.

    `low` and `high` are the total at the low and at the high end of the assumption, whose name is
    `assumption` and whose row in the table of coefficients is `coefficient`; `at_low` and `at_high` are these
    ends in `unit`.
    """

    assumption: str
    low: float
    high: float
    coefficient: str
    at_low: float
    at_high: float
    unit: str


class Totals(Part):
    """Sums over all features, per part; the batch figures are None where no batch is given.

    `time_s` and `cost` are those of working the steps, with the media used up; `part_time_s` and
    `part_cost` those of one good part with all its `lines`: handling, inspection, its share of set-up, dressing
    and changes of media, and rework. `drivers` move `driven` most, from the widest down; `driven_total`
    is that figure with everything as expected. Costs are None without rates. `excluded` says what no
    figure holds.
    """

    time_s: Band | None = None
    cost: Band | None = None
    steps: int = 0
    currency: str | None = None
    media_cost: Band | None = None
    set_ups: int | None = None
    changeover_s: float | None = None
    batch: int | None = None
    batch_time_s: Band | None = None
    batch_cost: Band | None = None
    part_time_s: Band | None = None
    part_cost: Band | None = None
    lines: tuple[TotalLine, ...] = ()
    media: tuple[MediaUse, ...] = ()
    driven: Literal["part_cost", "part_time_s"] | None = None
    driven_total: float | None = None
    drivers: tuple[Driver, ...] = ()
    excluded: tuple[str, ...] = ()
    reasons: dict[str, Ids] = Field(default_factory=dict)
