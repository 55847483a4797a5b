"""Explanations as text and as JSON: sentences first, then the chain as an indented tree."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from advisor.explain.link import Link
from advisor.units import round_sig

WIDTH = 96


def to_text(links: Sequence[Link], depth: int) -> str:
    """Each chain down to a depth: what stands, a paragraph of sentences, and below it the tree."""
    return "\n\n".join(_one(link.cut(depth)) for link in links) + "\n"


def _one(link: Link) -> str:
    lines = [link.what, "=" * min(len(link.what), WIDTH)]
    if link.kind == "value":
        lines += [*_wrapped(" ".join(sentences(link))), ""]
    told_before: set[str] = set()
    lines += [line for inner in link.because for line in tree(inner, 0, told_before)]
    told = list(dict.fromkeys(_sources(link)))
    if told:
        lines += ["", *_wrapped(f"Sources: {'; '.join(told)}.")]
    return "\n".join(lines).rstrip()


def sentences(link: Link) -> Iterator[str]:
    """The chain as running text: what stands, and what it rests on, nearest first."""
    yield link.text
    for inner in link.because:
        yield from _rests_on(inner)


def _rests_on(link: Link) -> Iterator[str]:
    yield link.text
    if link.alone:
        yield "Without this rule it would come out otherwise."
    if link.kind in ("ruled", "derived") and link.equation is None:
        for inner in link.because:
            # What a rule tested is told where it leads on: assumptions, conclusions, and tables.
            if inner.because or inner.kind in ("assumed", "derived"):
                yield from _rests_on(inner)


def tree(link: Link, level: int = 0, seen: set[str] | None = None) -> Iterator[str]:
    """The chain as an indented tree; what has been told above it is not told again."""
    told = set() if seen is None else seen
    lead = "  " * level
    again = bool(link.because) and f"{link.what}{link.text}" in told
    # A fact says itself what it is; a second time only its value.
    itself = link.text.casefold().startswith(link.what.casefold())
    said = f"{link.what}: as above." if again else link.text if itself else f"{link.what}: {link.text}"
    if link.equation:
        said += f" {link.equation}"
    if link.alone:
        said += " [decides]"
    if link.source_words and not again:
        said += f" [{link.source_words}]"
    yield from textwrap.wrap(
        said, WIDTH, initial_indent=f"{lead}- ", subsequent_indent=f"{lead}  ", break_on_hyphens=False
    )
    told.add(f"{link.what}{link.text}")
    if not again:
        for inner in link.because:
            yield from tree(inner, level + 1, told)


def _sources(link: Link) -> Iterator[str]:
    if link.source:
        yield from link.source.split(", ")
    for inner in link.because:
        yield from _sources(inner)


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, break_on_hyphens=False)


def to_json(links: Iterable[Link], depth: int, **more: Any) -> str:
    """The same as JSON: for each chain its sentences and its tree, keys in a fixed order."""
    chains = [link.cut(depth) for link in links]
    told = [{"sentences": list(sentences(link)), "tree": link.model_dump(mode="json")} for link in chains]
    return json.dumps(tidy({"explained": told, **more}), ensure_ascii=False, indent=1) + "\n"


def tidy(value: Any) -> Any:
    """A value as JSON holds it: numbers rounded to six digits."""
    if isinstance(value, float):
        return round_sig(value) + 0.0
    if isinstance(value, dict):
        return {key: tidy(inner) for key, inner in value.items()}
    if isinstance(value, (list, tuple)):
        return [tidy(each) for each in value]
    return value


__all__ = ["sentences", "tidy", "to_json", "to_text", "tree"]
