"""What a part and a batch take: counted again by hand, drawn again by a simulation, and moved one by one."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from advisor.job.write import canonical_json
from advisor.numbers.job_figures import DEPTH, JobFigures, job_figures
from advisor.numbers.totals import TotalFigures
from advisor.process.cost import swings
from advisor.sequence.joint import share_set_ups, times_handled, visits
from tests import invented

JOBS = ("oar-lock", "tap-lever", "bell-cap", "crane-plate")
RATES = {"hour": 60, "currency": "EUR"}


def figures_of(asked: object) -> JobFigures:
    plans, set_ups = share_set_ups(invented.plans_of(asked))  # type: ignore[arg-type]
    return job_figures(asked, plans, set_ups, canonical_json(asked))  # type: ignore[arg-type]


@cache
def totals(name: str) -> TotalFigures:
    found = figures_of(invented.job(name)).totals
    assert found is not None
    return found


@pytest.mark.parametrize("name", JOBS)
def test_the_lines_add_up_to_the_part(name: str) -> None:
    """Not exactly, for the middle of a sum is not the sum of middles; nearly, for the spreads are alike."""
    found = totals(name)
    assert sum(line.time.expected for line in found.lines) == pytest.approx(found.part_time.expected, rel=0.12)
    assert sum(line.time.low for line in found.lines) <= found.part_time.low * (1 + 1e-9)
    assert sum(line.time.high for line in found.lines) >= found.part_time.high * (1 - 1e-9)
    if found.part_cost:
        money = [line.cost for line in found.lines if line.cost]
        assert sum(line.expected for line in money) == pytest.approx(found.part_cost.expected, rel=0.12)


@pytest.mark.parametrize("name", JOBS)
def test_a_batch_is_its_parts(name: str) -> None:
    found, batch = totals(name), invented.job(name).batch
    assert found.batch_time is not None
    assert found.batch_time == pytest.approx([batch * end for end in found.part_time])


@pytest.mark.parametrize("name", JOBS)
def test_the_expected_part_counted_by_hand(name: str) -> None:
    """Every coefficient as expected: working, dulling, handling, inspection, set-up, changes and rework."""
    job = invented.job(name)
    plans, set_ups = share_set_ups(invented.plans_of(job))
    values = {symbol: row.band.expected for symbol, row in plans[0].desk.general().items()}
    steps = [step for plan in plans for step in plan.path]
    changes = {id(step): 0.0 for step in steps}
    dressed = 0.0
    for visit in set_ups:
        form = visit.step.candidate.tool.media.form
        for row, number in visit.serves:
            step = plans[row].path[number]
            changes[id(step)] = job.cell.changeover_s(form) * step.used
            dressed += step.cutting if form == "wheel" else 0.0
    holds, turned = times_handled(set_ups, one_part=False)
    run = (
        sum(step.time + step.cutting * (float(step.candidate.life.dulling) - 1.0) for step in steps)
        + values["handling_seconds"] * holds
        + values["turning_seconds"] * turned
        + values["inspection_seconds"]
        + dressed * values["dressing_seconds"] / (values["dressing_minutes"] * 60.0)
        + sum(changes.values())
    )
    first = values["set_up_seconds"] + sum(
        job.cell.changeover_s(visit.step.candidate.tool.media.form) for visit in set_ups
    )
    share = values["rework_share"]
    time = run * (1.0 + values["rework_work_share"] * share / (1.0 - share)) + first / job.batch
    assert job.cell.rates is not None
    media = sum(float(step.candidate.life.price) * step.used for step in steps)
    again = 1.0 + values["rework_work_share"] * share / (1.0 - share)
    money = time * job.cell.rates.hour / 3600.0 + media * again
    # The last steps of a path are worked a little faster or slower in the walk than whole passes say.
    assert totals(name).driven == pytest.approx(money, rel=0.06)


@pytest.mark.parametrize("name", JOBS)
def test_drivers_are_ranked_and_lie_on_both_sides(name: str) -> None:
    found = totals(name)
    sizes = [abs(ends.at_high - ends.at_low) for ends in found.drivers]
    assert 3 <= len(sizes) <= 8
    assert sizes == sorted(sizes, reverse=True) or DEPTH in {ends.moved.key for ends in found.drivers}
    for ends in found.drivers:
        assert min(ends.at_low, ends.at_high) <= found.driven * (1 + 1e-9)
        assert max(ends.at_low, ends.at_high) >= found.driven * (1 - 1e-9)


def test_one_at_a_time_as_the_plain_formula_does_it() -> None:
    """The columns of the sample against `swings`, on a total that anyone can reckon."""
    found = totals("oar-lock")
    ends = next(each for each in found.drivers if each.moved.key == "handling-seconds")
    job = invented.job("oar-lock")
    assert job.cell.rates is not None
    plan = invented.plan("oar-lock")
    share, work = (
        plan.desk.general()[symbol].band.expected for symbol in ("rework_share", "rework_work_share")
    )
    rate = job.cell.rates.hour / 3600.0 * (1.0 + work * share / (1.0 - share)) * found.holds
    (swing,) = swings(lambda at: rate * at["handling"], {"handling": ends.moved.ends})
    assert ends.at_high - ends.at_low == pytest.approx(swing.at_high - swing.at_low)


def test_a_part_is_taken_in_hand_anew_where_a_station_is_set_up_again() -> None:
    plan = invented.plan("oar-lock")
    found = list(visits([plan.path]))
    names = [visit.step.candidate.tool.station.name for visit in found]
    holds, turned = times_handled(found, one_part=False)
    assert holds >= max(names.count(name) for name in names) and turned == 0
    assert times_handled(found[:1], one_part=False) == times_handled(found, one_part=True) == (1, 0)


def test_a_larger_batch_never_makes_a_part_dearer() -> None:
    fields = {"alloy": "s31603", "start": {"defect": "casting-skin", "depth": "0.3 mm"}, "finish": "satin-fine"}
    costs = []
    for batch in (5, 50, 5000):
        found = figures_of(invented.job_of("same-name", batch=batch, **fields)).totals
        assert found is not None and found.part_cost is not None
        costs.append(found.driven)
    assert costs == sorted(costs, reverse=True)


def test_without_a_batch_nothing_is_said_of_setting_up() -> None:
    found = figures_of(invented.job_of(alloy="c36000", start={"defect": "machining-marks"}, finish="satin-fine", batch=None)).totals  # noqa: E501
    assert found is not None
    assert found.batch_time is None and "set-up" not in {line.what for line in found.lines}


def test_media_of_a_thousand_parts_are_a_thousand_times_what_one_uses() -> None:
    plans, set_ups = share_set_ups(invented.plans_of(invented.job("oar-lock")))
    found = totals("oar-lock")
    assert sum(len(use.visits) for use in found.media) == len(set_ups)
    for use in found.media:
        steps = [plans[row].path[number] for visit in use.visits for row, number in set_ups[visit].serves]
        assert use.per_thousand.expected == pytest.approx(1000.0 * sum(step.used for step in steps), rel=0.35)
        assert use.per_thousand.low < use.per_thousand.expected < use.per_thousand.high


def test_the_chance_of_the_band_counts_the_draws_inside_it() -> None:
    """Against the normal law that the logarithm of Ra nearly follows: its share between the limits."""
    from scipy.stats import norm

    for name in JOBS:
        (band,) = figures_of(invented.job(name)).paths
        assert band is not None
        last, finish = band.steps[-1].ra_um, invented.plan(name).feature.finish
        middle, edge = np.log(last.expected), norm.ppf(0.95)
        below, above = (middle - np.log(last.low)) / edge, (np.log(last.high) - middle) / edge

        def share(limit: float, middle: float = middle, below: float = below, above: float = above) -> float:
            if limit <= 0:
                return 0.0
            away = np.log(limit) - middle
            return float(norm.cdf(away / (below if away < 0 else above)))

        wanted = share(finish.ra_high_um) - share(finish.ra_low_um)
        assert band.ra_probability == pytest.approx(wanted, abs=0.08)
