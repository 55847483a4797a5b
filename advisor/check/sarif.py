"""Findings in the Static Analysis Results Interchange Format (OASIS SARIF 2.1.0), for editors and CI."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any

from advisor.check.finding import Code, Finding
from advisor.version import VERSION

_SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"


def to_sarif(
    findings: Iterable[Finding], codes: Mapping[str, Code], allowed: Iterable[tuple[Finding, str]] = ()
) -> str:
    """All findings as one run; every kind of finding is described, found or not.

    What rules allow themselves is there too, as suppressed in the source with the reason they give.
    """
    results = [_result(finding) for finding in findings]
    results += [
        _result(finding) | {"suppressions": [{"kind": "inSource", "justification": reason}]}
        for finding, reason in allowed
    ]
    log: dict[str, Any] = {
        "$schema": _SCHEMA,
        "version": "2.1.0",
        "runs": [
            {
                "tool": {
                    "driver": {
                        "name": "advisor check",
                        "version": VERSION,
                        "rules": [_kind(code) for code in codes.values()],
                    }
                },
                "results": results,
            }
        ],
    }
    return json.dumps(log, ensure_ascii=False, indent=1) + "\n"


def _kind(code: Code) -> dict[str, Any]:
    return {
        "id": code.code,
        "name": code.name,
        "shortDescription": {"text": code.what},
        "fullDescription": {"text": f"{code.what} {code.why}"},
        "help": {"text": f"{code.mend} See {code.page}."},
        "defaultConfiguration": {"level": code.severity},
    }


def _result(finding: Finding) -> dict[str, Any]:
    file, line, column = finding.spot
    place: dict[str, Any] = {"artifactLocation": {"uri": file}}
    if line is not None:
        place["region"] = {"startLine": line} | ({} if column is None else {"startColumn": column})
    return {
        "ruleId": finding.code.code,
        "level": finding.code.severity,
        "message": {"text": finding.says},
        "locations": [{"physicalLocation": place}],
    }
