"""From a log to what it teaches: readings, fits, factors, contradictions and drift, in one go."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from advisor.figures.learned import Learned
from advisor.learning.bench import Bench
from advisor.learning.calibrate import Fit, calibrate, learned
from advisor.learning.contradictions import Contradiction, contradictions
from advisor.learning.drift import Drift, drifts
from advisor.learning.mark import figures_mark
from advisor.learning.readings import Unread, read
from advisor.pipeline import Desk
from advisor.trials.model import Trial


@dataclass(frozen=True)
class Lesson:
    """What a log teaches of the coefficients."""

    learned: Learned
    fits: tuple[Fit, ...]
    contradictions: tuple[Contradiction, ...]
    drifts: tuple[Drift, ...]
    unread: tuple[Unread, ...]


def teach(trials: Iterable[Trial], desk: Desk) -> Lesson:
    """Calibrate on some trials (those that stand: none that was corrected)."""
    found = read(trials, Bench(desk))
    fits = calibrate(found)
    return Lesson(
        learned=learned(fits, figures_mark(desk.knowledge)),
        fits=fits,
        contradictions=tuple(item for each in fits for item in contradictions(each)),
        drifts=tuple(item for each in fits for item in drifts(each)),
        unread=found.unread,
    )
