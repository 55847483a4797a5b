"""One typed answer becomes a value of the job file; a number picks from the list."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from advisor.ask.question import Kind, Offer, Question
from advisor.errors import InputError, Problem, listing, nearest
from advisor.job.names import fold, resolve_alloy
from advisor.knowledge.base import Knowledge
from advisor.units import parse_quantity, plain_number

Value = str | tuple[str, ...] | None

_DONT_KNOW = frozenset(
    {"", "?", "??", "dont know", "don't know", "do not know", "i don't know", "i dont know", "dunno",
     "no idea", "not known", "unknown", "dk"}
)  # fmt: skip
_TIMES = re.compile(r"\s*[x×*]\s*(?=[\d.])", re.IGNORECASE)
_TO = re.compile(r"\s+(?:to|-|–)\s+|\s*\.\.\s*", re.IGNORECASE)
_UNIT = re.compile(r"[^\d\s.,/+-].*$")


def is_dont_know(text: str) -> bool:
    """Whether an answer says that nobody knows.

    >>> is_dont_know(" ? "), is_dont_know("Don't know."), is_dont_know("0.2 mm")
    (True, True, False)
    """
    return text.strip().strip(".!").replace("’", "'").casefold() in _DONT_KNOW


def offers(question: Question, knowledge: Knowledge) -> tuple[Offer, ...]:
    """What can be chosen by number: the question's own offers, or the rows of its table."""
    if question.table is None:
        return question.offers
    rows: Mapping[str, object] = knowledge.tables[question.table]
    return tuple(Offer(key=key, says=str(getattr(row, "name", None) or key)) for key, row in rows.items())


def understand(question: Question, text: str, knowledge: Knowledge) -> Value:
    """The value that an answer means; what it may be is left to the reader of job files.

    Raises InputError only where the answer cannot stand for anything.
    """
    return _READERS[question.kind](question, " ".join(text.split()), knowledge)


def shown(question: Question, value: Value, knowledge: Knowledge) -> str:
    """A value for reading, with the name of the row it stands for."""
    if value is None:
        return "nothing"
    values = value if isinstance(value, tuple) else (value,)
    says = {offer.key: offer.says for offer in offers(question, knowledge)}
    if question.kind == "alloy" and isinstance(value, str):
        says[value] = knowledge.tables.alloys[value].name
    keys = [str(each) for each in values]
    return ", ".join(f"{key} ({says[key]})" if says.get(key, key) != key else key for key in keys)


def _line(question: Question, text: str, knowledge: Knowledge) -> str:
    return text


def _alloy(question: Question, text: str, knowledge: Knowledge) -> str:
    return resolve_alloy(text, knowledge.tables.alloys).key


def _choice(question: Question, text: str, knowledge: Knowledge) -> str:
    listed = offers(question, knowledge)
    if text.isdecimal() and 1 <= int(text) <= len(listed):
        return listed[int(text) - 1].key
    wanted = fold(text)
    for offer in listed:
        if wanted in (fold(offer.key), fold(offer.says)):
            return offer.key
    if question.kind == "finish":
        return text  # it may still be a designation
    keys = [offer.key for offer in listed]
    near = nearest(text.casefold().replace(" ", "-"), keys)
    raise InputError(
        Problem("", "that is not in the list", text, f"1 to {len(keys)}, or {listing(keys, 24)}", near)
    )


def _rows(question: Question, text: str, knowledge: Knowledge) -> tuple[str, ...] | None:
    if text.casefold() in ("no", "none", "nothing"):
        return None
    found = [_choice(question, each.strip(), knowledge) for each in re.split(r"[,;]", text) if each.strip()]
    return tuple(dict.fromkeys(found)) or None


def _more(question: Question, text: str, knowledge: Knowledge) -> str:
    return {"y": "yes", "n": "no"}.get(text.casefold()) or _choice(question, text, knowledge)


def _band(question: Question, text: str, knowledge: Knowledge) -> Value:
    """One quantity, or two with "to" between them; the first may leave its unit to the second."""
    ends = _TO.split(text)
    if len(ends) != 2 or not all(ends):
        return text
    unit = _UNIT.search(ends[1])
    if unit and not _UNIT.search(ends[0]):
        ends[0] = f"{ends[0]} {unit.group()}"
    return tuple(ends)


def _area(question: Question, text: str, knowledge: Knowledge) -> str:
    """An area, or length times width; the first side may leave its unit to the second."""
    sides = _TIMES.split(text)
    if len(sides) != 2 or not all(sides):
        return text
    unit = _UNIT.search(sides[1])
    if unit and not _UNIT.search(sides[0]):
        sides[0] = f"{sides[0]} {unit.group()}"
    length, width = (parse_quantity(side, "length") for side in sides)
    return f"{plain_number(round(length * width / 100, 6))} cm2"


def _count(question: Question, text: str, knowledge: Knowledge) -> str:
    if not re.fullmatch(r"\d{1,12}", text, re.ASCII):
        raise InputError(Problem("", "a whole number is needed", text, "1 to 10000000, without a unit"))
    return text


_READERS: Mapping[Kind, Callable[[Question, str, Knowledge], Value]] = {
    "line": _line,
    "alloy": _alloy,
    "choice": _choice,
    "row": _choice,
    "rows": _rows,
    "quantity": _line,
    "band": _band,
    "area": _area,
    "finish": _choice,
    "count": _count,
    "more": _more,
}
