"""Plain words and safe text for the views: names of keys, scales of grades, no stray markup."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import NamedTuple

_HARMLESS = re.compile(r"[A-Za-z][A-Za-z0-9.,;:()'/%=\-]*(?: [A-Za-z0-9.,;:()'/%=\-]+)*")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufeff]")
_SPACES = re.compile(r"\s+")
_ENTITY = re.compile(r"&(?=#?\w+;)")
_LINK = re.compile(r"\](?=[(\[:])")
_EDGE_UNDERSCORE = re.compile(r"(?<!\w)_|_(?!\w)")
_LINE_START = re.compile(r"^(?=#{1,6}(?:\s|$)|[-+](?:\s|$)|--)|^(\d{1,9})(?=[.)](?:\s|$))")
_P_GRADE = re.compile(r"\bP\d{2,4}\b(?! \(ANSI)")
_WEB = ("extra-coarse", "coarse", "medium", "fine", "very-fine", "ultra-fine")
_COMPOUND = ("cut", "colour")
_LOST = {
    "cost": "lost on cost",
    "tie": "equal; settled by the usual order",
    "limit": "held back by a limit",
}


class Ready(str):
    """Text that is Markdown already and is not escaped again."""


def escape(text: object) -> Ready:
    r"""Text from a job or a rule made harmless for a Markdown line or table cell.

    >>> escape("left | right")
    'left \\| right'
    >>> escape("<b>latch</b>\n# not a heading")
    '&lt;b&gt;latch&lt;/b&gt; # not a heading'
    >>> escape("# a `name` [here](x)")
    '\\# a \\`name\\` [here\\](x)'
    """
    if isinstance(text, Ready):
        return text
    if _HARMLESS.fullmatch(str(text)):  # most of a sheet; the rest takes the long way
        return Ready(text)
    line = one_line(str(text))
    line = re.sub(r"([\\`*|])", r"\\\1", line).replace("~~", r"\~\~")
    line = _LINK.sub(r"\\]", _EDGE_UNDERSCORE.sub(r"\\_", line))
    line = _ENTITY.sub("&amp;", line).replace("<", "&lt;").replace(">", "&gt;")
    return Ready(_LINE_START.sub(lambda found: f"{found[1]}\\" if found[1] else "\\", line))


def one_line(text: str) -> str:
    r"""Text without control characters and marks that turn the direction of reading, on one line.

    >>> one_line(" left\n\u202eright\x07 ")
    'left right'
    """
    return _SPACES.sub(" ", _CONTROL.sub("", text)).strip()


def sentence(text: str) -> str:
    """A text that ends like a sentence.

    >>> sentence("Wash and dry"), sentence("Is it dry?")
    ('Wash and dry.', 'Is it dry?')
    """
    line = text.strip()
    return line if not line or line[-1] in ".!?:" else f"{line}."


def upper(text: str) -> str:
    """A text with a capital at its head, the rest as it stands.

    >>> upper("force ratio at P80")
    'Force ratio at P80'
    """
    return text[:1].upper() + text[1:]


def join(words: list[str], last: str = "and") -> str:
    """Words as a person lists them.

    >>> join(["a", "b", "c"]), join(["a"]), join([])
    ('a, b and c', 'a', '')
    """
    return f"{', '.join(words[:-1])} {last} {words[-1]}" if len(words) > 1 else "".join(words)


def name(key: str | None, names: Mapping[str, str]) -> str:
    """The plain name of a key; `-` where there is none.

    >>> name("J", {"J": "J cloth"}), name("part-in-hand", {}), name(None, {})
    ('J cloth', 'part in hand', '-')
    """
    if key is None:
        return "-"
    return names.get(key) or key.replace("-", " ").replace("_", " ")


def grade(key: str | None, ansi: Mapping[str, str], us: bool, scale: str | None = None) -> str:
    """A grade with its scale, and with US units the nearest grade of the ANSI coated scale.

    >>> grade("P80", {"P80": "80"}, us=True), grade("P80", {"P80": "80"}, us=False)
    ('P80 (ANSI 80)', 'P80')
    >>> grade("very-fine", {}, us=True), grade("colour", {}, us=False), grade(None, {}, us=False)
    ('very fine web', 'colour compound', '-')
    """
    if key is None:
        return "-"
    if scale == "web" or (scale is None and key in _WEB):
        return f"{key.replace('-', ' ')} web"
    if scale == "compound" or (scale is None and key in _COMPOUND):
        return f"{key} compound"
    return f"{key} (ANSI {ansi[key]})" if us and key in ansi else key


def with_ansi(text: str, ansi: Mapping[str, str]) -> str:
    """Running text in which every P grade has the nearest ANSI grade beside it.

    >>> with_ansi("P80 before P120.", {"P80": "80", "P120": "120"})
    'P80 (ANSI 80) before P120 (ANSI 120).'
    """
    return _P_GRADE.sub(lambda found: grade(found[0], ansi, us=True, scale="P"), text)


def lost_on(key: str) -> str:
    """On what an option lost, in words.

    >>> lost_on("form"), lost_on("tie")
    ('lost on form', 'equal; settled by the usual order')
    """
    return _LOST.get(key, f"lost on {key}")


class Table(NamedTuple):
    """A table as data; a view draws it."""

    head: list[str]
    rows: list[list[str]]


def speaking(head: list[str], rows: list[list[str]]) -> Table:
    """A table without the columns that say nothing.

    >>> speaking(["Step", "Edge", "rpm"], [["1", "-", "2100"], ["2", "-", "900"]])
    Table(head=['Step', 'rpm'], rows=[['1', '2100'], ['2', '900']])
    """
    kept = [
        place
        for place, _ in enumerate(head)
        if place == 0 or any(row[place] not in {"-", ""} for row in rows)
    ]
    return Table([head[place] for place in kept], [[row[place] for place in kept] for row in rows])


def table(head: list[str], rows: list[list[str]]) -> Ready:
    """A Markdown table with columns padded to one width; a column that says nothing is left out.

    >>> print(table(["Step", "Edge", "rpm"], [["1", "-", "2100"], ["2", "-", "900"]]))
    | Step | rpm  |
    |------|------|
    | 1    | 2100 |
    | 2    | 900  |
    """
    told = speaking(head, rows)
    lines = [[_cell(cell) for cell in row] for row in [told.head, *told.rows]]
    widths = [max(len(line[column]) for line in lines) for column in range(len(told.head))]
    padded = [
        " | ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)) for line in lines
    ]
    rule = "|".join("-" * (width + 2) for width in widths)
    return Ready("\n".join([f"| {padded[0]} |", f"|{rule}|", *(f"| {line} |" for line in padded[1:])]))


def _cell(text: str) -> str:
    return text if text == "-" else escape(text)
