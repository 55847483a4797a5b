"""A replay as text for a reader and as JSON for a program."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from advisor.audit.model import Mismatch, Replay
from advisor.errors import shorten

_MOST_LETTERS = 72


def to_json(found: Replay | Sequence[Replay]) -> str:
    """One replay, or several as a list; the same replay gives the same bytes."""
    content = _data(found) if isinstance(found, Replay) else [_data(each) for each in found]
    return json.dumps(content, ensure_ascii=False, indent=1) + "\n"


def _data(found: Replay) -> dict[str, Any]:
    return {"follows": found.follows, **found.model_dump(mode="json")}


def to_text(found: Replay) -> str:
    """The verdict on one line, then each difference with its path, what is stored and what comes out now."""
    lines = [_verdict(found)]
    if found.knowledge != found.used:
        lines.append(f"  made with knowledge {found.knowledge},")
        lines.append(f"  worked out now with {found.used}")
    for item in found.mismatches:
        stored, now = _apart(item)
        lines += [f"  {item.path}", f"    stored: {stored}", f"    now:    {now}"]
    return "\n".join(lines) + "\n"


def _verdict(found: Replay) -> str:
    if found.follows:
        return (
            f"{found.name}: follows from its job. {found.values:,} values come out the same with program "
            f"{found.replayed_by} and knowledge {found.used}."
        )
    number = len(found.mismatches)
    only_version = [item.path for item in found.mismatches] == ["program.version"]
    rest = "; all else comes out the same" if only_version else ""
    return (
        f"{found.name}: does not follow from its job; {number:,} "
        f"{'difference' if number == 1 else 'differences'} in {found.values:,} values{rest}:"
    )


def _apart(item: Mismatch) -> tuple[str, str]:
    """Both sides on one line each; two long texts from a little before where they part."""
    if isinstance(item.stored, str) and isinstance(item.now, str):
        first, second = item.stored, item.now
        pairs = zip(first, second, strict=False)
        same = next((at for at, (a, b) in enumerate(pairs) if a != b), min(len(first), len(second)))
        start = max(same - 24, 0) if max(len(first), len(second)) > _MOST_LETTERS else 0
        lead = "..." if start else ""
        shown = [json.dumps(lead + shorten(text[start:], _MOST_LETTERS), ensure_ascii=False)
                 for text in (first, second)]  # fmt: skip
        return shown[0], shown[1]
    return _side(item.stored, item.in_stored), _side(item.now, item.in_now)


def _side(value: Any, there: bool) -> str:
    return shorten(json.dumps(value, ensure_ascii=False), _MOST_LETTERS) if there else "(nothing)"
