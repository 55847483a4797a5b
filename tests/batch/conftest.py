"""Small batches of invented jobs."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from advisor.batch.task import Task, Way
from tests import invented

ALLOYS = ("s31603", "s30400", "a96063")


def job(number: int, **fields: Any) -> dict[str, Any]:
    """A hinge leaf, no two alike: one cell, a few alloys, every number another size."""
    return {
        "name": f"hinge-{number}",
        "alloy": ALLOYS[number % len(ALLOYS)],
        "part": {"mass": f"{0.4 + number / 1000:g} kg"},
        "start": {"defect": "parting-line", "depth": f"{0.1 + number % 40 / 100:g} mm"},
        "features": [{
            "name": "leaf", "shape": "convex", "radius": f"{12 + number % 50} mm",
            "width": f"{20 + number % 37 + number / 1e4:g} mm", "area": f"{15 + number % 83} cm2",
        }],
        "finish": ("satin-fine", "satin-medium")[number % 2],
        "cell": "robot-floor-stand",
        "batch": 200,
        **fields,
    }  # fmt: skip


def tasks(count: int) -> list[Task]:
    """So many of them."""
    return [Task(f"job {number}", json.dumps(job(number)), row=True) for number in range(count)]


@pytest.fixture
def way() -> Way:
    return Way(None, invented.knowledge().fingerprint, "json")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with two jobs and a note that is none."""
    place = tmp_path / "jobs"
    place.mkdir()
    for number in range(2):
        (place / f"{number}.json").write_text(json.dumps(job(number)), encoding="utf-8")
    (place / "note.txt").write_text("not a job", encoding="utf-8")
    return place
