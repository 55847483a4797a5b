"""The model behind the calibration: what part of a ratio belongs to alloy, media, cell ..., and its prior.

ln(measured / predicted) = all trials + family + alloy + media + grain + grades + cell + this very
combination + slope x age of the media + slope x wheel + noise. Each part is a draw around zero, so that
what few trials show is shrunk toward the wider scope.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from advisor.figures.learned import Taught
from advisor.learning.posterior import Belief, Numbers, belief
from advisor.learning.readings import Reading

#: Shape and scale of the noise's variance. A shape of one half is worth one reading: before anything was
#: measured nobody knows how much the readings of this shop scatter, so what is believed of it may not weigh
#: more than the first of them (the unit-information prior of Kass and Wasserman 1995, from memory). Then a
#: scatter twice the usual is no surprise (1 shop in 4), and bands from few readings stay honest there too: a
#: shape of 2, as a worked case may take, would hold the truth in 78 % of such shops after one reading.
#: The scale puts the median scatter at 10 %; how many parts a belt does scatters twice as much. Own choice.
NOISE: Mapping[Taught, tuple[float, float]] = {
    "removal": (0.5, 0.0023), "roughness-floor": (0.5, 0.0023), "wear": (0.5, 0.0092),
}  # fmt: skip
#: Variance of each part over that of the noise. Together 9: before any trial a factor of 1.5 either way
#: is usual, which is what the published bands say. Own choice of how it is shared out.
PARTS: Mapping[str, float] = {
    "all": 2.0, "family": 1.5, "alloy": 1.0, "media": 1.5, "grain": 0.5, "grades": 1.0, "cell": 1.0,
    "combination": 0.5,
}  # fmt: skip
#: What age does over a media's life: a belt at its end cuts a third of its first rate, between a quarter
#: and a half (coefficient `end-of-life`); it leaves a smoother face too, by how much nobody says. Mean of
#: the slope, and its variance over the noise's.
AGE: Mapping[Taught, tuple[float, float]] = {
    "removal": (-1.05, 2.5), "roughness-floor": (0.0, 4.0), "wear": (0.0, 1e-6),
}  # fmt: skip
#: A wheel of another diameter than the cell's: no direction is known beforehand.
WHEEL = (0.0, 4.0)

Column = tuple[str, str]
AGE_COLUMN: Column = ("age", "")
WHEEL_COLUMN: Column = ("wheel", "")
ALL: Column = ("all", "")


@dataclass(frozen=True, slots=True)
class Layout:
    """The columns of the design: one for every alloy, media ... that was tried, and for every combination."""

    columns: tuple[Column, ...]

    def place(self) -> dict[Column, int]:
        """Where each column stands."""
        return {column: place for place, column in enumerate(self.columns)}


def columns_of(scope: Mapping[str, str]) -> tuple[Column, ...]:
    """The parts that a reading with this scope is made of, without age and wheel.

    >>> columns_of({"family": "brass", "alloy": "c26000"})[:3]
    (('all', ''), ('family', 'brass'), ('alloy', 'c26000'))
    """
    named = tuple((name, scope[name]) for name in PARTS if name in scope)
    return (ALL, *named, ("combination", combination(scope)))


def combination(scope: Mapping[str, str]) -> str:
    """The very combination of alloy, media, grain, grades and cell."""
    return " / ".join(scope.get(name, "-") for name in ("alloy", "media", "grain", "grades", "cell"))


def layout_of(readings: Iterable[Reading]) -> Layout:
    """The columns for some readings, in an order that does not depend on theirs."""
    seen = {column for reading in readings for column in columns_of(reading.scope)}
    order = list(PARTS)
    ranked = sorted(seen, key=lambda column: (order.index(column[0]), column[1]))
    return Layout((*ranked, AGE_COLUMN, WHEEL_COLUMN))


def prior(layout: Layout, coefficient: Taught) -> Belief:
    """What is believed before any trial."""
    special = {AGE_COLUMN: AGE[coefficient], WHEEL_COLUMN: WHEEL}
    pairs = [special.get(column, (0.0, PARTS.get(column[0], 1.0))) for column in layout.columns]
    return belief([mean for mean, _ in pairs], [variance for _, variance in pairs], *NOISE[coefficient])


def design(layout: Layout, readings: Sequence[Reading]) -> Numbers:
    """One row a reading: 1 for each part it is made of, and its age and wheel."""
    place = layout.place()
    x = np.zeros((len(readings), len(layout.columns)))
    places = {
        key: [place[column] for column in columns_of(scope)]
        for key, scope in {tuple(item.scope.items()): item.scope for item in readings}.items()
    }
    for row, item in enumerate(readings):
        x[row, places[tuple(item.scope.items())]] = 1.0
    x[:, place[AGE_COLUMN]] = [item.age for item in readings]
    x[:, place[WHEEL_COLUMN]] = [item.diameter for item in readings]
    return x
