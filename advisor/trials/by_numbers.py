"""Changes that the model advises where a reading was missed: which setting, and by how much."""

from __future__ import annotations

import math
from collections.abc import Iterator

from advisor.knowledge.vocabulary import Value
from advisor.trials.advice import Miss, Move, Refused
from advisor.trials.case import Case
from advisor.trials.run import Barred, Run
from advisor.trials.settings import GRADES_ASIDE, choices_of
from advisor.trials.weigh import Ranked, Weighed, as_move, band_of, chance_of, weigh
from advisor.units import show

#: Settings that move each reading, the gentlest to change first.
MOVED_BY = {
    "roughness": ("force", "feed", "passes", "wheel_hardness", "grade"),
    "removal": ("force", "feed", "passes", "surface_speed", "wheel_hardness", "grade"),
}
#: A second reading is advised where what ran is this likely inside after all.
WORTH_READING = 0.5
#: A band that is open below is aimed at as if its lower end were this much below its upper end.
OPEN_BAND = 1.8


def by_numbers(case: Case, base: Run, miss: Miss) -> Iterator[Ranked | Refused]:
    """For each setting its best value, where that is better than what ran.

    Chances within a twentieth are equal; then the gentler change comes first.
    """
    now = chance_of(miss, case, case.expected_ra(base), case.expected_removal(base)) or 0.0
    off_now = _off(miss, case.expected_ra(base) if miss.what == "roughness" else case.expected_removal(base))
    best_chance = 0.0
    # Once the old lines are gone, more passes leave the roughness of the grade.
    settled = not base.tool.media.blends and case.expected_removal(base)[0] >= (case.need_um(base) or 0.0)
    for row, decision in enumerate(MOVED_BY[miss.what]):
        if decision in ("passes", "feed") and miss.what == "roughness" and settled:
            continue
        best, refused = _best(case, base, decision, miss)
        if best is not None and (
            (best.chance or 0.0) > now * 1.05 or _off(miss, _reading(miss, best)) < off_now * 0.95
        ):
            move = as_move(case, base, best, miss.what, _why(case, best, miss), None, "own-estimate")
            best_chance = max(best_chance, move.chance or 0.0)
            yield Ranked(place_of(case, move, row), move, best)
        elif best is None and refused is not None:
            yield refused
    if miss.what == "roughness" and base.tool.media.blends:
        found = _step_before(case, base, miss, max(now * 1.05, 0.02))
        if found is not None:
            best_chance = max(best_chance, found.move.chance or 0.0)
            yield found
    if now > best_chance + 0.1 and now >= WORTH_READING:
        move = _measure_again(miss, now)
        yield Ranked(place_of(case, move, -1), move)


def _best(case: Case, base: Run, decision: str, miss: Miss) -> tuple[Weighed | None, Refused | None]:
    """The most promising value of one setting; where none is allowed, why."""
    best: Weighed | None = None
    refused: Refused | None = None
    for value in _values(case, base, decision, miss):
        weighed = weigh(case, base, decision, value, miss)
        if isinstance(weighed, Refused):
            refused = weighed if refused is None or weighed.kind == "forbidden" else refused
        elif best is None or _promise(miss, weighed) > _promise(miss, best):
            best = weighed
    return best, refused


def _step_before(case: Case, base: Run, miss: Miss, better_than: float) -> Ranked | None:
    """Another grade in the step before: what a web or a buff leaves depends on the scratch it finds."""
    before, today = case.bench.before, case.trial.incoming.grade
    if before is None or before.candidate.grade is None:
        return None
    was = case.desk.knowledge.tables.grades[today or before.candidate.grade.key]
    best: tuple[float, str, tuple[float, float]] | None = None
    listed = before.candidate.tool.media.grades
    here = listed.index(was.key) if was.key in listed else 0
    for key in listed[max(0, here - GRADES_ASIDE) : here + GRADES_ASIDE + 1]:
        reading = case.expected_ra(base, key) if key != was.key else None
        chance = None if reading is None else chance_of(miss, case, reading, case.expected_removal(base))
        usable = chance is not None and not isinstance(case.before_with(key), Barred)
        if usable and reading is not None and chance is not None and (best is None or chance > best[0]):
            best = (chance, key, reading)
    if best is None or best[0] <= better_than:
        return None
    chance, key, reading = best
    finer = case.desk.knowledge.tables.grades[key].um < was.um
    move = Move(
        against=miss.what,
        decision="accepts",
        do=f"Go {'finer' if finer else 'coarser'} in the step before: {key} instead of {was.key}",
        now=was.key,
        to=key,
        before={"grade": key},
        with_it=("work the step before until the scratch it finds is gone",),
        why=f"What this media leaves depends on the scratch it finds; Ra {show(reading[0], 'um')} is expected then.",
        source="own-estimate",
        ra_um=band_of(reading),
        chance=round(chance, 3),
    )
    return Ranked(place_of(case, move, len(MOVED_BY[miss.what])), move)


def _values(case: Case, base: Run, decision: str, miss: Miss) -> tuple[Value, ...]:
    """What is looked at; a grade is moved by one place only where it is about how fast it cuts."""
    values = choices_of(case, decision, base)
    if decision != "grade" or miss.what == "roughness" or base.grade is None:
        return values
    listed = base.tool.media.grades
    here = listed.index(base.grade.key)
    return tuple(value for value in values if abs(listed.index(str(value)) - here) == 1)


def _promise(miss: Miss, weighed: Weighed) -> tuple[float, float]:
    """The likelier first; where nothing is likely, the one that comes nearest."""
    return round(weighed.chance or 0.0, 3), -_off(miss, _reading(miss, weighed))


def _reading(miss: Miss, weighed: Weighed) -> tuple[float, float] | None:
    return weighed.ra if miss.what == "roughness" else weighed.removal


def _off(miss: Miss, reading: tuple[float, float] | None) -> float:
    """How far (as a logarithm) a reading lies from the middle of what is wanted."""
    if reading is None or miss.high is None or reading[0] <= 0:
        return math.inf
    low = miss.low or miss.high / OPEN_BAND
    return abs(math.log(reading[0] / math.sqrt(low * miss.high)))


def place_of(case: Case, move: Move, row: int) -> tuple[float, ...]:
    """Where a change that a number asks for stands: behind every sign, by its chance.

    The last step is judged by its roughness. Before that the depth comes first, for the roughness says
    little until the old lines are gone.
    """
    leading = "roughness" if case.bench.last else "removal"
    behind = 0.0 if move.against == leading else 1.0
    return (1.0, 1e3 + behind, round((1.0 - (move.chance or 0.0)) * 20) / 20, float(row), 0.0)


def _measure_again(miss: Miss, chance: float) -> Move:
    """A second reading, where the tries together say that what ran is more likely inside than any change."""
    why = "One reading is off by a tenth or more; all tries together say that this set-up should meet what is asked."
    return Move(
        against=miss.what,
        decision=None,
        do="Change nothing, and measure again in three places before you believe it",
        why=why,
        chance=round(chance, 3),
    )


def _why(case: Case, best: Weighed, miss: Miss) -> str:
    """What the numbers are based on."""
    readings = sum(
        (each.measured.ra_um if miss.what == "roughness" else each.measured.removal_um) is not None
        for each in case.tries
    )
    basis = "the reading of this trial" if readings == 1 else f"the {readings} readings of this step"
    if miss.what == "roughness" and best.ra is not None:
        return f"Corrected by {basis}, the model expects Ra {show(best.ra[0], 'um')} from it."
    return f"Corrected by {basis}, the model expects {show(best.removal[0], 'um')} to come off."
