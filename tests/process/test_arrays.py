"""Every formula gives for an array of draws what it gives for each of them alone."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from advisor.process import contact, elliptic, local, reach, removal, roughness, speed, timing

LINE = np.linspace(300.0, 4000.0, 9)
MODULUS = np.geomspace(1e6, 3e7, 9)


def depths(line_load: Any) -> Any:
    return 11e-9 * line_load


CASES: list[tuple[str, Callable[..., Any], tuple[Any, ...]]] = [
    ("surface speed", speed.surface_speed, (LINE / 1e4, 2000.0)),
    ("rpm", speed.rotational_speed, (25.0, LINE / 1e4)),
    ("diameter", speed.diameter_for, (25.0, LINE)),
    ("Gent", contact.young_modulus, (np.linspace(20.0, 80.0, 9),)),
    ("convex", lambda r: contact.relative_radius(0.1, r, "convex"), (LINE / 1e4,)),
    ("depth", removal.depth_per_pass, (0.4, MODULUS * 1e3, LINE, 25.0, 0.03, LINE * 20, 15e3)),
    ("energy", removal.specific_energy, (30e9, 35e-6, np.linspace(0.3, 0.8, 9))),
    ("force ratio", removal.force_ratio, (np.linspace(0.3, 0.5, 9), 35e-6)),
    ("threshold", removal.minimum_pressure, (LINE, 150.0, 3.0)),
    ("share", removal.cutting_share, (LINE - 300.0, 1000.0)),
    ("floor", roughness.floor_ra, (LINE / 5e5, 82e-6, np.linspace(0.94, 1.3, 9), 1.1, LINE * 50, 0.3)),
    ("stock", roughness.stock_to_erase, (LINE / 1e8, 1e-5, 0.8, 0.0, 0.5)),
    ("decay", roughness.ra_after, (LINE / 1e8, 2e-6, 0.6e-6, 6e-6)),
    ("gap", reach.root_gap, (LINE / 1e5, 0.020)),
    ("area", timing.area_time, (0.03, 0.025, LINE / 1e5, 4)),
    ("flattening", local.flattening, (LINE, 0.1, MODULUS, 0.02)),
]


@pytest.mark.parametrize(("formula", "given"), [case[1:] for case in CASES], ids=[case[0] for case in CASES])
def test_formula(formula: Callable[..., Any], given: tuple[Any, ...]) -> None:
    together = formula(*given)
    for i in range(9):
        alone = formula(*[float(value[i]) if isinstance(value, np.ndarray) else value for value in given])
        assert together[i] == pytest.approx(alone, rel=1e-12, abs=1e-300)


@pytest.mark.parametrize("cover", [None, 0.02])
def test_line_contact(cover: float | None) -> None:
    together: Any = contact.line_contact(LINE, 0.1, MODULUS, cover)  # type: ignore[arg-type]
    for i in range(9):
        alone = contact.line_contact(float(LINE[i]), 0.1, float(MODULUS[i]), cover)
        assert together.half_width[i] == pytest.approx(alone.half_width)
        assert together.peak_pressure[i] == pytest.approx(alone.peak_pressure)
        assert together.mean_pressure[i] == pytest.approx(alone.mean_pressure)
        assert cover is None or together.approach[i] == pytest.approx(alone.approach)


def test_elliptic_contact() -> None:
    crowns = np.geomspace(0.05, 0.5, 9)
    together: Any = elliptic.elliptic_contact(30.0, 0.1, crowns, MODULUS)  # type: ignore[arg-type]
    for i in range(9):
        alone = elliptic.elliptic_contact(30.0, 0.1, float(crowns[i]), float(MODULUS[i]))
        assert together.long_half_axis[i] == pytest.approx(alone.long_half_axis)
        assert together.short_half_axis[i] == pytest.approx(alone.short_half_axis)
        assert together.approach[i] == pytest.approx(alone.approach)


def test_strip() -> None:
    def plan(modulus: Any) -> Any:
        return local.strip(
            height=0.8e-3,
            hand_over=0.05e-3,
            strip_width=5e-3,
            wheel_width=50e-3,
            force=60.0,
            relative_radius=0.1,
            plane_modulus=modulus,
            cover_thickness=0.02,
            depth=depths,
        )

    together = plan(MODULUS)
    for i in range(9):
        alone = plan(float(MODULUS[i]))
        assert together.passes[i] == pytest.approx(alone.passes)
        assert together.dish[i] == pytest.approx(alone.dish, abs=1e-12)


def test_an_array_is_flagged_when_most_of_it_lies_outside() -> None:
    soft, hard = np.full(4, 2e5), np.full(6, 2e7)
    mostly_hard: Any = contact.line_contact(2000.0, 0.02, np.concatenate([soft, hard]))  # type: ignore[arg-type]
    mostly_soft: Any = contact.line_contact(2000.0, 0.02, np.concatenate([soft, soft, hard]))  # type: ignore[arg-type]
    assert mostly_hard.flags == ()
    assert mostly_soft.flags == (contact.TOO_WIDE,)


def test_passes_of_draws_that_rub_are_endless_and_the_others_are_not() -> None:
    sharing = local.load_sharing(60.0, 5e-3, 50e-3, 0.1, 5e6, 0.02)
    wide: Any = np.array([0.0, 1e-5, 1e-5])
    plan: Any = local.level(0.8e-3, 0.05e-3, sharing, 1e-4, wide)
    assert plan.passes[0] == np.inf
    assert np.isfinite(plan.passes[1:]).all()
    assert local.RUBBING_TAIL not in plan.flags
