"""What a trial missed: a roughness outside the band, a depth that was not enough or too much, a symptom."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Literal

from advisor.trials.advice import Miss
from advisor.trials.case import ENOUGH, Case
from advisor.trials.chance import chance_within
from advisor.trials.run import Run
from advisor.units import show

#: A step before the last is only too rough; it may leave this many spreads of the model above its plan.
_SPREADS = 1.6448536269514722
#: A reading inside the band is believed where the face is inside at least this likely. Own estimate.
SURE_ENOUGH = 0.85
#: More than this share of the depth that had to go is too much. Own estimate.
_TOO_MUCH = 1.6
#: Symptoms that are a miss of a number in words.
NUMBER_OF: Mapping[str, Literal["roughness", "removal"]] = {
    "too-rough": "roughness",
    "too-smooth": "roughness",
    "slow-cut": "removal",
}


def misses(case: Case, base: Run | None) -> Iterator[Miss]:
    """Everything that was missed; symptoms that do harm first."""
    yield from _symptoms(case)
    if base is not None:
        slipped = {what for what, _, _ in case.slips(base)}  # nothing is moved for a reading that is a slip
        yield from () if "roughness" in slipped else _roughness(case, base)
        yield from () if "removal" in slipped else _removal(case, base)


def _symptoms(case: Case) -> Iterator[Miss]:
    rows = case.desk.knowledge.tables.symptoms
    for key in sorted(case.trial.symptoms, key=lambda each: rows[each].order):
        yield Miss(what="symptom", text=f"{rows[key].name}: {rows[key].looks_like}", symptom=key)


def _roughness(case: Case, base: Run) -> Iterator[Miss]:
    measured = case.trial.measured.ra_um
    if measured is None:
        return
    low, high = ra_window(case, base)
    if high is None:
        return
    if low <= measured <= high:
        yield from _near_the_end(case, base, measured, low, high)
        return
    side = "above" if measured > high else "below"
    if low > 0:
        asked = f"the finish asks for {show(low, 'um')} to {show(high, 'um')}"
    else:
        asked = f"at most {show(high, 'um')} is wanted here"
    text = f"Ra {show(measured, 'um')} lies {side} what is wanted: {asked}."
    yield Miss(what="roughness", text=text, value=measured, low=low, high=high)


def _near_the_end(case: Case, base: Run, measured: float, low: float, high: float) -> Iterator[Miss]:
    """A reading inside the finish, where all tries together say that the face may well be outside."""
    expected = case.expected_ra(base)
    if not case.bench.last or expected is None:
        return
    chance = chance_within(low, high, *expected)
    if chance < SURE_ENOUGH:
        text = (
            f"Ra {show(measured, 'um')} reads inside {show(low, 'um')} to {show(high, 'um')}, but near an end: "
            f"with the error of a reading, the face itself is inside in about {round(chance * 10)} of 10 such cases."
        )
        yield Miss(what="roughness", text=text, value=measured, low=low, high=high)


def ra_window(case: Case, base: Run) -> tuple[float, float | None]:
    """The roughness (um) that the step may leave: the band of the finish, or the most that the plan can follow."""
    if case.bench.last:
        target = case.trial.face.finish
        return target.ra_low_um, target.ra_high_um
    expected = case.expected_ra(base)
    if expected is None:
        return 0.0, None
    return 0.0, case.bench.step.after.ra * 1e6 * math.exp(_SPREADS * max(expected[1], 0.2))


def _removal(case: Case, base: Run) -> Iterator[Miss]:
    measured, need = case.trial.measured.removal_um, case.need_um(base)
    if measured is None or need is None or need <= 0:
        return
    stock = case.trial.face.max_stock_mm
    most = min(_TOO_MUCH * need, stock * 1e3 if stock else math.inf)
    if measured < ENOUGH * need:
        text = f"{show(measured, 'um')} came off; {show(need, 'um')} had to go in this step."
        yield Miss(what="removal", text=text, value=measured, low=ENOUGH * need, high=max(most, 1.2 * need))
    elif measured > most and case.step.kind == "clear":
        text = f"{show(measured, 'um')} came off; {show(need, 'um')} was enough in this step."
        yield Miss(what="removal", text=text, value=measured, low=ENOUGH * need, high=most)
