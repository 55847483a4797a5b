"""SARIF as OASIS defines it: what the check writes is held against the published schema."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from advisor.check.finding import Code, Finding
from advisor.check.run import codes, examine
from advisor.check.sarif import to_sarif
from advisor.knowledge.load import load_knowledge

PUBLISHED = Path(__file__).parent / "published" / "sarif-schema-2.1.0.json"
SCHEMA: dict[str, Any] = json.loads(PUBLISHED.read_text(encoding="utf-8"))
VALIDATOR = jsonschema.Draft7Validator(SCHEMA, format_checker=jsonschema.FormatChecker())


def faults(text: str) -> list[str]:
    return [error.message for error in VALIDATOR.iter_errors(json.loads(text))]


def test_the_schema_is_the_published_one() -> None:
    assert SCHEMA["$id"].startswith("https://raw.githubusercontent.com/oasis-tcs/sarif-spec/")
    jsonschema.Draft7Validator.check_schema(SCHEMA)


def test_the_packaged_findings_are_valid_sarif() -> None:
    findings = examine(load_knowledge()).findings
    assert findings
    assert faults(to_sarif(findings, codes())) == []


@pytest.mark.parametrize(
    "place", ["", "rules/a b.yaml", "rules/a.yaml:3", "rules/a.yaml:3:7", "ü/x.yaml:1:1"]
)
def test_a_finding_at_any_kind_of_place_is_valid_sarif(place: str) -> None:
    kind = next(iter(codes().values()))
    assert faults(to_sarif([Finding(kind, place, "Something is wrong.")], codes())) == []


@pytest.mark.parametrize(
    "spoil",
    [
        lambda log: log.pop("version"),
        lambda log: log["runs"][0].pop("tool"),
        lambda log: log["runs"][0]["results"][0].pop("message"),
        lambda log: log["runs"][0]["results"][0].update(level="fatal"),
        lambda log: log["runs"][0]["results"][0]["locations"][0]["physicalLocation"]["region"].update(startLine=0),
    ],
)  # fmt: skip
def test_the_schema_refuses_what_is_not_sarif(spoil: Any) -> None:
    kind = Code("K999", "made-up", "error", "What.", "Why.", "Mend.")
    log = json.loads(to_sarif([Finding(kind, "rules/a.yaml:3:7", "Wrong.")], {kind.code: kind}))
    spoil(log)
    assert list(VALIDATOR.iter_errors(log))
