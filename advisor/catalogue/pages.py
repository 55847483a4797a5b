"""Writes the knowledge base as Markdown pages: a page a topic of rules, the vocabulary, the glossary."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from advisor.catalogue.sentences import condition_line, consequence_line, example_line, source_line
from advisor.knowledge.base import Knowledge, Word
from advisor.knowledge.rules import Rule
from advisor.knowledge.vocabulary import CONCERNS, Attribute, SetBy
from advisor.render.words import escape

if TYPE_CHECKING:
    from jinja2 import Environment

_TEMPLATES = Path(__file__).parent / "templates"
_SETTERS: Mapping[SetBy, str] = {
    "job": "What the job says",
    "table": "What a reference table says",
    "plan": "Where the plan stands",
    "formula": "What a formula works out for the station at hand",
    "rule": "What rules conclude",
}


@dataclass(frozen=True, slots=True)
class Topic:
    """One file of rules as a page."""

    key: str
    rules: tuple[Rule, ...]

    @property
    def title(self) -> str:
        """The name of the file in plain words.

        >>> Topic("contact-wheel", ()).title
        'Contact wheel'
        """
        return self.key.rsplit("/", 1)[-1].replace("-", " ").capitalize()

    @property
    def page(self) -> str:
        """The page's name inside the folder of rule pages; a folder of rule files becomes part of it."""
        return f"{self.key.replace('/', '-')}.md"


def pages(knowledge: Knowledge) -> dict[str, str]:
    """Every generated page by its path inside `docs/reference`; the same knowledge gives the same bytes."""
    topics = _topics(knowledge.rules)
    home = {rule.id: topic.page for topic in topics for rule in topic.rules}
    written = {"rules/index.md": _index(topics, knowledge)}
    for topic in topics:
        shown = [_rule(rule, topic, home, knowledge) for rule in topic.rules]
        written[f"rules/{topic.page}"] = _render("topic.md.jinja", topic=topic, rules=shown)
    written["vocabulary.md"] = _vocabulary(knowledge)
    written["glossary.md"] = _glossary(knowledge.words)
    return written


def _topics(rules: Iterable[Rule]) -> tuple[Topic, ...]:
    """The topics by name, each with its rules in the order in which they are written."""
    found: dict[str, list[Rule]] = {}
    for rule in rules:
        found.setdefault(rule.topic, []).append(rule)
    return tuple(
        Topic(key, tuple(sorted(found[key], key=lambda rule: (_line(rule), rule.id))))
        for key in sorted(found)
    )


def _line(rule: Rule) -> int:
    return int(rule.place.split(":")[-2])


def _index(topics: Iterable[Topic], knowledge: Knowledge) -> str:
    concerns = Counter(rule.concern for rule in knowledge.rules)
    status = Counter(rule.status for rule in knowledge.rules)
    kinds = Counter(
        kind
        for rule in knowledge.rules
        for kind in {knowledge.sources[item.source].kind for item in rule.source}
    )
    listed = sorted(
        (rule.id, rule.title, topic.page, topic.title) for topic in topics for rule in topic.rules
    )
    return _render(
        "rules.md.jinja",
        topics=topics,
        count=len(knowledge.rules),
        cases=sum(len(rule.examples) for rule in knowledge.rules),
        concerns=[(concern, concerns[concern]) for concern in CONCERNS],
        status=sorted(status.items(), key=_most_first),
        kinds=sorted(((kind.replace("-", " "), n) for kind, n in kinds.items()), key=_most_first),
        listed=listed,
    )


def _most_first(item: tuple[str, int]) -> tuple[int, str]:
    return (-item[1], item[0])


def _rule(rule: Rule, topic: Topic, home: Mapping[str, str], knowledge: Knowledge) -> dict[str, Any]:
    """The parts of one rule as the template prints them."""
    vocabulary = knowledge.vocabulary
    by = sorted(other.id for other in knowledge.rules if rule.id in other.overrides)

    def linked(ids: Iterable[str]) -> list[tuple[str, str]]:
        return [(each, "" if home[each] == topic.page else home[each]) for each in ids]

    return {
        "rule": rule,
        "when": [condition_line(item, vocabulary) for item in rule.when],
        "unless": [condition_line(item, vocabulary) for item in rule.unless],
        "then": [consequence_line(item, vocabulary) for item in rule.then],
        "sources": [source_line(item.source, item.place, knowledge) for item in rule.source],
        "overrides": linked(rule.overrides),
        "overridden_by": linked(by),
        "cases": [example_line(item) for item in rule.examples],
    }


