"""Whether a process wandered off while trials came in: a CUSUM over the order of the log."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from advisor.figures.learned import Taught
from advisor.learning.calibrate import Fit
from advisor.learning.contradictions import NAMES
from advisor.learning.posterior import Numbers

#: Slack and limit in standard deviations: a shift of one is found after about ten readings, and a sound
#: process is accused about once in 900. Source: Page 1954, from memory.
SLACK = 0.5
LIMIT = 5.0


@dataclass(frozen=True, slots=True)
class Drift:
    """The two sums of one cell's readings, in the order of the log; `since` is where an alarm's shift began."""

    coefficient: Taught
    cell: str
    trials: tuple[str, ...]
    above: Numbers
    below: Numbers
    alarm: int | None
    since: int | None

    def sentence(self) -> str | None:
        """What happened, in plain words; None where nothing did."""
        if self.alarm is None or self.since is None:
            return None
        more = self.above[self.alarm] > self.below[self.alarm]
        title = NAMES[self.coefficient][0]
        first, noticed = self.trials[self.since], self.trials[self.alarm]
        return (
            f"{title[0].upper()}{title[1:]} in {self.cell or 'the cell'}: readings run {'above' if more else 'below'} "
            f"the model from trial {first} on (noticed at {noticed}). Check what changed then: lot and age of the "
            "media, wheel, force setting, gauge."
        )


def cusum(scores: Sequence[float] | Numbers) -> tuple[Numbers, Numbers]:
    """The upper and lower sums of standardised readings: what exceeds the slack is added, down to zero.

    >>> [part.tolist() for part in cusum([1.5, 1.5, -1.0])]
    [[1.0, 2.0, 0.5], [0.0, 0.0, 0.5]]
    """
    above, below = np.zeros(len(scores)), np.zeros(len(scores))
    up = down = 0.0
    for place, score in enumerate(scores):
        up = max(0.0, up + score - SLACK)
        down = max(0.0, down - score - SLACK)
        above[place], below[place] = up, down
    return above, below


def drifts(found: Fit) -> tuple[Drift, ...]:
    """One CUSUM a cell. A single wild reading is cut to three deviations: it is no drift."""
    cells = sorted({item.scope.get("cell", "") for item in found.readings})
    return tuple(_of_cell(found, cell) for cell in cells)


def _of_cell(found: Fit, cell: str) -> Drift:
    rows = [row for row, item in enumerate(found.readings) if item.scope.get("cell", "") == cell]
    rows.sort(key=lambda row: found.readings[row].when)
    scores = np.clip((found.ratios[rows] - found.expected[rows]) / found.belief.noise, -3.0, 3.0)
    above, below = cusum(scores)
    over = np.maximum(above, below) > LIMIT
    alarm = int(over.argmax()) if over.any() else None
    since = None
    if alarm is not None:
        side = above if above[alarm] >= below[alarm] else below
        zeros = np.flatnonzero(side[:alarm] == 0.0)
        since = int(zeros[-1]) + 1 if len(zeros) else 0
    ids = tuple(found.readings[row].trial for row in rows)
    return Drift(found.coefficient, cell, ids, above, below, alarm, since)
