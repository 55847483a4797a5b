"""Plain text laid out for a terminal: headings, wrapped paragraphs, lists."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

WIDTH = 88


def paragraph(text: str, indent: int = 0, hanging: int = 0) -> str:
    """Text wrapped to the width; `hanging` indents every line but the first further.

    >>> paragraph("a light cloth", indent=2)
    '  a light cloth'
    """
    return textwrap.fill(
        " ".join(text.split()),
        WIDTH,
        initial_indent=" " * indent,
        subsequent_indent=" " * (indent + hanging),
        break_long_words=False,
        break_on_hyphens=False,
    )


def section(title: str, lines: Iterable[str]) -> str:
    """A heading with its lines below it, each wrapped; empty where there are none."""
    shown = [paragraph(line, 2, 2) for line in lines if line]
    return "\n".join([title, *shown]) if shown else ""


def page(parts: Iterable[str]) -> str:
    """Parts with a blank line between them, and one line feed at the end."""
    return "\n\n".join(part for part in parts if part) + "\n"
