"""Rules in plain words, one line each: conditions, consequences, sources and cases."""

from __future__ import annotations

from collections.abc import Iterable

from advisor.knowledge.base import Knowledge, Source
from advisor.knowledge.rules import (
    Advice,
    Conclusion,
    Condition,
    Consequence,
    Example,
    Note,
    Span,
    show_value,
)
from advisor.knowledge.vocabulary import Attribute, Vocabulary

KINDS = {
    "standard": "standard",
    "handbook": "handbook",
    "association": "trade association",
    "government": "government body",
    "paper": "research paper",
    "magazine": "trade magazine",
    "common-practice": "common practice, no document",
    "from-memory": "from memory, to be checked",
}
SEEN = {"whole": "seen whole", "excerpt": "seen in part", "memory": "remembered", "none": "not seen"}
_NOTES = {
    "caution": "Caution",
    "check": "The step is done when",
    "remedy": "Remedy",
    "outside": "Another process",
    "afterwards": "Afterwards",
}
_NUMBER_WORDS = {"at least": "at least", "at most": "at most", "above": "above", "below": "below"}
_GRADE_WORDS = {
    "at least": "{} or finer",
    "at most": "{} or coarser",
    "above": "finer than {}",
    "below": "coarser than {}",
}


def listed(words: Iterable[str], last: str = "or") -> str:
    """Words as a person lists them.

    >>> listed(["J", "JF", "X"]), listed(["J"])
    ('J, JF or X', 'J')
    """
    items = list(words)
    return f"{', '.join(items[:-1])} {last} {items[-1]}" if len(items) > 1 else "".join(items)


def condition_line(condition: Condition, vocabulary: Vocabulary) -> str:
    """One condition in words, with the attribute's title and key."""
    attribute = vocabulary.testable[condition.attribute]
    return f"{_titled(attribute)}: {_tested(condition, attribute)}"


def _tested(condition: Condition, attribute: Attribute) -> str:
    values = [_valued(value, attribute) for value in map(show_value, condition.operand)]
    if condition.operator == "in":
        return listed(values)
    if condition.operator == "not in":
        return f"not {listed(values)}"
    if condition.operator == "known":
        return "known" if condition.operand[0] else "not known"
    if attribute.kind == "grade":
        return _GRADE_WORDS[condition.operator].format(values[0])
    return f"{_NUMBER_WORDS[condition.operator]} {values[0]}"


def consequence_line(item: Consequence, vocabulary: Vocabulary) -> str:
    """One consequence in words."""
    if isinstance(item, Note):
        return f"{_NOTES[item.kind]}: {item.text}" + _change(item)
    if isinstance(item, Conclusion):
        attribute = vocabulary.attributes[item.attribute]
        return f"It follows: {_titled(attribute)} is {show_value(item.value)}"
    return f"{item.strength}: {_advised(item, vocabulary)}"


def _advised(item: Advice, vocabulary: Vocabulary) -> str:
    attribute = vocabulary.decisions[item.decision].as_attribute()
    said = [listed(item.options)] if item.options else []
    if item.span is not None:
        said.append(_stretch(item.span, item.scale, attribute, vocabulary))
    if item.aim is not None:
        said.append(f"aim {item.aim}")
    return f"{_titled(attribute)}: {', '.join(said)}"


def _stretch(span: Span, scale: str | None, attribute: Attribute, vocabulary: Vocabulary) -> str:
    def end(value: float) -> str:
        return vocabulary.on_scale[scale][int(value)] if scale else _valued(show_value(value), attribute)

    low = None if span.low is None else end(span.low)
    high = None if span.high is None else end(span.high)
    below, above = ("coarser than", "finer than") if scale else ("below", "above")
    if low is not None and low == high:
        return low
    words = []
    if low is not None:
        words.append(f"{above} {low}" if span.low_open else f"from {low}")
    if high is not None:
        words.append(f"{below} {high}" if span.high_open else f"up to {high}")
    return " ".join(words) + (f" on the {scale} scale" if scale else "")


def _change(note: Note) -> str:
    if not note.change:
        return ""
    said = (f"{key.replace('_', ' ')}: {value}" for key, value in note.change.items())
    return f" ({', '.join(said)})"


def _titled(attribute: Attribute) -> str:
    plain = attribute.key.replace("_", " ")
    return attribute.title if attribute.title == plain else f"{attribute.title} ({attribute.key})"


def _valued(text: str, attribute: Attribute) -> str:
    return f"{text} {attribute.unit}" if attribute.unit and attribute.unit != "1" else text


def source_line(key: str, place: str | None, knowledge: Knowledge) -> str:
    """A source with its kind in words and how much of it was seen."""
    source: Source | None = knowledge.sources.get(key)
    if source is None:
        return key
    where = f", {place}" if place else ""
    note = f" {source.note}" if source.note else ""
    same = source.kind == key and source.kind in ("common-practice", "from-memory")
    seen = "" if same else f"; {SEEN[source.seen]}"
    return f"{source.title}{where} ({KINDS[source.kind]}{seen}).{note}"


def sources_text(keys: Iterable[str], knowledge: Knowledge) -> str:
    """The kinds of some sources in a few words, each once."""
    kinds = [KINDS[knowledge.sources[key].kind].split(",")[0] for key in keys if key in knowledge.sources]
    return ", ".join(dict.fromkeys(kinds))


def example_line(example: Example) -> str:
    """One case in words: what is expected, and on what."""
    given = "; ".join(f"{key} {show_value(value)}" for key, value in example.given.items())
    return f"{example.expect}: {given or 'nothing is known'}"
