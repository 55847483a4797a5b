"""Looks at the sentences of rules and rows: soft words that say nothing, and numbers that nothing carries."""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Iterable, Iterator, Mapping

from advisor.check.finding import Code, Finding
from advisor.check.meaning import Meaning
from advisor.check.where import Where
from advisor.knowledge.base import ROW_MODELS, Tables
from advisor.knowledge.reference import Row
from advisor.knowledge.rules import Note, Rule, show_value

SOFT_WORD = Code(
    "K701", "soft-word", "warning",
    "A sentence uses a word that leaves the reader as wise as before (optimal, proper, suitable, adequate).",
    "The technician cannot set a machine by it.",
    "Say what is meant: a value, a limit, or how one sees that it is right.",
)  # fmt: skip
UNCARRIED = Code(
    "K702", "number-nothing-carries", "note",
    "A sentence of a rule, or of a row of a table, gives a number that nothing carries: no condition, no advice, no "
    "row that the rule speaks of, no field of the row itself, and no source.",
    "A number in prose is not checked, not converted and not found when the figure changes.",
    "Put it into a condition, the advice or a field of the row, name the place in the source, or leave it out.",
)  # fmt: skip
CODES = (SOFT_WORD, UNCARRIED)

_SOFT = re.compile(
    r"\b(optimal|optimum|proper|properly|suitable|appropriate|adequate|good quality|as needed)\b", re.I
)
_NUMBER = re.compile(r"(?<![\w.])\d+(?:[.,]\d+)?(?![\w])")
_UM_PER_UIN = 0.0254
#: Fields of rows that a reader reads as sentences.
_PROSE = ("note", "says", "find_out", "looks_like", "heat_limit_why")
#: Attributes and decisions whose values are keys of a table.
_TABLE_OF: Mapping[str, str] = {
    "alloy.key": "alloys", "defect": "defects", "finish.key": "finishes", "finish.designation": "designations",
    "media": "media", "previous.media": "media", "grain": "grains", "symptom": "symptoms", "backing": "backings",
}  # fmt: skip


def soft_words(base: Meaning) -> Iterator[Finding]:
    """Words that say nothing."""
    for rule in base.rules:
        for text in (rule.title, *_sentences(rule)):
            found = _SOFT.search(text)
            if found:
                yield SOFT_WORD.at(rule, f"{rule.id} says '{found.group(0)}': {text}")


def uncarried_numbers(base: Meaning) -> Iterator[Finding]:
    """Numbers in the prose of rules that no other part of the rule, no row it names and no source carries."""
    names = _names(base)
    for rule in base.rules:
        carried = {*names, *_numbers(_elsewhere(rule, base)), *_numbers(_rows_named(rule, base))}
        loose = _loose(_sentences(rule), carried)
        if loose:
            yield UNCARRIED.at(rule, f"{rule.id} says {', '.join(loose)}, and nothing carries it")


def uncarried_in_rows(base: Meaning, where: Where) -> Iterator[Finding]:
    """Numbers in the prose of rows that no field of the row and no source of it carries."""
    tables: Tables | None = getattr(base.knowledge, "tables", None)
    if tables is None:
        return
    names = _names(base)
    for table in ROW_MODELS:
        for key, row in tables[table].items():
            said = [text for name in _PROSE if (text := getattr(row, name, None))]
            if not said:
                continue
            sources = _of_sources(((name, None) for name in row.source), base)
            loose = _loose(said, {*names, *_numbers(_data(row)), *_numbers(sources)})
            if loose:
                says = f"the row {key} of {table} says {', '.join(loose)}, and nothing carries it"
                yield Finding(UNCARRIED, where.row(table, key), says)


def _sentences(rule: Rule) -> tuple[str, ...]:
    return (rule.because, *(item.text for item in rule.then if isinstance(item, Note)))


def _loose(sentences: Iterable[str], carried: Collection[float]) -> list[str]:
    """The numbers of some sentences that are not carried, as written, each once."""
    found: dict[str, None] = {}
    for text in sentences:
        for match in _NUMBER.finditer(text):
            number = _value(match.group(0))
            inches = text[match.end() :].lstrip().startswith("uin")
            if number not in carried and not (inches and _converted(number, carried)):
                found.setdefault(match.group(0))
    return list(found)


def _converted(microinches: float, carried: Iterable[float]) -> bool:
    """Whether a number of microinches stands for one of micrometres, to the digits that are printed."""
    return any(abs(number / _UM_PER_UIN - microinches) <= 0.02 * microinches for number in carried)


def _numbers(text: str) -> set[float]:
    return {_value(number) for number in _NUMBER.findall(text)}


def _value(number: str) -> float:
    return float(number.replace(",", "."))


def _elsewhere(rule: Rule, base: Meaning) -> str:
    """Everything of a rule that is data: conditions, advice, source places, and its sources' titles."""
    said = [show_value(value) for item in (*rule.when, *rule.unless) for value in item.operand]
    for advice in rule.advice():
        if advice.span:
            said += [show_value(end) for end in (advice.span.low, advice.span.high) if end is not None]
    cited = _of_sources(((citation.source, citation.place) for citation in rule.source), base)
    return " ; ".join([*said, cited])


def _of_sources(cited: Iterable[tuple[str, str | None]], base: Meaning) -> str:
    """What some sources are known by, with the places that are named in them."""
    said: list[str] = []
    for key, place in cited:
        source = base.knowledge.sources[key]
        said += [place or "", source.title, source.place, source.note or ""]
    return " ; ".join(said)


def _rows_named(rule: Rule, base: Meaning) -> str:
    """The figures of every row that the conditions or the advice of a rule name."""
    tables: Tables | None = getattr(base.knowledge, "tables", None)
    if tables is None:
        return ""
    named = [(item.attribute, item.operand) for item in (*rule.when, *rule.unless)]
    named += [(item.decision, item.options) for item in rule.advice()]
    rows = [
        tables[_TABLE_OF[key]].get(str(value)) for key, values in named if key in _TABLE_OF for value in values
    ]
    return " ; ".join(_data(row) for row in rows if row is not None)


def _data(row: Row) -> str:
    """A row without its prose."""
    return json.dumps(row.model_dump(mode="json", exclude=set(_PROSE)))


def _names(base: Meaning) -> frozenset[float]:
    """Numbers that are names of alloys, such as 304: nobody measures or converts them."""
    tables: Tables | None = getattr(base.knowledge, "tables", None)
    if tables is None:
        return frozenset()
    names = (name for alloy in tables.alloys.values() for name in alloy.also)
    return frozenset(float(name) for name in names if name.isdigit() and len(name) > 2)
