"""Recommends how to finish a metal part, with the reason for every choice.

>>> import advisor
>>> desk = advisor.open_desk()
>>> job = advisor.read_job(advisor.demo_jobs() / "vent-lever.yaml", desk.knowledge)
>>> sheet = advisor.recommend(job, desk)
>>> sheet.refused
False
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from advisor.version import VERSION

if TYPE_CHECKING:
    from advisor.api import read_sheet, record, replay, why, why_not
    from advisor.comparison.compare import compare
    from advisor.errors import InputError, KnowledgeError
    from advisor.job.read import parse_job, read_job
    from advisor.knowledge.load import load_knowledge
    from advisor.knowledge.locate import demo_jobs
    from advisor.pipeline import Desk, open_desk, recommend
    from advisor.render.json import from_json, to_json
    from advisor.render.markdown import to_markdown
    from advisor.whatif.ask import what_if
    from advisor.whatif.holds import recommend_with_holds

__all__ = [
    "VERSION",
    "Desk",
    "InputError",
    "KnowledgeError",
    "compare",
    "demo_jobs",
    "from_json",
    "load_knowledge",
    "open_desk",
    "parse_job",
    "read_job",
    "read_sheet",
    "recommend",
    "recommend_with_holds",
    "record",
    "replay",
    "to_json",
    "to_markdown",
    "what_if",
    "why",
    "why_not",
]

_HOMES = {
    "Desk": "advisor.pipeline",
    "InputError": "advisor.errors",
    "KnowledgeError": "advisor.errors",
    "compare": "advisor.comparison.compare",
    "demo_jobs": "advisor.knowledge.locate",
    "from_json": "advisor.render.json",
    "load_knowledge": "advisor.knowledge.load",
    "open_desk": "advisor.pipeline",
    "parse_job": "advisor.job.read",
    "read_job": "advisor.job.read",
    "read_sheet": "advisor.api",
    "recommend": "advisor.pipeline",
    "recommend_with_holds": "advisor.whatif.holds",
    "record": "advisor.api",
    "replay": "advisor.api",
    "to_json": "advisor.render.json",
    "to_markdown": "advisor.render.markdown",
    "what_if": "advisor.whatif.ask",
    "why": "advisor.api",
    "why_not": "advisor.api",
}


def __getattr__(name: str) -> Any:
    """Public names are imported when they are first used, so that the command line starts quickly."""
    from importlib import import_module

    if name not in _HOMES:
        raise AttributeError(f"module 'advisor' has no attribute {name!r}")
    return getattr(import_module(_HOMES[name]), name)


def __dir__() -> list[str]:
    """Every public name, imported or not."""
    return sorted({*globals(), *__all__})
