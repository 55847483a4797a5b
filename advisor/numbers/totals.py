"""What a good part and a batch take, line by line, and which assumption moves the total most."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from advisor.figures.coefficients import Values
from advisor.job.model import Job
from advisor.numbers.path_draws import PathDraws, StepDraws
from advisor.numbers.sample import Ends, Sample
from advisor.process import cost
from advisor.process.bands import Spread
from advisor.process.real import Real, mostly
from advisor.sequence.joint import SetupKey, Visit, times_handled

#: A driver is shown where it moves the total by at least this share, and at most so many.
LEAST_SWING = 0.002
MOST_DRIVERS = 8


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a good part: seconds, and money where the cell has rates."""

    what: str
    time: Spread
    cost: Spread | None


@dataclass(frozen=True, slots=True)
class Use:
    """One media of the batch: the visits it serves (their numbers), pieces and money for a thousand parts."""

    visits: tuple[int, ...]
    per_thousand: Spread
    cost: Spread | None


@dataclass(frozen=True, slots=True)
class TotalFigures:
    """Bands over all features, per good part and per batch; money is None without rates.

    `working` is the time of the steps alone. `holds` is how often a part is taken in hand, `turns` how
    often it is turned to another face meanwhile. `driven` is
    the total with everything as expected, and `drivers` what moves it, widest first.
    """

    working: Spread
    working_cost: Spread | None
    media_cost: Spread | None
    part_time: Spread
    part_cost: Spread | None
    batch_time: Spread | None
    batch_cost: Spread | None
    lines: tuple[Line, ...]
    media: tuple[Use, ...]
    holds: int
    turns: int
    driven: float
    drivers: tuple[Ends, ...]


def total_figures(
    job: Job, paths: Sequence[PathDraws], visits: Sequence[Visit], general: Values, drawn: Sample
) -> TotalFigures:
    """The totals of a job from its paths, one for each planned feature, and its set-ups in machine order.

    `general` are the coefficients that belong to no step (handling, turning, inspection, rework ...).
    """
    steps = [step for path in paths for step in path.steps]
    cell, batched = job.cell, not job.is_assumed("batch")
    changes = [cell.changeover_s(visit.step.candidate.tool.media.form) for visit in visits]
    working = sum((step.time for step in steps), 0.0)
    dulling = sum((step.cutting * (step.life.dulling - 1.0) for step in steps), 0.0)
    holds, turned = times_handled(visits, job.batch == 1)
    time = cost.part_time(
        cutting=working + dulling,
        handling=general["handling_seconds"] * holds + general["turning_seconds"] * turned,
        inspection=general["inspection_seconds"],
        set_up=general["set_up_seconds"] + sum(changes) if batched else 0.0,
        batch=job.batch,
        dressing=_dressing(visits, paths, general),
        changing=_changing(visits, changes, paths),
        rework_share=general["rework_share"],
        rework_work=general["rework_work_share"],
    )
    runs = cost.rework_runs(general["rework_share"], general["rework_work_share"])
    media = sum((step.media_cost for step in steps), 0.0)
    rate = cell.rates.hour / 3600.0 if cell.rates else None
    money = None if rate is None else cost.part_cost(time, rate, media, runs).total
    spent: Mapping[str, Real] = {
        "working": working,
        "dulling": dulling,
        "handling": time.handling,
        "inspection": time.inspection,
        "set-up": time.set_up,
        "dressing": time.dressing,
        "changing": time.changing,
        "rework": time.rework,
    }
    lines = [
        Line(what, drawn.band(each), None if rate is None else drawn.band(rate * each))
        for what, each in spent.items()
        if mostly(each > 0)
    ]
    if rate is not None:
        lines.append(Line("media", Spread(0.0, 0.0, 0.0), drawn.band(media * runs)))
    driven = time.total if money is None else money
    return TotalFigures(
        working=drawn.band(working),
        working_cost=None if rate is None else drawn.band(rate * working + media),
        media_cost=None if rate is None else drawn.band(media),
        part_time=drawn.band(time.total),
        part_cost=None if money is None else drawn.band(money),
        batch_time=drawn.band(cost.batch_time(time, job.batch)) if batched else None,
        batch_cost=drawn.band(money * job.batch) if batched and money is not None else None,
        lines=tuple(lines),
        media=_uses(visits, paths, runs, rate is not None, drawn),
        holds=holds,
        turns=turned,
        driven=drawn.expected(driven),
        drivers=_drivers(driven, drawn),
    )


def served(visit: Visit, paths: Sequence[PathDraws]) -> list[StepDraws]:
    """The steps that a set-up serves."""
    return [paths[row].steps[step] for row, step in visit.serves]


def _changing(visits: Sequence[Visit], changes: Sequence[float], paths: Sequence[PathDraws]) -> Real:
    """Changing worn media (s a part); the change at the start of a set-up belongs to the set-up."""
    return sum(
        (
            change * step.used
            for visit, change in zip(visits, changes, strict=True)
            for step in served(visit, paths)
        ),
        0.0,
    )


def _dressing(visits: Sequence[Visit], paths: Sequence[PathDraws], general: Values) -> Real:
    """Dressing and truing flap and web wheels (s a part), by their cutting time."""
    cutting = sum(
        (
            step.cutting
            for visit in visits
            if visit.step.candidate.tool.media.form == "wheel"
            for step in served(visit, paths)
        ),
        0.0,
    )
    return cost.shared(general["dressing_seconds"], general["dressing_minutes"] * 60.0) * cutting


def _uses(
    visits: Sequence[Visit], paths: Sequence[PathDraws], runs: Real, with_money: bool, drawn: Sample
) -> tuple[Use, ...]:
    """Each media of the batch once, in machine order."""
    same: dict[SetupKey, list[int]] = {}
    for number, visit in enumerate(visits):
        candidate = visit.step.candidate
        key = (candidate.tool.station.name, *candidate.key, candidate.setup.media_width)
        same.setdefault(key, []).append(number)
    found = []
    for numbers in same.values():
        steps = [step for number in numbers for step in served(visits[number], paths)]
        used = sum((step.used for step in steps), 0.0) * runs * 1000.0
        money = sum((step.media_cost for step in steps), 0.0) * runs * 1000.0
        found.append(Use(tuple(numbers), drawn.band(used), drawn.band(money) if with_money else None))
    return tuple(found)


def _drivers(total: Real, drawn: Sample) -> tuple[Ends, ...]:
    """What moves the total most when it alone goes from its low to its high end."""
    middle = drawn.expected(total)

    def size(ends: Ends) -> float:
        low, high = min(ends.at_low, ends.at_high, middle), max(ends.at_low, ends.at_high, middle)
        return high - low

    wide = [ends for ends in drawn.ends(total) if size(ends) >= LEAST_SWING * middle]
    return tuple(sorted(wide, key=lambda ends: (-size(ends), ends.moved.key))[:MOST_DRIVERS])
