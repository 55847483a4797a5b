"""Invented jobs for the tests that run the whole way on the packaged knowledge, each worked out once."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from advisor.job import Job, parse_job
from advisor.job.write import canonical_json
from advisor.knowledge.base import Knowledge
from advisor.knowledge.load import load_knowledge
from advisor.pipeline import Desk, recommend
from advisor.sequence.plan import FeaturePlan, decide_handling, plan_feature
from advisor.sheet.model import Sheet
from advisor.situations import job_situation, presumed

PLAIN_FACE = {"name": "face", "shape": "flat", "width": "60 mm", "area": "120 cm2"}

#: Alloy, start, finish and what else differs from a flat face of 120 cm2 on the robot's floor stands.
JOBS: Mapping[str, Mapping[str, Any]] = {
    "oar-lock": {
        "alloy": "s31603", "start": {"defect": "casting-skin", "depth": "0.3 mm"}, "finish": "satin-fine",
    },
    "kettle-seam": {
        "alloy": "s30400", "start": {"defect": "weld-bead", "depth": "0.8 mm", "also": ["heat-tint"]},
        "finish": "satin-medium", "cell": "hand-tools",
    },
    "bell-cap": {"alloy": "c36000", "start": {"defect": "machining-marks"}, "finish": "mirror"},
    "crane-plate": {
        "alloy": "g10180", "start": {"defect": "mill-scale", "depth": "0.1 mm"}, "finish": "ground-medium",
        "cell": "bench-belt-and-buff",
    },
    "tap-lever": {
        "alloy": "z33525", "start": {"defect": "parting-line", "depth": "0.2 mm"}, "finish": "satin-fine",
        "after": "lacquer",
        "features": [
            {"name": "round", "shape": "convex", "radius": "14 mm", "width": "26 mm", "area": "28 cm2"},
        ],
    },
    "pump-throat": {
        "alloy": "s31603", "start": {"defect": "gate-stub", "depth": "1 mm"}, "finish": "satin-medium",
        "cell": "robot-carried-tool",
        "features": [
            {"name": "throat", "shape": "concave", "radius": "40 mm", "width": "22 mm", "area": "12 cm2"},
        ],
    },
    "machine-guard": {
        "alloy": "g10180", "start": {"defect": "paint"}, "finish": "keyed-paint", "cell": "hand-tools",
    },
    "counter-top": {
        "alloy": "s30400", "start": {"defect": "mill-surface"}, "finish": "EN 10088-2 2K",
    },
    "lamp-housing": {"alloy": "m11916", "start": {"defect": "casting-skin"}, "finish": "keyed-paint"},
    "cover-strip": {
        "alloy": "6063", "start": {"defect": "die-lines"}, "finish": "keyed-powder", "after": "powder-coat",
        "cell": "bench-belt-and-buff",
    },
    "hub-cap": {
        "alloy": "c26000", "start": {"defect": "deep-scratch", "depth": "0.3 mm", "also": ["lacquer"]},
        "finish": "satin-medium", "cell": "bench-belt-and-buff",
    },
    "oven-side": {
        "alloy": "s30400", "start": {"defect": "gate-stub", "depth": "0.5 mm", "also": ["heat-tint"]},
        "finish": "satin-fine",
    },
    "pedal-arm": {
        "alloy": "s30400", "part": {"wall": "1.2 mm"}, "start": {"defect": "weld-bead", "depth": "0.3 mm"},
        "finish": "ground-fine", "features": [{**PLAIN_FACE, "max_stock": "0.4 mm"}],
    },
}  # fmt: skip
#: Those whose path must have dealt with a strip that stands proud.
PROUD = ("kettle-seam", "tap-lever", "pump-throat", "oven-side", "pedal-arm")


@cache
def knowledge() -> Knowledge:
    """The packaged knowledge."""
    return load_knowledge()


@cache
def desk(matcher: str = "plain") -> Desk:
    """A desk that serves every test of the run; the plain matcher is the definition."""
    return Desk(knowledge(), matcher)


def job_of(name: str = "cart-handle", **fields: Any) -> Job:
    """A job on the robot's floor stands with one flat face, and what is said otherwise."""
    base: dict[str, Any] = {
        "name": name, "features": [PLAIN_FACE], "cell": "robot-floor-stand", "batch": 200,
    }  # fmt: skip
    return parse_job({**base, **fields}, knowledge(), f"{name}.yaml")


@cache
def job(name: str) -> Job:
    """One of the invented jobs."""
    return job_of(name, **JOBS[name])


@cache
def sheet(name: str) -> Sheet:
    """Its sheet."""
    return recommend(job(name), desk())


def sheet_of(**fields: Any) -> Sheet:
    """The sheet of a job that is not among the invented ones."""
    return recommend(job_of(**fields), desk())


def plans_of(asked: Job, at: Desk | None = None) -> tuple[FeaturePlan, ...]:
    """The plan of every feature, as `recommend` makes them."""
    taken = at or desk()
    facts, _ = presumed(job_situation(asked, taken.knowledge), taken.knowledge)
    handling = str(decide_handling(asked, taken.decider, facts).winner)
    return tuple(
        plan_feature(asked, feature, handling, taken.knowledge, taken.decider) for feature in asked.features
    )


@cache
def plan(name: str) -> FeaturePlan:
    """The plan of the first feature of one of the invented jobs."""
    return plans_of(job(name))[0]


def seed(name: str) -> str:
    """What the bands of a job are seeded with."""
    return canonical_json(job(name))
