"""Many shops that could be this one: draws of all coefficients, weighed by what the tries have measured.

The model is run once for every drawn shop. A shop whose model fits the readings counts for much, one that does
not for little; what is expected of the next set-up is what the shops that are left expect. The bands are drawn
wider than the tables give them, since it is the unusual shop that misses its finish.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from advisor.figures.coefficients import Draws, Values
from advisor.figures.effect import Effect, effect, rougher, whole_valley
from advisor.figures.setup import Setup
from advisor.knowledge.reference import Band, Coefficient, Grade
from advisor.process import roughness
from advisor.process.real import Real, positive_part
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.surface import PlannedStep
from advisor.trials.run import Run

Array = NDArray[np.float64]
Surface = tuple[Real, Real]
MICRON = 1e-6
DRAWN = 3000
#: The grain (um) at which the scale of the roughness is taken, where the planned step has none: about P150.
WHERE_C_HOLDS = 100.0
#: How much wider (as a logarithm) the bands are drawn.
WIDER = 1.2
#: So many deviations off, a reading is taken for a slip.
SLIP = 4.0
#: The readings may not leave fewer shops than this, or the outlook would be as sure as a single draw.
FEWEST_SHOPS = 10.0


class Cloud:
    """The drawn shops of one step, each with its weight."""

    def __init__(self, desk: FeatureDesk, step: PlannedStep) -> None:
        self._desk, self._step = desk, step
        self._draws = Draws("next try", DRAWN)
        self._known: dict[tuple[str, str | None, str | None], Values] = {}
        self._exponent = self._drawn_exponent()
        self.weights: Array = np.full(DRAWN, 1.0 / DRAWN)
        self._misfit: Array = np.zeros(DRAWN)

    def _drawn_exponent(self) -> Array:
        """How far each shop's exponent of the grain is from the expected one."""
        candidate = self._step.candidate
        row = self._desk.picked(candidate.tool.media, candidate.grain, candidate.grade)["roughness_n"]
        renamed = row.model_copy(update={"key": f"{row.key}-of-a-shop", "symbol": "n"})
        drawn = self._draws.of({"n": renamed})["n"]
        return np.asarray(drawn, dtype=float) - row.band.expected

    def values(self, one: Run | PlannedStep) -> Values:
        """The coefficients of every drawn shop for a set-up."""
        media, grain, grade = (
            (one.tool.media, one.grain, one.grade)
            if isinstance(one, Run)
            else (one.candidate.tool.media, one.candidate.grain, one.candidate.grade)
        )
        key = (media.key, grain, grade.key if grade else None)
        if key not in self._known:
            self._known[key] = self._draws.of(_wider(self._desk.picked(media, grain, grade)))
        return self._known[key]

    def ra(self, one: Run, found: Surface) -> Array | None:
        """The roughness (um) that a set-up leaves in each shop; None where it leaves what it found."""
        values = self.values(one)
        outcome = effect(one.setup, values)
        taken = one.passes * outcome.depth(one.setup.feed) * one.lapped
        left = self._left(one.setup, one.grade, outcome, values, taken, found)
        return None if left is None else np.asarray(left, dtype=float) / MICRON

    def removal(self, one: Run) -> Array:
        """The depth (um) that a set-up takes in each shop over the whole step.

        A strip is worked by another law than a face; its plan is scaled by how much faster this cuts.
        """
        step = self._step
        planned = float(step.candidate.effect.depth(step.feed)) * step.passes
        planned *= 1.0 if step.local else 1.0 / (1.0 - step.candidate.setup.overlap)
        taken = one.passes * effect(one.setup, self.values(one)).depth(one.setup.feed) * one.lapped
        return np.asarray(step.removal * taken / planned, dtype=float) / MICRON

    def learn(self, modelled: Array, measured: float, noise: float) -> None:
        """Weigh the shops by a reading, whose logarithm has a standard deviation `noise`.

        A reading that is a slip (of the unit, of the gauge) tells nothing: beyond four deviations it counts
        against a shop no more. Where hardly any shop explains the readings, all of them count less, until
        the shops that are left still disagree as real ones would.
        """
        off = np.minimum(np.abs(np.log(measured / np.maximum(modelled, 1e-9))) / noise, SLIP)
        self._misfit = self._misfit + 0.5 * off**2
        self.weights = _weights(self._misfit)

    def outlook(self, modelled: Array) -> tuple[float, float]:
        """What the weighed shops expect: the median of a log-normal through them, and its spread."""
        logs = np.log(np.maximum(modelled, 1e-9))
        middle = float(self.weights @ logs)
        return math.exp(middle), math.sqrt(max(float(self.weights @ (logs - middle) ** 2), 0.0))

    def _left(
        self,
        setup: Setup,
        grade: Grade | None,
        outcome: Effect,
        values: Values,
        taken: Real,
        found: Surface,
    ) -> Real | None:
        """The roughness (m) after a step: its own, and what it has not yet taken of the one before."""
        if outcome.floor_ra is None:
            return None
        ra, rt = found
        own: Any = outcome.floor_ra
        if grade is not None and setup.media.abrasive == "coated":
            planned = self._step.candidate.grade
            reference = planned.um if planned and not planned.equivalent else WHERE_C_HOLDS
            own = own * np.power(grade.um / reference, self._exponent)
        if setup.media.blends:
            decay = roughness.decay_depth(rt, values["decay_kappa"])
            return roughness.ra_after(taken, ra, own, decay)
        need = roughness.stock_to_erase(
            rt, whole_valley(own, values), values["erase_multiple"], 0.0, values["own_share"]
        )
        left: Real = own + positive_part(ra - own) * positive_part(1.0 - taken / need)
        return left

    def found(self, path: Sequence[PlannedStep], until_clean: bool = False) -> Surface:
        """What the steps before leave in each shop: the roughness and its height (m).

        `until_clean` says that the last of them goes on until the scratch it found is gone.
        """
        ra: Real = path[0].before.ra
        rt: Real = path[0].before.rt
        for row, each in enumerate(path):
            candidate = each.candidate
            values = self.values(each)
            outcome = effect(candidate.setup, values)
            lapped = 1.0 if each.local else 1.0 / (1.0 - candidate.setup.overlap)
            taken = each.passes * outcome.depth(each.feed) * lapped
            if until_clean and row == len(path) - 1:
                taken = taken + positive_part(rt - taken)
            left = self._left(candidate.setup, candidate.grade, outcome, values, taken, (ra, rt))
            if left is None:
                continue
            valley = whole_valley(left, values)
            beside = each.local and each.after.remaining == 0.0  # the face beside a strip is as it was
            ra, rt = (rougher(left, ra), rougher(valley, rt)) if beside else (left, valley)
        return ra, rt

    def measured(self, ra_um: float, step: PlannedStep) -> Surface:
        """A surface whose roughness was measured: the same in every shop but for its height."""
        ra = ra_um * MICRON
        return ra, whole_valley(ra, self.values(step))


def _weights(misfit: Array) -> Array:
    """The weights that a misfit leaves, at the highest power (at most 1) that keeps enough shops."""
    low, high = 0.0, 1.0
    weights = _softmax(-misfit)
    if _shops(weights) >= FEWEST_SHOPS:
        return weights
    for _ in range(30):
        power = 0.5 * (low + high)
        weights = _softmax(-power * misfit)
        low, high = (power, high) if _shops(weights) >= FEWEST_SHOPS else (low, power)
    return _softmax(-low * misfit)


def _softmax(logs: Array) -> Array:
    weights = np.exp(logs - logs.max())
    return np.asarray(weights / weights.sum())


def _shops(weights: Array) -> float:
    """How many equally likely shops would be as sure as these."""
    return float(1.0 / (weights @ weights))


def _wider(picked: Mapping[str, Coefficient]) -> dict[str, Coefficient]:
    """The same coefficients with wider bands."""
    return {symbol: row.model_copy(update={"band": _wide(row.band)}) for symbol, row in picked.items()}


def _wide(band: Band) -> Band:
    return Band(
        low=band.expected * (band.low / band.expected) ** WIDER,
        expected=band.expected,
        high=band.expected * (band.high / band.expected) ** WIDER,
    )
