"""Trials of demo jobs whose outcome is the sheet's own prediction times a known truth and noise."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from advisor.job.model import Job
from advisor.job.read import parse_job
from advisor.job.write import to_json
from advisor.knowledge.base import Knowledge
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.locate import demo_jobs
from advisor.knowledge.strict_yaml import read_file
from advisor.learning.bench import Bench
from advisor.pipeline import Desk, recommend
from advisor.sheet.model import Feature, Sheet, Step
from advisor.trials.model import Trial
from advisor.trials.read import TrialReader

Place = tuple[Job, Feature, Step]


@cache
def knowledge() -> Knowledge:
    """The packaged knowledge, read once."""
    return load_knowledge()


@cache
def desk() -> Desk:
    """One desk for all tests: nothing that a test does changes what it answers."""
    return Desk(knowledge(), "plain")


@cache
def reader() -> TrialReader:
    """One reader, so that a job that many trials share is one job."""
    return TrialReader(knowledge())


@cache
def bench() -> Bench:
    """One bench, so that each job is planned once."""
    return Bench(desk())


@cache
def sheets() -> tuple[tuple[Job, Sheet], ...]:
    """The demo jobs with their sheets."""
    paths = sorted(demo_jobs().glob("*.yaml"))
    jobs = [parse_job(read_file(path), knowledge(), str(path)) for path in paths]
    return tuple((job, recommend(job, desk())) for job in jobs)


def places() -> tuple[Place, ...]:
    """Every step of every demo job."""
    return tuple(
        (job, face, step) for job, sheet in sheets() for face in sheet.features for step in face.steps
    )


def plain_trial(place: Place, **changed: Any) -> dict[str, Any]:
    """A step done as its sheet says, as the content of a trial file; `changed` replaces or adds fields."""
    job, face, step = place
    used = {
        "media": step.media,
        "grain": step.grain,
        "grade": step.grade,
        "backing": step.backing,
        "lubricant": step.lubricant,
        "hardness_shore_a": step.wheel.hardness_shore_a if step.wheel else None,
        "force": f"{step.force_n} N",
        "surface_speed": f"{step.surface_speed_m_s} m/s",
        "feed": f"{step.feed_mm_s} mm/s",
        "passes": step.passes,
    }
    used |= changed.pop("used", {})
    content = {
        "job": to_json(job),
        "feature": face.name,
        "step": step.number,
        "used": {key: value for key, value in used.items() if value is not None},
        "verdict": "pass",
    }
    return {**content, **changed}


def read_trials(contents: Iterator[dict[str, Any]] | list[dict[str, Any]]) -> tuple[Trial, ...]:
    """Contents of trial files as trials t0, t1, ..."""
    return tuple(
        reader().read(content, f"t{number}", Path()).model_copy(update={"id": f"t{number:04d}"})
        for number, content in enumerate(contents)
    )


def shop_trials(
    count: int, removal: float = 1.4, ra: float = 0.8, noise: float = 0.14, seed: int = 0
) -> Iterator[dict[str, Any]]:
    """Trials on the demo jobs of a shop that takes off `removal` times what the sheets say, and so on."""
    draw = np.random.default_rng(seed)
    found = places()
    for number in range(count):
        place = found[draw.integers(len(found))]
        step = place[2]
        assert step.removal_um is not None
        assert step.ra_um is not None
        off = removal * step.removal_um.expected * math.exp(draw.normal(0, noise))
        rough = ra * step.ra_um.expected * math.exp(draw.normal(0, noise))
        yield plain_trial(
            place,
            measured={"removal": f"{off:.5g} um", "ra": f"{rough:.5g} um"},
            date=f"2026-{1 + number // 28 % 12:02d}-{1 + number % 28:02d}",
            note=f"number {number}",
        )
