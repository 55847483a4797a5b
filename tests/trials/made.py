"""A trial of an invented job as its file says it, for the tests to change."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

from advisor.knowledge.base import Knowledge
from advisor.trials.model import Trial
from advisor.trials.read import parse_trial

JOB: dict[str, Any] = {
    "name": "gate-arm",
    "alloy": "s31603",
    "part": {"mass": "0.9 kg", "size": "180 mm", "wall": "4 mm"},
    "start": {"defect": "parting-line", "depth": "0.25 mm"},
    "features": [
        {"name": "outer sweep", "shape": "convex", "radius": "18 mm", "width": "30 mm", "area": "40 cm2"},
        {"name": "cheek", "shape": "flat", "width": "40 mm", "area": "30 cm2"},
    ],
    "finish": "satin-fine",
    "cell": "robot-floor-stand",
    "batch": 400,
}
TRIAL: dict[str, Any] = {
    "job": JOB,
    "feature": "outer sweep",
    "step": 1,
    "used": {
        "media": "belt", "grain": "ceramic-alumina", "grade": "P80", "backing": "J", "hardness_shore_a": 40,
        "force": "45 N", "surface_speed": "22 m/s", "feed": "40 mm/s", "passes": 6,
    },
    "incoming": {"defect": "parting-line", "depth": "0.25 mm", "ra": "6.3 um"},
    "measured": {"ra": "1.2 um", "removal": "85 um", "time": "40 s", "parts_per_media": 60},
    "roughness": {"cutoff": "0.8 mm", "direction": "across"},
    "symptoms": ["chatter"],
    "verdict": "pass",
    "by": "kt",
    "date": "2026-05-04",
    "note": "second belt of the roll",
}  # fmt: skip


def changed(**fields: Any) -> dict[str, Any]:
    """The trial as a mapping with some fields replaced (`used__force="60 N"` goes inside), None taken out."""
    trial = deepcopy(TRIAL)
    for name, value in fields.items():
        outer, _, inner = name.partition("__")
        target, key = (trial[outer], inner) if inner else (trial, outer)
        if value is None:
            target.pop(key, None)
        else:
            target[key] = value
    return trial


def trial(knowledge: Knowledge, **fields: Any) -> Trial:
    """The trial read by the real reader."""
    return parse_trial(changed(**fields), knowledge)
