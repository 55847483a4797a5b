"""Fixtures that hand the reference tables and the published tables to the outside checks."""

from __future__ import annotations

import csv
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

from advisor.knowledge import reference

ROOT = Path(__file__).parents[2]
KNOWLEDGE = ROOT / "knowledge"
PUBLISHED = ROOT / "shared" / "tables"

MODELS: dict[str, type[reference.Row]] = {
    "alloys": reference.Alloy,
    "defects": reference.Defect,
    "finishes": reference.Finish,
    "designations": reference.Designation,
    "grains": reference.Grain,
    "grades": reference.Grade,
    "media": reference.Media,
    "symptoms": reference.Symptom,
    "coefficients": reference.Coefficient,
    "faces": reference.WheelFace,
}
OPTION_TABLES = ("backings", "covers", "faces", "builds", "coats", "top_coats", "lubricants")

Table = Callable[[str], dict[str, Any]]
Rows = list[dict[str, str]]
Published = Callable[[str], Rows]


@cache
def raw(name: str) -> tuple[dict[str, Any], ...]:
    """The rows of one knowledge file as plain data."""
    path = (
        KNOWLEDGE / f"{name}.yaml"
        if name in ("sources", "words")
        else KNOWLEDGE / "reference" / f"{name}.yaml"
    )
    content = yaml.safe_load(path.read_text(encoding="utf-8"))
    assert list(content) == [name], path
    return tuple(content[name])


@cache
def rows(name: str) -> dict[str, Any]:
    """The rows of one reference table as models, by key, in the order of the file."""
    model = MODELS.get(name, reference.Option)
    given = raw(name)
    found = {row["key"]: model.model_validate(row) for row in given}
    assert len(found) == len(given), f"two rows of {name} with one key"
    return found


@cache
def published_rows(name: str) -> tuple[dict[str, str], ...]:
    """The rows of one published table; its first line names the source."""
    lines = (PUBLISHED / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("# source: "), name
    return tuple(csv.DictReader(line for line in lines if not line.startswith("#")))


@pytest.fixture(scope="session")
def table() -> Table:
    """`table(name)`: the rows of a reference table by key."""
    return rows


@pytest.fixture(scope="session")
def plain() -> Callable[[str], tuple[dict[str, Any], ...]]:
    """`plain(name)`: the rows of a knowledge file as they stand."""
    return raw


@pytest.fixture(scope="session")
def published() -> Published:
    """`published(name)`: the rows of a table in `shared/tables`."""
    return lambda name: list(published_rows(name))


@pytest.fixture(scope="session")
def vocabulary() -> dict[str, Any]:
    """The vocabulary as plain data."""
    content: dict[str, Any] = yaml.safe_load((KNOWLEDGE / "vocabulary.yaml").read_text(encoding="utf-8"))
    return content
