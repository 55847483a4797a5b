"""The generated pages and schemas are fresh, and the schemas say what the reader says."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import jsonschema
import pytest

from advisor.catalogue.files import generated_files, unwanted
from advisor.catalogue.schemas import first_line, schema_of, schemas
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.strict_yaml import plain, read_file

ROOT = Path(__file__).parents[2]
FILES = sorted([*(ROOT / "knowledge").rglob("*.yaml"), *(ROOT / "shared" / "jobs").glob("*.yaml")])
SCHEMAS = schemas(load_knowledge())


def _name(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def test_every_generated_file_is_fresh() -> None:
    wanted = generated_files(load_knowledge())
    stale = [name for name, text in wanted.items() if (ROOT / name).read_text(encoding="utf-8") != text]
    assert not stale, "run python -m tests.refresh_docs"
    assert not unwanted(ROOT, wanted)


@pytest.mark.parametrize("name", SCHEMAS)
def test_every_schema_is_a_schema(name: str) -> None:
    jsonschema.Draft7Validator.check_schema(SCHEMAS[name])


@pytest.mark.parametrize("path", FILES, ids=_name)
def test_every_file_points_to_its_schema_and_keeps_it(path: Path) -> None:
    assert path.read_text(encoding="utf-8").partition("\n")[0] == first_line(_name(path))
    schema = SCHEMAS[str(schema_of(_name(path)))]
    problems = [
        error.message for error in jsonschema.Draft7Validator(schema).iter_errors(plain(read_file(path)))
    ]
    assert not problems


RULE: dict[str, Any] = {
    "rule": "a-test", "title": "A test", "when": {"stage": "clear", "media": "belt"},
    "then": [{"should": {"backing": ["J"]}}], "concern": "form", "because": "It must be so.",
    "not for": "Other cases than this one.", "source": "common-practice",
    "examples": [
        {"given": {"stage": "clear", "media": "belt"}, "expect": "fires"},
        {"given": {"stage": "clear", "media": "buff"}, "expect": "silent"},
    ],
}  # fmt: skip


def test_a_good_rule_is_let_through() -> None:
    jsonschema.validate([RULE], SCHEMAS["rules"])


@pytest.mark.parametrize(
    "slip",
    [
        {"when": {"stagee": "clear"}},
        {"when": {"stage": "cleer"}},
        {"when": {"feature.radius_mm": {"at last": 3}}},
        {"then": [{"should": {"backing": ["Q"]}}]},
        {"then": [{"ought": {"backing": ["J"]}}]},
        {"concern": "taste"},
        {"source": "somebody-said"},
        {"not for": "none"},
        {"status": "new"},
    ],
    ids=lambda slip: str(slip)[:40],
)
def test_a_typical_slip_is_underlined(slip: dict[str, Any]) -> None:
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate([{**RULE, **slip}], SCHEMAS["rules"])


@pytest.mark.parametrize(
    "slip",
    [{"alloi": "brass"}, {"features": []}, {"batch": 0}, {"cell": "my-cell"}],
    ids=lambda slip: str(slip),
)
def test_a_slip_in_a_job_is_underlined(slip: dict[str, Any]) -> None:
    job = plain(read_file(ROOT / "shared" / "jobs" / "vent-lever.yaml"))
    jsonschema.validate(job, SCHEMAS["job"])
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({**job, **slip}, SCHEMAS["job"])
