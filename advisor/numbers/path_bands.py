"""The bands of a path: what the draws say of each step, in the units of the sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast

import numpy as np

from advisor.figures.coefficients import Draws
from advisor.numbers.path_draws import MICRON, PathDraws, StepDraws, path_draws
from advisor.process.bands import Spread
from advisor.process.real import Real
from advisor.process.wear import PART_OUTLASTS, Lasting
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.surface import PlannedStep


@dataclass(frozen=True, slots=True)
class StepBands:
    """One step: depth taken off and left (um), roughness after it (um), time for a part (s).

    `heat_k` is the rise of the skin (K, None where nothing can be said), `parts` how many parts one
    belt, disc or wheel does.
    """

    removal_um: Spread
    remaining_um: Spread
    ra_um: Spread
    rz_um: Spread
    time_s: Spread
    heat_k: Spread | None
    parts: Spread
    wear_flags: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PathBands:
    """The bands of every step and of the whole path.

    `cost` (time at the machine and media) is None without rates. `ra_probability` is how likely the
    last step ends inside the asked Ra band.
    """

    steps: tuple[StepBands, ...]
    time_s: Spread
    cost: Spread | None
    ra_probability: float


def path_bands(desk: FeatureDesk, path: Sequence[PlannedStep], drawn: Draws) -> PathBands:
    """Bands of a path as 5th, 50th and 95th percentile of the draws, which all paths of a job share.

    Raises ValueError for an empty path.
    """
    return bands_of(desk, path_draws(desk, path, drawn), drawn)


def bands_of(desk: FeatureDesk, found: PathDraws, drawn: Draws) -> PathBands:
    """The bands of a path that was walked with draws."""
    rates, finish = desk.job.cell.rates, desk.feature.finish
    last = np.asarray(found.steps[-1].ra)[: drawn.count] / MICRON
    inside = (last >= finish.ra_low_um) & (last <= finish.ra_high_um)
    return PathBands(
        steps=tuple(_step(step, drawn) for step in found.steps),
        time_s=drawn.band(found.time),
        cost=drawn.band(found.cost(rates.hour / 3600.0)) if rates else None,
        ra_probability=float(np.mean(inside)),
    )


def _step(step: StepDraws, drawn: Draws) -> StepBands:
    lasting = parts_done(step.used)
    return StepBands(
        removal_um=drawn.band(step.removal / MICRON),
        remaining_um=drawn.band(step.remaining / MICRON),
        ra_um=drawn.band(step.ra / MICRON),
        rz_um=drawn.band(step.rz / MICRON),
        time_s=drawn.band(step.time),
        heat_k=drawn.band(step.warming.rise) if step.warming else None,
        parts=drawn.band(lasting.parts),
        wear_flags=(*step.life.flags, *lasting.flags),
    )


def parts_done(used: Real) -> Lasting:
    """Whole parts that one belt, disc or wheel does if a part uses up the share `used` of it."""
    exact = 1.0 / np.asarray(used, dtype=float)
    whole = np.floor(exact + 1e-9)
    none = float(np.mean(whole < 1.0)) > 0.5
    parts = cast(Real, np.where(whole < 1.0, exact, whole))
    return Lasting(parts, (PART_OUTLASTS,) if none else ())
