"""Trials that the calibrated model cannot believe, and what to check first before believing them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from advisor.figures.learned import Taught
from advisor.learning.calibrate import Fit
from advisor.learning.readings import Reading
from advisor.learning.student import two_sided
from advisor.units import figure

#: Less likely than this under all other trials, a reading contradicts the model (asked to be repeated).
#: In a long log chance alone makes unlikely readings: there, at most every second log accuses a sound one.
CONTRADICTS = 0.01
_IN_A_LONG_LOG = 0.5
#: Slips that turn a reading into another by a known factor, and how near to it counts.
_SLIPS: Mapping[str, tuple[float, ...]] = {
    "the unit: mm, um and inches are easily mixed": (
        25.4,
        1 / 25.4,
        1000.0,
        1e-3,
        39.37,
        1 / 39.37,
        10.0,
        0.1,
    ),
    "whether the depth was read on both sides, or on the diameter": (2.0, 0.5),
}
_NEAR = math.log(1.25)
NAMES: Mapping[Taught, tuple[str, str]] = {
    "removal": ("depth taken off", "um"),
    "roughness-floor": ("roughness Ra of the media", "um"),
    "wear": ("parts on one media", ""),
}


@dataclass(frozen=True, slots=True)
class Contradiction:
    """A reading against the model: `chance` of one at least so far off, and what to check, first things first."""

    reading: Reading
    expected: float
    chance: float
    counted: float
    check: tuple[str, ...]

    def sentence(self) -> str:
        """The contradiction in plain words."""
        title, unit = NAMES[self.reading.coefficient]
        shown = f"{figure(self.reading.measured)} {unit}".rstrip()
        against = f"{figure(self.expected)} {unit}".rstrip()
        share = "less than 1 in 10,000" if self.chance < 1e-4 else f"about 1 in {1 / self.chance:,.0f}"
        return (
            f"{self.reading.trial}: {title} {shown}, where the other trials say {against} "
            f"(a chance of {share}). Check first: {'; then '.join(self.check)}."
        )


def contradictions(found: Fit) -> tuple[Contradiction, ...]:
    """Every reading of a fit that the others contradict, in the order of the log."""
    if len(found.readings) < 3:  # with nothing beside it a reading contradicts the published figure at most
        return ()
    rows = (abs(found.surprise.t) > 2.5).nonzero()[0]
    chances = {
        int(row): two_sided(float(found.surprise.t[row]), float(found.surprise.freedom[row])) for row in rows
    }
    return tuple(
        Contradiction(
            reading := found.readings[row],
            reading.predicted * math.exp(float(found.expected[row])),
            chance,
            float(found.counted[row]),
            tuple(_checks(reading, float(found.ratios[row] - found.expected[row]), found.readings)),
        )
        for row, chance in chances.items()
        if chance < min(CONTRADICTS, _IN_A_LONG_LOG / len(found.readings))
    )


def _near(off: float, factor: float) -> bool:
    """Whether a miss is about a known factor; the larger the factor, the less else it can be."""
    return abs(off - math.log(factor)) < max(_NEAR, 0.13 * abs(math.log(factor)))


def _checks(reading: Reading, off: float, all_: Sequence[Reading]) -> Iterator[str]:
    """What explains such a miss most often, likeliest first."""
    slip = None
    for words, factors in _SLIPS.items():
        if slip is None and any(_near(off, factor) for factor in factors):
            slip = words
            if reading.coefficient != "wear" and not (
                reading.coefficient == "roughness-floor" and words.startswith("whether")
            ):
                yield words
    if reading.coefficient == "removal" and off < 0 and not reading.age_known:
        yield "the age of the media, which was not written down: a worn belt cuts a third"
    if reading.coefficient == "roughness-floor":
        yield "the scale of the grade (a US grade of the same number is finer than a P grade)"
        yield "cut-off and direction of the roughness tester"
        if off < 0 and not reading.age_known:
            yield "the age of the media: a worn belt leaves a smoother face"
    if reading.coefficient == "removal":
        yield "the scale of the grade, and that it is the belt that was meant"
    yield "repeat the trial once; two that agree are believed"
