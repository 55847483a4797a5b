"""Sources that nobody cites, and demands that rest on memory alone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from pydantic import BaseModel

from advisor.check.finding import Code, Finding
from advisor.check.meaning import Meaning
from advisor.check.where import Where
from advisor.knowledge.base import Tables

UNCITED = Code(
    "K601", "source-nobody-cites", "note",
    "A source stands in `sources.yaml` and no rule and no row cites it.",
    "A reader takes it for evidence that the knowledge rests on.",
    "Cite it where it bears something out, or take it out.",
)  # fmt: skip
FROM_MEMORY = Code(
    "K602", "demand-from-memory", "error",
    "A `must` or `never` outside safety rests on sources of the kind from-memory alone.",
    "It forbids or forces on nothing that anybody can look up.",
    "Name a source that can be looked up (common practice counts), or say it as `should` or `avoid`.",
)  # fmt: skip
CODES = (UNCITED, FROM_MEMORY)


def uncited(base: Meaning, where: Where) -> Iterator[Finding]:
    """Sources that neither a rule nor a row of a table names."""
    knowledge = base.knowledge
    cited = {citation.source for rule in knowledge.rules for citation in rule.source}
    tables: Tables | None = getattr(knowledge, "tables", None)
    if tables is not None:
        cited |= set(_named(tables, knowledge.sources))
    for key, source in knowledge.sources.items():
        if key not in cited and source.kind not in ("common-practice", "from-memory"):
            yield Finding(UNCITED, where.source(key), f"nobody cites {key}")


def _named(item: Any, keys: Iterable[str]) -> Iterator[str]:
    """Every source that stands in a field named `source`, at any depth."""
    if isinstance(item, BaseModel):
        for name in type(item).model_fields:
            value = getattr(item, name)
            if name == "source":
                yield from (
                    key for key in ([value] if isinstance(value, str) else value or ()) if key in keys
                )
            else:
                yield from _named(value, keys)
    elif isinstance(item, dict):
        for value in item.values():
            yield from _named(value, keys)
    elif isinstance(item, (list, tuple)):
        for value in item:
            yield from _named(value, keys)


def from_memory(base: Meaning) -> Iterator[Finding]:
    """Rules that demand or forbid outside safety with nothing but memory behind them."""
    sources = base.knowledge.sources
    for rule in base.rules:
        binding = [item for item in rule.advice() if item.strength in ("must", "never")]
        if not binding or rule.concern == "safety":
            continue
        kinds = {sources[citation.source].kind for citation in rule.source if citation.source in sources}
        if kinds == {"from-memory"}:
            words = " and ".join(dict.fromkeys(item.strength for item in binding))
            yield FROM_MEMORY.at(rule, f"the '{words}' of {rule.id} rests on memory alone")
