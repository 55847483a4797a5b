"""Calibrates the coefficients on a log: one fit a coefficient, and a factor with its band for every scope."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from advisor.figures.learned import TAUGHT, Learned, LearnedFactor, Taught
from advisor.knowledge.reference import Band
from advisor.learning.effects import (
    AGE_COLUMN,
    ALL,
    PARTS,
    WHEEL_COLUMN,
    Column,
    Layout,
    columns_of,
    design,
    layout_of,
    prior,
)
from advisor.learning.posterior import Belief, Numbers, Surprise, surprises
from advisor.learning.readings import Reading, Readings
from advisor.learning.robust import robust_update
from advisor.units import round_sig

#: Scopes that get a line of their own, widest first, by the names they hold.
SCOPES: tuple[tuple[str, ...], ...] = (
    (), ("family",), ("alloy",), ("media",), ("grain",), ("grades",), ("cell",), ("alloy", "media"),
    ("alloy", "media", "grain", "grades", "cell"),
)  # fmt: skip
#: What the next wider scope of each is made of: the parts that would speak without it.
_WIDER: Mapping[tuple[str, ...], frozenset[str]] = {
    (): frozenset(),
    ("alloy",): frozenset({"all", "family"}),
    ("alloy", "media"): frozenset({"all", "family", "alloy", "media"}),
    SCOPES[-1]: frozenset(PARTS) - {"combination"},
}
NEWEST = 6
#: Factors are kept as a sheet writes them, so that a stored sheet can be made again from what it says.
DIGITS = 6


@dataclass(frozen=True)
class Fit:
    """One coefficient calibrated: its readings, how much each counted, and what is believed now."""

    coefficient: Taught
    readings: tuple[Reading, ...]
    layout: Layout
    design: Numbers
    ratios: Numbers
    counted: Numbers
    belief: Belief
    surprise: Surprise

    @property
    def expected(self) -> Numbers:
        """What the calibrated model expects of each reading, as a logarithm of measured over predicted."""
        return self.design @ self.belief.mean


def fit(coefficient: Taught, readings: Sequence[Reading]) -> Fit:
    """The calibration of one coefficient; the order of the readings makes no difference."""
    layout = layout_of(readings)
    x = design(layout, readings)
    y = np.array([item.log_ratio for item in readings])
    after, counted = robust_update(prior(layout, coefficient), x, y)
    surprise = surprises(after, x, y, counted)
    return Fit(coefficient, tuple(readings), layout, x, y, counted, after, surprise)


def calibrate(readings: Readings) -> tuple[Fit, ...]:
    """A fit for every coefficient that something was measured of."""
    return tuple(fit(name, found) for name in TAUGHT if (found := readings.of(name)))


def learned(fits: Sequence[Fit], fingerprint: str) -> Learned:
    """The factors of every scope that was tried, on top of the knowledge with this fingerprint."""
    trials = {item.trial for each in fits for item in each.readings}
    factors = tuple(factor for each in fits for factor in factors_of(each))
    return Learned(knowledge=fingerprint, trials=len(trials), factors=factors)


def factors_of(found: Fit, scopes: Sequence[tuple[str, ...]] = SCOPES) -> Iterator[LearnedFactor]:
    """A factor for each scope, widest first."""
    plain = _fresh(found)
    alike: dict[tuple[tuple[str, str], ...], list[int]] = {}  # many readings share a scope: look at each once
    for row, item in enumerate(found.readings):
        alike.setdefault(tuple(item.scope.items()), []).append(row)
    for names in scopes:
        rows: dict[tuple[str, ...], list[int]] = {}
        for pairs, places in alike.items():
            scope = dict(pairs)
            if all(name in scope for name in names if name not in ("grain", "grades", "cell")) and (
                len(names) != 1 or names[0] in scope
            ):
                rows.setdefault(tuple(scope.get(name, "") for name in names), []).extend(places)
        for values in sorted(rows):
            scope = {name: value for name, value in zip(names, values, strict=True) if value}
            yield _factor(found, names, scope, np.array(sorted(rows[values])), plain)


def factor_over(found: Fit, rows: Sequence[int]) -> tuple[float, float, float]:
    """Low, middle and high (95 %) of the factor that some readings showed together."""
    low, middle, high = found.belief.band(_mix(found, np.array(rows), _fresh(found)))
    return math.exp(low), math.exp(middle), math.exp(high)


def _fresh(found: Fit) -> Numbers:
    """The design as if all had been done on fresh media and the cell's own wheel."""
    plain = found.design.copy()
    place = found.layout.place()
    plain[:, [place[AGE_COLUMN], place[WHEEL_COLUMN]]] = 0.0
    return plain


def _mix(found: Fit, rows: Numbers, plain: Numbers) -> Numbers:
    """The parts that some readings are made of, on the average, doubtful ones counting less."""
    kept = np.maximum(found.counted[rows], 1e-9)
    return np.asarray(kept @ plain[rows] / kept.sum())


def _factor(
    found: Fit, names: tuple[str, ...], scope: dict[str, str], rows: Numbers, plain: Numbers
) -> LearnedFactor:
    mix = _mix(found, rows, plain)
    low, middle, high = (math.exp(edge) for edge in found.belief.band(mix))
    wider = _WIDER.get(names, frozenset({"all"}))
    keep = np.array([column[0] in wider for column in found.layout.columns])
    before = math.exp(float((mix * keep) @ found.belief.mean))
    readings = [found.readings[row] for row in rows]
    newest = sorted(readings, key=lambda item: item.when)[-NEWEST:]
    return LearnedFactor(
        coefficient=found.coefficient,
        scope=scope,
        trials=len({item.trial for item in readings}),
        factor=round_sig(middle, DIGITS),
        low=round_sig(low, DIGITS),
        high=round_sig(high, DIGITS),
        prior_factor=round_sig(before, DIGITS),
        next=_next(found, names, readings[0].scope),
        tried={
            name: (round_sig(min(values), DIGITS), round_sig(max(values), DIGITS))
            for name in readings[0].settings
            if (values := [item.settings[name] for item in readings if name in item.settings])
        },
        latest=tuple(item.trial for item in newest),
    )


def _next(found: Fit, names: tuple[str, ...], scope: Mapping[str, str]) -> Band:
    """The next part in a scope, of which only the named parts are known; the others may be anything."""
    known: set[Column] = {ALL}
    whole = len(names) == len(SCOPES[-1])
    for column in columns_of(scope):
        if column[0] in names or whole or (column[0] == "family" and "alloy" in names):
            known.add(column)
    place = found.layout.place()
    direction = np.zeros(len(place))
    direction[[place[column] for column in known]] = 1.0
    more = sum(PARTS[column[0]] for column in columns_of(scope) if column not in known)
    low, middle, high = (math.exp(edge) for edge in found.belief.next(direction, 0.90, more))
    return Band(low=round_sig(low, DIGITS), expected=round_sig(middle, DIGITS), high=round_sig(high, DIGITS))
