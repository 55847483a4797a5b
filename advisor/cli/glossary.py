"""What a word means here: shop words, attributes and their values, decisions, and the rows of the tables."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass

from advisor.catalogue.sentences import listed
from advisor.cli.layout import page, paragraph
from advisor.cli.rows import ROW_KINDS, row_lines
from advisor.errors import InputError, Problem, nearest
from advisor.job.names import fold, resolve_alloy, resolve_finish
from advisor.knowledge.base import Knowledge
from advisor.knowledge.vocabulary import Attribute


@dataclass(frozen=True, slots=True)
class Entry:
    """A word with all its spellings, what kind of word it is, and what it means."""

    title: str
    kind: str
    names: tuple[str, ...]
    lines: tuple[str, ...]
    see: tuple[str, ...] = ()


def all_terms(knowledge: Knowledge) -> str:
    """Every shop word, grouped by its first letter."""
    groups: dict[str, list[str]] = {}
    for word in sorted(knowledge.words, key=lambda word: word.term.casefold()):
        first = word.term[:1].upper()
        groups.setdefault(first if first.isalpha() else "0-9", []).append(word.term)
    lines = [paragraph(f"{first} {', '.join(terms)}", 0, len(first) + 1) for first, terms in groups.items()]
    more = "alloys, defects, finishes, designations, grains, grades, media, backings, symptoms and cells"
    return page(
        ["\n".join(lines), paragraph(f"advisor words TERM says what a word means; it also knows {more}.")]
    )


def look_up(term: str, knowledge: Knowledge) -> str:
    """What a term means: every entry that has it as a name, whatever its case, spaces and hyphens.

    Raises InputError with the nearest term where nothing has that name.
    """
    wanted = fold(term)
    known = list(entries(knowledge))
    found = [entry for entry in known if wanted and wanted in map(fold, entry.names)]
    found = found or _resolved(term, known, knowledge)
    if not found:
        names = {name: None for entry in known for name in entry.names}
        allowed = "a shop word, or a name from the tables; advisor words lists the shop words"
        raise InputError(Problem("advisor words", "no such word here", term, allowed, nearest(term, names)))
    return page(_shown(entry) for entry in found)


def entries(knowledge: Knowledge) -> Iterator[Entry]:
    """All that can be looked up: words first, then the vocabulary, then the tables."""
    for word in knowledge.words:
        yield Entry(
            word.term, "shop word", (word.term, *word.also), (word.means, *_also(word.also)), word.see
        )
    yield from _vocabulary(knowledge)
    for table, kind in ROW_KINDS.items():
        for key, row in knowledge.tables[table].items():
            lines = tuple(row_lines(row, knowledge))
            name = row.name or key
            numbers = (getattr(row, standard, None) for standard in ("uns", "en"))
            names = (key, name, *getattr(row, "also", ()), *filter(None, numbers))
            yield Entry(key if key == name else f"{key}: {name}", kind, names, lines)


def _vocabulary(knowledge: Knowledge) -> Iterator[Entry]:
    tabled = {tuple(knowledge.tables[table]) for table in (*ROW_KINDS, "grades")}
    for attribute in knowledge.vocabulary.attributes.values():
        yield Entry(attribute.title, "property of a job", (attribute.title, attribute.key), _about(attribute))
        if attribute.kind not in ("flag", "number", "grade") and attribute.values not in tabled:
            for value in attribute.values:
                told = f"One of {listed(attribute.values)}. {attribute.means}"
                yield Entry(
                    value, f"{attribute.title} ({attribute.key})", (value,), (told,), (attribute.title,)
                )
    for decision in knowledge.vocabulary.decisions.values():
        names = (decision.title, decision.key, decision.key.replace("_", " "))
        yield Entry(decision.title, "decision", names, _about(decision.as_attribute()))
        if decision.options and decision.options not in tabled:
            for option in decision.options:
                told = f"One of {listed(decision.options)}. {decision.means}"
                kind = f"choice of {decision.title} ({decision.key})"
                yield Entry(option, kind, (option,), (told,), (decision.title,))


def _about(attribute: Attribute) -> tuple[str, ...]:
    lines = [attribute.means]
    if attribute.values:
        lines.append(f"Values: {', '.join(attribute.values)}.")
    if attribute.low is not None and attribute.high is not None:
        unit = f" {attribute.unit}" if attribute.unit and attribute.unit != "1" else ""
        lines.append(f"From {attribute.low:g} to {attribute.high:g}{unit}.")
    if attribute.if_unknown is not None:
        lines.append(f"Where nobody knows: {attribute.if_unknown.say}")
    lines.append(f"In rules: {attribute.key}.")
    return tuple(lines)


def _resolved(term: str, known: list[Entry], knowledge: Knowledge) -> list[Entry]:
    """A number with a body before it ("AISI 316L", "EN 1.4404"), read as a job file would be."""
    keys = []
    tables = knowledge.tables
    with suppress(InputError):
        keys.append(resolve_alloy(term, tables.alloys).key)
    with suppress(InputError):
        finish, designation = resolve_finish(term, tables.finishes, tables.designations, None)
        keys.append(finish.key if designation is None else designation.key)
    return [entry for entry in known if entry.names[0] in keys and entry.kind in ROW_KINDS.values()]


def _also(names: tuple[str, ...]) -> tuple[str, ...]:
    return (f"Also: {', '.join(names)}.",) if names else ()


def _shown(entry: Entry) -> str:
    lines = [f"{entry.title} ({entry.kind})", *(paragraph(line, 2) for line in entry.lines if line)]
    if entry.see:
        lines.append(paragraph(f"See: {', '.join(entry.see)}.", 2))
    return "\n".join(lines)