def _vocabulary(knowledge: Knowledge) -> str:
    vocabulary = knowledge.vocabulary
    tested = Counter(
        name
        for rule in knowledge.rules
        for name in {condition.attribute for condition in (*rule.when, *rule.unless)}
    )
    advised = Counter(name for rule in knowledge.rules for name in {item.decision for item in rule.advice()})
    tables = _tables(knowledge)
    groups = [
        (
            title,
            [
                (each, _values(each, tables), tested[each.key])
                for each in vocabulary.attributes.values()
                if each.set_by == setter
            ],
        )
        for setter, title in _SETTERS.items()
    ]
    decisions = [
        (each, _values(each.as_attribute(), tables), advised[key], tested[key])
        for key, each in sorted(vocabulary.decisions.items(), key=lambda item: item[1].order)
    ]
    used = {each.values for each in vocabulary.testable.values()}
    shown = [
        (name, [(key, getattr(row, "name", None) or key, _about(row)) for key, row in rows])
        for name, rows in _rows(knowledge)
        if name == "grades" or tuple(key for key, _ in rows) in used
    ]
    return _render("vocabulary.md.jinja", groups=groups, decisions=decisions, tables=shown)


def _rows(knowledge: Knowledge) -> Iterator[tuple[str, list[tuple[str, Any]]]]:
    for name in type(knowledge.tables).model_fields:
        yield name, list(knowledge.tables[name].items())


def _tables(knowledge: Knowledge) -> dict[tuple[str, ...], str]:
    """The table whose keys a list of values is."""
    return {tuple(key for key, _ in rows): name for name, rows in _rows(knowledge)}


def _values(attribute: Attribute, tables: Mapping[tuple[str, ...], str]) -> str:
    """What an attribute can be, in a few words."""
    if attribute.kind == "flag":
        return "yes or no"
    if attribute.kind == "grade":
        return "a key of the table grades"
    if attribute.values in tables:
        return f"a key of the table {tables[attribute.values]}"
    if attribute.values:
        return ", ".join(attribute.values)
    unit = "" if attribute.unit in (None, "1") else f" {attribute.unit}"
    return f"{attribute.low:,g} to {attribute.high:,.10g}{unit}"


def _about(row: Any) -> str:
    """What else helps to choose a row."""
    for column in ("looks_like", "says", "note"):
        said = getattr(row, column, None)
        if said:
            return str(said)
    return ""


def _glossary(words: Iterable[Word]) -> str:
    ordered = sorted(words, key=lambda word: word.term.casefold())
    terms = {name.casefold(): word.term for word in ordered for name in (word.term, *word.also)}
    letters: dict[str, list[tuple[Word, list[tuple[str, str | None]]]]] = {}
    for word in ordered:
        first = word.term[:1].upper()
        see = [(name, terms.get(name.casefold())) for name in word.see]
        letters.setdefault(first if first.isalpha() else "0 to 9", []).append((word, see))
    return _render("glossary.md.jinja", letters=letters)


def _render(template: str, **values: Any) -> str:
    text: str = _environment().get_template(template).render(**values)
    return text.rstrip("\n") + "\n"


@cache
def _environment() -> Environment:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined  # slow to import, needed only here

    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        finalize=escape,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        autoescape=False,  # Markdown, not HTML: finalize escapes
    )
    environment.filters["anchor"] = _anchor
    return environment


def _anchor(title: str) -> str:
    """The anchor that a heading gets.

    >>> _anchor("Belt pitch mark"), _anchor("3-A")
    ('belt-pitch-mark', '3-a')
    """
    kept = "".join(letter for letter in title.lower() if letter.isalnum() or letter in "-_ ")
    return kept.replace(" ", "-")
