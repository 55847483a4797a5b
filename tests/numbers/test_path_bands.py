"""Bands of whole paths: ordered, repeatable, sharing their streams, and around what the search reckoned with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm, spearmanr
from scipy.stats.mstats import mquantiles

from advisor.figures.coefficients import Draws
from advisor.figures.effect import effect
from advisor.knowledge.reference import Coefficient
from advisor.numbers.path_bands import PathBands, path_bands
from advisor.process.bands import Spread, percentiles
from advisor.sequence.surface import PlannedStep
from tests import invented

every_job = pytest.mark.parametrize("name", invented.JOBS)
FIGURES = ("removal_um", "remaining_um", "ra_um", "time_s")


def bands(name: str, seed: str | None = None, count: int = 400) -> PathBands:
    plan = invented.plan(name)
    return path_bands(plan.desk, plan.path, Draws(seed or invented.seed(name), count))


def local(step: PlannedStep) -> bool:
    return step.defect is not None and invented.knowledge().tables.defects[step.defect].local


@every_job
def test_every_band_rises(name: str) -> None:
    found = bands(name)
    assert len(found.steps) == len(invented.plan(name).path)
    for step in found.steps:
        for figure in FIGURES:
            band: Spread = getattr(step, figure)
            assert 0.0 <= band.low <= band.expected <= band.high
        assert step.ra_um.low > 0 and step.time_s.low > 0
    assert found.time_s.low <= found.time_s.expected <= found.time_s.high


@every_job
def test_bands_have_a_width_where_there_is_something_to_doubt(name: str) -> None:
    for step in bands(name).steps:
        assert step.ra_um.high > 1.05 * step.ra_um.low
        assert step.removal_um.high > 1.2 * step.removal_um.low
        assert step.time_s.high > 1.05 * step.time_s.low


@every_job
def test_the_same_job_gives_the_same_bands_and_another_seed_others(name: str) -> None:
    assert bands(name) == bands(name)
    other = bands(name, "another job")
    assert other != bands(name)
    assert other.time_s == pytest.approx(bands(name).time_s, rel=0.15)


@every_job
def test_the_middle_of_a_band_is_near_what_the_search_reckoned_with(name: str) -> None:
    """The search calculates with expected coefficients; the middle of the draws must tell the same story.

    Not equal: a threshold or a least number of passes bends the middle of many draws.
    """
    path = invented.plan(name).path
    found = bands(name)
    for step, band in zip(path, found.steps, strict=True):
        assert band.removal_um.expected == pytest.approx(step.removal * 1e6, rel=0.10)
        assert band.time_s.expected == pytest.approx(step.time, rel=0.20)
        if not local(step):  # beside a track the face keeps its own roughness; the band is that of the track
            assert band.ra_um.expected == pytest.approx(step.after.ra * 1e6, rel=0.15)
    assert found.time_s.expected == pytest.approx(sum(step.time for step in path), rel=0.15)


def test_what_an_earlier_step_left_standing_is_part_of_the_time() -> None:
    """A strip handed over a tenth of a millimetre high costs the next step more than its scratch does."""
    plan = invented.plan("oar-lock")
    step = next(step for step in plan.path if step.kind == "erase")
    candidate = step.candidate
    values = plan.desk.expected(candidate.tool.media, candidate.grain, candidate.grade)
    fixed = float(values["step_seconds"])
    heavy = replace(
        step, before=replace(step.before, left=3.0 * step.need), need=3.0 * step.need,
        passes=3 * step.passes, removal=3.0 * step.removal, time=fixed + 3.0 * step.cutting,
        cutting=3.0 * step.cutting,
    )  # fmt: skip
    (found,) = path_bands(plan.desk, (heavy,), Draws("any job")).steps
    assert found.time_s.expected == pytest.approx(heavy.time, rel=0.2)


@every_job
def test_four_hundred_draws_tell_what_ten_times_as_many_tell(name: str) -> None:
    few, many = bands(name), bands(name, count=4000)
    assert few.time_s == pytest.approx(many.time_s, rel=0.10)
    for one, two in zip(few.steps, many.steps, strict=True):
        assert one.ra_um == pytest.approx(two.ra_um, rel=0.12)


@every_job
def test_nothing_is_left_to_remain_after_a_step_that_clears_nothing(name: str) -> None:
    for step, band in zip(invented.plan(name).path, bands(name).steps, strict=True):
        if step.kind != "clear":
            assert band.remaining_um == (0.0, 0.0, 0.0)
        else:
            assert band.remaining_um.high <= step.before.remaining * 1e6 * (1 + 1e-9)


def test_a_path_without_steps_has_no_bands() -> None:
    plan = invented.plan("oar-lock")
    with pytest.raises(ValueError, match="without steps"):
        path_bands(plan.desk, (), Draws("any"))


# ---------------------------------------------------------------- shared streams


def test_steps_share_the_streams_of_their_coefficients() -> None:
    """If the steel is harder to cut than thought, it is so in every step."""
    plan = invented.plan("oar-lock")
    drawn = Draws("any job")
    picked: list[Mapping[str, Coefficient]] = [
        plan.desk.picked(step.candidate.tool.media, step.candidate.grain, step.candidate.grade)
        for step in plan.path
    ]
    first, second = picked[0], picked[1]
    shared = [symbol for symbol in first if first[symbol].key == second[symbol].key]
    assert "specific_energy_80" in shared and "roughness_c" in shared
    one, two = drawn.of(first), drawn.of(second)
    for symbol in shared:
        assert one[symbol] is two[symbol]


def test_a_stream_does_not_depend_on_which_others_are_drawn() -> None:
    plan = invented.plan("oar-lock")
    candidate = plan.path[0].candidate
    picked = plan.desk.picked(candidate.tool.media, candidate.grain, candidate.grade)
    alone = Draws("any job").of({"specific_energy_80": picked["specific_energy_80"]})
    together = Draws("any job").of(dict(reversed(list(picked.items()))))
    assert np.array_equal(alone["specific_energy_80"], together["specific_energy_80"])


def test_the_whole_is_as_uncertain_as_shared_streams_make_it() -> None:
    """Steps that go wrong together: narrower than the sum of the ends, wider than independent steps would be."""
    found = bands("oar-lock", count=4000)
    times = [step.time_s for step in found.steps]
    width = found.time_s.high - found.time_s.low
    together = sum(time.high - time.low for time in times)
    apart = sum((time.high - time.low) ** 2 for time in times) ** 0.5
    assert apart * 1.1 < width < together * 1.001


# ---------------------------------------------------------------- against scipy


def by_scipy(row: Coefficient, levels: np.ndarray) -> np.ndarray:
    """Quantiles of a band whose logarithm is normal on either side, from scipy's inverse."""
    normal = norm.ppf(levels)
    edge = norm.ppf(0.95)
    below = np.log(row.band.expected / row.band.low) / edge
    above = np.log(row.band.high / row.band.expected) / edge
    return np.asarray(row.band.expected * np.exp(normal * np.where(normal < 0, below, above)))


