"""The directions a finisher relies on, held by the numbers of generated jobs as the sheet has them.

The formulas alone keep them in `tests/process/test_laws.py`; here they keep them as they are put together: with
grooves, the tension of the belt, the speed of the cover and a face that curves twice.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from advisor.figures.coefficients import Values
from advisor.figures.effect import Effect, effect
from advisor.figures.setup import Lands, Setup
from advisor.job.model import Job
from advisor.pipeline import work_out
from advisor.process.speed import rotational_speed
from tests import invented
from tests.strategies import swept_jobs

SLACK = 1 + 1e-9
lands = st.one_of(
    st.none(), st.builds(Lands, st.floats(0.3, 0.8), st.floats(5e-3, 12e-3), st.floats(3e-3, 8e-3))
)
tensions = st.one_of(st.none(), st.floats(200.0, 5000.0))
acrosses = st.one_of(st.none(), st.floats(0.02, 1.0))


def planned(job: Job) -> Iterator[tuple[Setup, Values]]:
    """The set-ups of every step that was planned, with their coefficients as expected."""
    for item in work_out(job, invented.desk()).planned:
        for step in item.plan.path:
            candidate = step.candidate
            yield (
                candidate.setup,
                item.plan.desk.expected(candidate.tool.media, candidate.grain, candidate.grade),
            )


def depth(found: Effect, feed: float) -> float:
    return float(found.depth(feed))


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(swept_jobs(), lands, tensions, acrosses, st.floats(1.0, 3.0))
def test_the_laws_hold_in_every_step(
    job: Job, cut: Lands | None, tension: float | None, across: float | None, more: float
) -> None:
    for setup, values in planned(job):
        rubber = setup.hardness is not None and setup.media.contact_wheel
        here = replace(setup, lands=cut, tension=tension, across=across) if rubber else setup
        base = effect(here, values)
        pressed = effect(replace(here, line_load=here.line_load * more), values)
        # More force never takes less, nor draws less power.
        assert depth(pressed, here.feed) * SLACK >= depth(base, here.feed)
        assert float(pressed.power) * SLACK >= float(base.power)
        # A finer grade never leaves a rougher floor.
        for finer in _finer(here):
            found = effect(replace(here, grade=finer), values)
            assert float(found.floor_ra or 0.0) <= float(base.floor_ra or 0.0) * SLACK
        # A softer wheel never presses harder, neither on the face nor on the grain.
        if base.contact is not None and here.hardness is not None:
            soft = effect(replace(here, hardness=max(20.0, here.hardness / more)), values).contact
            assert soft is not None
            assert float(soft.mean_pressure) <= float(base.contact.mean_pressure) * SLACK
            assert float(soft.grain_pressure) <= float(base.contact.grain_pressure) * SLACK
            if cut is not None:
                assert float(base.contact.grain_pressure) >= float(base.contact.mean_pressure)
        # A smaller wheel turns faster at the same speed of its rim.
        assert rotational_speed(here.speed, here.diameter / more) * SLACK >= rotational_speed(
            here.speed, here.diameter
        )


def _finer(setup: Setup) -> list:  # type: ignore[type-arg]
    if setup.grade is None or setup.grade.equivalent:
        return []
    grades = invented.knowledge().tables.grades.values()
    return [row for row in grades if row.scale == setup.grade.scale and row.um < setup.grade.um][:3]


def test_there_are_wheels_among_the_generated_steps() -> None:
    assert any(setup.hardness is not None for setup, _ in planned(invented.job("oar-lock")))
