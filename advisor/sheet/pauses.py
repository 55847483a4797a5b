"""Where a part held for several faces in a row grows too warm as a whole, and how long it cools between them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from advisor.figures.warming import Warming, warming
from advisor.process import heat
from advisor.reasons import Trail
from advisor.sequence.joint import Visit
from advisor.sequence.plan import FeaturePlan
from advisor.sequence.surface import PlannedStep
from advisor.sheet import model
from advisor.sheet.explain import Explainer
from advisor.sheet.inputs import StepInputs, given
from advisor.units import figure

#: As for one step: the part as a whole and the skin together stay below this share of the limit.
HELD_SHARE = 0.5
#: A part is called cool again at this share of the limit; to room it would never come.
COOL_SHARE = 0.1
#: A pause that cools a part by less than this (K) is not worth while.
LEAST_RISE = 5.0


@dataclass(frozen=True, slots=True)
class _Held:
    """One step of a hold: its own heat, what it warms the part as a whole by (K), and how fast that cools (s)."""

    name: str
    plan: FeaturePlan
    step: PlannedStep
    warm: Warming
    whole: float
    sides: float
    cooling: float


def pauses(
    set_ups: Sequence[Visit], plans: Sequence[FeaturePlan], explain: Explainer, trail: Trail
) -> tuple[tuple[model.Pause, ...], ...]:
    """The pauses of each set-up, in which a part is worked on without being put down.

    One hold goes through the set-ups in machine order until a station comes up again, whose media must be
    changed for the whole batch before; a new hold begins with a cool part. Nothing where the mass of the
    part is not known. While it is worked the part gives off to the air alone, which is the safe side.
    """
    found: list[tuple[model.Pause, ...]] = []
    stations: set[str] = set()
    gained = 0.0
    for visit in set_ups:
        station = visit.step.candidate.tool.station.name
        if station in stations:
            stations, gained = set(), 0.0
        stations.add(station)
        needed = []
        for row, number in visit.serves:
            held = _held(plans[row], number)
            if held is None:
                continue
            own = float(held.warm.rise)
            allowed = _allowed(held, own)
            if gained + own > HELD_SHARE * held.warm.limit and gained - allowed >= LEAST_RISE:
                needed.append(_pause(held, gained, allowed, explain, trail))
                gained = allowed
            gained = gained * math.exp(-held.step.time / held.cooling) + held.whole
        found.append(tuple(needed))
    return tuple(found)


def _held(plan: FeaturePlan, number: int) -> _Held | None:
    step, alloy = plan.path[number], plan.desk.alloy
    candidate, face = step.candidate, step.candidate.setup.face
    values = plan.desk.expected(candidate.tool.media, candidate.grain, candidate.grade)
    warm = warming(candidate.setup, candidate.effect, values, step.feed, step.cutting)
    if warm is None or face.mass is None:
        return None
    rate = heat.heating_rate(float(warm.power_in), face.mass, alloy.specific_heat)
    # Both sides of the wall where it is known; else only the face itself, which cools slower than the part.
    sides = 2.0 * face.mass / (alloy.density * 1e3 * face.wall) if face.wall else face.area
    cooling = heat.cooling_time(face.mass, alloy.specific_heat, float(values["air_film"]), sides)
    name = f"{plan.feature.name}/{number + 1}"
    return _Held(name, plan, step, warm, float(rate) * step.cutting, sides, float(cooling))


def _allowed(held: _Held, own: float) -> float:
    """What the part may still have (K) when a face is begun."""
    return max(HELD_SHARE * held.warm.limit - own, COOL_SHARE * held.warm.limit)


def _pause(held: _Held, gained: float, left: float, explain: Explainer, trail: Trail) -> model.Pause:
    seconds = held.cooling * math.log(gained / left)
    text = (
        f"By then the part as a whole is about {figure(gained, 2)} K warmer: put it down and work another, about "
        f"{figure(seconds, 2)} s in the air, before {held.name}."
    )
    reason = explain.derived(
        "The heat of all that is worked in one hold adds up in the part; in the air it falls again.",
        "hold_pause",
        {
            "warmer by what was worked before": given(gained, "K"),
            "may still be warmer by": given(left, "K"),
            "mass": given(held.step.candidate.setup.face.mass or 0.0, "kg"),
            "specific heat": given(held.plan.desk.alloy.specific_heat, "J/(kg K)"),
            "air film": StepInputs(held.plan, held.step).coefficient("air_film"),
            "surface in the air": given(held.sides * 1e4, "cm2"),
        },
        given(seconds, "s"),
        ("from-memory", "own-estimate"),
    )
    return model.Pause(
        before=held.name, seconds=seconds, rise_k=gained, text=text, reasons=trail.refer(reason)
    )
