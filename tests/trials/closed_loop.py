"""Follows `trial next` in simulated shops and counts how often the finish is met.

As a program it runs the whole experiment: `python -m tests.trials.closed_loop [JOBS] [SEED]`.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from advisor.job.read import parse_job
from advisor.knowledge.load import load_knowledge
from advisor.pipeline import Desk, recommend
from advisor.sheet.model import Step
from advisor.trials.bench import plans_of
from advisor.trials.log import Log
from advisor.trials.model import Trial
from advisor.trials.next_try import next_try
from advisor.trials.read import parse_trial
from tests.trials.shop import Set, Shop, Truth, generated_job

TRIES = 3


@dataclass(frozen=True)
class Story:
    """How one job went: whether the face of the first try was inside the band, and that of the last."""

    job: dict[str, Any]
    truth: Truth
    first: bool
    last: bool
    tries: tuple[str, ...]


def stories(jobs: int, seed: int, desk: Desk) -> Iterator[Story]:
    """So many jobs that get a process, each in a shop of its own."""
    dice, told = random.Random(seed), 0
    while told < jobs:
        story = followed(generated_job(dice), desk, dice)
        if story is not None:
            told += 1
            yield story


def followed(data: dict[str, Any], desk: Desk, dice: random.Random) -> Story | None:
    """One job worked as the sheet says, and then as `trial next` says; None where there is no process.

    The shop sees readings only. It stops when the reading is inside and the advisor has nothing to change;
    what counts is the true roughness of the face that it then has.
    """
    job = parse_job(data, desk.knowledge)
    sheet, plan = recommend(job, desk).features[0], plans_of(job, desk)[0]
    if not sheet.steps:
        return None
    setups = [step.candidate.setup for step in plan.path]
    chain = [
        Set.of(step, setup.contact_width * 1e3, setup.overlap)
        for step, setup in zip(sheet.steps, setups, strict=True)
    ]
    face = job.features[0]
    truth = Truth.drawn(dice)
    shop = Shop(job, truth, dice)
    used, incoming = _used(sheet.steps[-1]), {}
    trials: list[Trial] = []
    inside: list[bool] = []
    told: list[str] = []
    for attempt in range(TRIES):
        chain[-1] = _set(chain[-1], used)
        ra, depth = shop.finished(chain, face.start.roughness_um)
        reading = shop.read(ra)
        inside.append(face.finish.ra_low_um <= ra <= face.finish.ra_high_um)
        read_inside = face.finish.ra_low_um <= reading <= face.finish.ra_high_um
        told.append(f"{used['media']} {used.get('grade')} {used['passes']}x: Ra {ra:.3f}, read {reading:.3f}")
        trial = parse_trial(
            {
                "job": data,
                "step": len(chain),
                "used": used,
                "incoming": incoming,
                "measured": {"ra": f"{reading} um", "removal": f"{shop.read(depth)} um"},
                "verdict": "pass" if read_inside else "fail",
                "date": f"2026-05-{attempt + 1:02d}",
            },
            desk.knowledge,
        )
        trials.append(trial.model_copy(update={"id": f"try-{attempt + 1}"}))
        advice = next_try(trials[-1], Log(Path(), tuple(trials)), desk)
        if not advice.moves:
            break
        move = advice.moves[0]
        told.append(move.do)
        used = {**used, **move.settings}
        if move.before:
            incoming = dict(move.before)
            chain[-2] = replace(chain[-2], grade=move.before["grade"], until_clean=True)
    return Story(data, truth, inside[0], inside[-1], tuple(told))


def _used(step: Step) -> dict[str, Any]:
    """The step of the sheet as the `used` of a trial."""
    wheel = step.wheel
    used = {
        "media": step.media,
        "grain": step.grain,
        "grade": step.grade,
        "backing": step.backing,
        "hardness_shore_a": wheel.hardness_shore_a if wheel else None,
        "wheel_width": f"{wheel.width_mm} mm" if wheel and wheel.width_mm else None,
        "force": f"{step.force_n} N",
        "surface_speed": f"{step.surface_speed_m_s} m/s",
        "feed": f"{step.feed_mm_s} mm/s",
        "passes": step.passes,
    }
    return {key: value for key, value in used.items() if value is not None}


def _set(before: Set, used: dict[str, Any]) -> Set:
    """What a person sets after reading the advice."""
    return replace(
        before,
        media=used["media"],
        grade=used.get("grade"),
        hardness=used.get("hardness_shore_a"),
        force_n=_number(used["force"]),
        speed=_number(used["surface_speed"]),
        feed=_number(used["feed"]),
        passes=int(used["passes"]),
    )


def _number(text: str) -> float:
    return float(text.split()[0])


def main() -> None:
    """Run the experiment and print its two figures."""
    jobs, seed = (int(text) for text in (*sys.argv[1:], "200", "1")[:2])
    desk = Desk(load_knowledge())
    met = list(stories(jobs, seed, desk))
    desk.close()
    print(
        f"{jobs} jobs, seed {seed}; true coefficients up to 2 times from the published, readings off by up to 20 %"
    )
    print(f"inside the band on the untaught first sheet: {sum(story.first for story in met) / jobs:.1%}")
    print(f"inside the band after at most {TRIES} tries:      {sum(story.last for story in met) / jobs:.1%}")
    for story in met:
        if not story.last:
            print(story.job["alloy"], story.job["finish"]["ra"], story.truth, *story.tries, sep="\n    ")


if __name__ == "__main__":
    main()
