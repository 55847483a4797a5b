"""Tells whether learned factors still fit the published figures that they were learned on."""

from __future__ import annotations

import hashlib
import json

from advisor.knowledge.base import Knowledge


def figures_mark(knowledge: Knowledge) -> str:
    """A mark of every table that the process formulas read.

    A factor learned on other figures would be laid upon the wrong ones, so it is only used where the
    mark is the same; a change of rules does not touch it.
    """
    tables = knowledge.tables.model_dump(
        mode="json", include={"alloys", "coefficients", "grades", "grains", "media"}
    )
    text = json.dumps(tables, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return "sha256:" + hashlib.sha256(text.encode()).hexdigest()