@pytest.mark.parametrize(("name", "number"), [("oar-lock", 1), ("crane-plate", 1), ("lamp-housing", 1)])
def test_roughness_of_a_coated_step_against_a_simulation_of_our_own(name: str, number: int) -> None:
    """The floor from 20,000 independent draws made with scipy, one seed for all, against the band."""
    plan = invented.plan(name)
    candidate = plan.path[number].candidate
    picked = plan.desk.picked(candidate.tool.media, candidate.grain, candidate.grade)
    generator = np.random.default_rng(20)
    values = {
        symbol: row.band.expected if symbol == "roughness_n" else by_scipy(row, generator.random(20_000))
        for symbol, row in picked.items()
    }
    floor = effect(candidate.setup, values).floor_ra  # type: ignore[arg-type]
    wanted = mquantiles(np.asarray(floor) * 1e6, prob=(0.05, 0.5, 0.95))
    assert bands(name).steps[number].ra_um == pytest.approx(tuple(wanted), rel=0.08)


def test_percentiles_are_the_draws_nearest_to_scipys_quantiles() -> None:
    plan = invented.plan("oar-lock")
    candidate = plan.path[0].candidate
    drawn = Draws("any job").of(plan.desk.picked(candidate.tool.media, candidate.grain, candidate.grade))
    array = np.asarray(drawn["specific_energy_80"])
    found = percentiles(drawn["specific_energy_80"])
    assert set(found) <= set(array.tolist())
    assert found == pytest.approx(tuple(mquantiles(array, prob=(0.05, 0.5, 0.95))), rel=0.01)


def test_streams_of_different_coefficients_have_nothing_to_do_with_each_other() -> None:
    plan = invented.plan("oar-lock")
    candidate = plan.path[0].candidate
    drawn = Draws("any job", 2000).of(
        plan.desk.picked(candidate.tool.media, candidate.grain, candidate.grade)
    )
    for symbol in ("roughness_c", "minimum_pressure_kpa", "step_seconds"):
        assert abs(spearmanr(drawn["specific_energy_80"], drawn[symbol]).statistic) < 0.08
