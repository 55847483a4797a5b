"""Past trials of jobs like this one in words and as JSON."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterator, Sequence

from advisor.sheet.remarks import Past

_WIDTH = 96


def past_json(past: Sequence[Past]) -> str:
    """The trials as JSON, face by face, failures first."""
    return json.dumps([each.model_dump(mode="json") for each in past], ensure_ascii=False, indent=1) + "\n"


def past_text(past: Sequence[Past], job: str) -> str:
    """The trials as a person reads them."""
    if not past:
        return f"Nothing like {job} has been tried yet.\n"
    lines = [f"Tried on jobs like {job}; failures first, the nearest of them on top"]
    for feature in dict.fromkeys(each.feature for each in past):
        lines += ["", feature]
        for each in past:
            if each.feature == feature:
                lines += _one(each)
    return "\n".join(lines) + "\n"


def _one(past: Past) -> Iterator[str]:
    head = f"{past.verdict}, {past.points:g} points away: {past.job}, {past.worked}, {past.step_words}"
    yield from _wrapped(f"{head} ({past.date or 'no date'}, {past.trial})", "  - ")
    yield from _wrapped(f"Alike: {'; '.join(past.because)}.", "    ")
    yield from _wrapped(f"Tried: {past.tried}.", "    ")
    if past.found:
        yield from _wrapped(f"Came out: {', '.join(past.found)}.", "    ")
    if past.note:
        yield from _wrapped(f"Note: {past.note}", "    ")


def _wrapped(text: str, first: str) -> list[str]:
    return textwrap.wrap(text, _WIDTH, initial_indent=first, subsequent_indent="    ", break_on_hyphens=False)
