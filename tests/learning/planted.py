"""Logs with a fault planted in them: a rule that fails for one alloy, a remedy that helps again and again."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from advisor.job.write import to_json
from tests.learning.trials import Place, places, plain_trial

#: Alloys on which the same belt step is tried; the rule asked about fails on the first.
BAD, GOOD = "s31603", ("s30400", "s43000", "g10180")


def belt_step() -> Place:
    """A coated belt over a wheel that refines a face."""
    return next(each for each in places() if each[2].media == "belt" and each[2].stage == "refine")


def on_alloy(place: Place, alloy: str, **changed: Any) -> dict[str, Any]:
    """The step of a place as a trial on another alloy."""
    content = plain_trial(place, **changed)
    return {**content, "job": {**to_json(place[0]), "alloy": alloy, "name": f"bracket in {alloy}"}}


def fails_on_one_alloy(seed: int = 5) -> Iterator[dict[str, Any]]:
    """12 trials on one alloy of which nine in ten fail, 30 on others of which one in ten fails."""
    draw = np.random.default_rng(seed)
    place = belt_step()
    alloys = [BAD] * 12 + [GOOD[number % 3] for number in range(30)]
    for number in draw.permutation(42):
        failed = draw.random() < (0.9 if alloys[number] == BAD else 0.1)
        yield on_alloy(
            place, alloys[number], verdict="fail" if failed else "pass", note=f"number {number}",
            date=f"2026-03-{1 + number % 28:02d}",
        )  # fmt: skip


def helps_again() -> Iterator[dict[str, Any]]:
    """Bands that went away whenever the feed alone was lowered, on three jobs."""
    for number, alloy in enumerate(GOOD):
        for place in range(2):
            base = on_alloy(belt_step(), alloy, date=f"2026-04-{1 + 2 * number:02d}")
            job = {**base["job"], "name": f"part {number} {place}"}
            feed = float(str(base["used"]["feed"]).split()[0])
            yield {**base, "job": job, "verdict": "fail", "symptoms": ["banding"]}
            used = {**base["used"], "feed": f"{feed * 0.7} mm/s"}
            yield {**base, "job": job, "used": used, "date": f"2026-04-{2 + 2 * number:02d}"}
