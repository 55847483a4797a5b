"""Reads what a rule says: advice on a decision, a conclusion, or a sentence for the sheet."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from advisor.knowledge.fields import NOT_DECLARED, Faults, check_range, check_value, fields
from advisor.knowledge.rules import Advice, Aim, Conclusion, Consequence, Note, NoteKind, Span
from advisor.knowledge.strict_yaml import Node
from advisor.knowledge.vocabulary import STRENGTHS, Decision, Strength, Vocabulary

_NOTES: tuple[NoteKind, ...] = ("caution", "check", "remedy", "outside", "afterwards")
_ENDS = ("at least", "at most", "above", "below")
_AIMS: Mapping[str, tuple[Aim, ...]] = {"number": ("low", "middle", "high"), "grade": ("fine", "coarse")}
_POSITIVE = ("must", "should", "may")
_ONE_SIDE = "'never' bounds a quantity on one side only"
CHANGES = ("lower", "higher", "finer", "coarser", "softer", "harder")


def read_consequence(node: Node, vocabulary: Vocabulary, faults: Faults) -> Consequence | None:
    """One entry of `then`."""
    item = fields(node)
    words = [*STRENGTHS, "conclude", *_NOTES]
    said = [word for word in item if word in words]
    if len(said) != 1 or set(item) - {said[0], *(("change",) if said[0] == "remedy" else ())}:
        given = ", ".join(item) or None
        faults.add(node, "a consequence says one thing", words, given=given)
        return None
    word = said[0]
    if word == "conclude":
        return _conclusion(item[word], vocabulary, faults)
    for kind in _NOTES:
        if word == kind:
            change = _change(item["change"], vocabulary, faults) if "change" in item else {}
            return Note(kind=kind, text=faults.text(item[word], kind), change=change)
    strength = next(strength for strength in STRENGTHS if strength == word)
    return _advice(strength, item[word], vocabulary, faults)


def _conclusion(node: Node, vocabulary: Vocabulary, faults: Faults) -> Conclusion | None:
    entries = list(fields(node).items())
    if len(entries) != 1:
        faults.add(node, "a conclusion sets one attribute")
        return None
    key, item = entries[0]
    concludable = {name: a for name, a in vocabulary.attributes.items() if a.set_by == "rule"}
    if key not in concludable:
        faults.at(node.key_place(key, faults.file), "not an attribute that rules conclude", concludable, key)
        return None
    value = check_value(concludable[key], item, vocabulary, faults)
    return None if value is None else Conclusion(attribute=key, value=value)


def _change(node: Node, vocabulary: Vocabulary, faults: Faults) -> dict[str, str]:
    changes = {}
    for key, item in fields(node).items():
        decision = vocabulary.decisions.get(key)
        if decision is None:
            faults.at(node.key_place(key, faults.file), "unknown decision", vocabulary.decisions, key)
            continue
        allowed = (*CHANGES, *decision.options, *_grades(decision, vocabulary))
        changes[key] = faults.choice(item, f"change of {key}", allowed)
    return changes


def _grades(decision: Decision, vocabulary: Vocabulary) -> tuple[str, ...]:
    return tuple(vocabulary.grades) if decision.kind == "grade" else ()


def _advice(strength: Strength, node: Node, vocabulary: Vocabulary, faults: Faults) -> Advice | None:
    entries = list(fields(node).items())
    if len(entries) != 1:
        faults.add(node, "advice speaks on one decision")
        return None
    key, item = entries[0]
    decision = vocabulary.decisions.get(key)
    if decision is None:
        faults.at(node.key_place(key, faults.file), "unknown decision", vocabulary.decisions, key)
        return None
    if decision.kind in ("list", "ordered") and not isinstance(item.value, dict):
        return _options(strength, decision, item, faults)
    if decision.kind == "grade" and not isinstance(item.value, dict):
        return _listed_grades(strength, decision, item, vocabulary, faults)
    return _stretch(strength, decision, item, vocabulary, faults)


def _options(strength: Strength, decision: Decision, node: Node, faults: Faults) -> Advice | None:
    items = node.value if isinstance(node.value, list) else [node]
    what = f"option of {decision.key}"
    options = tuple(faults.choice(item, what, decision.options, NOT_DECLARED) for item in items)
    if "" in options:
        return None
    if not options:
        faults.add(node, f"advice on {decision.key} names no option", decision.options)
        return None
    if decision.kind == "ordered":
        places = sorted({decision.options.index(option) for option in options})
        if places != list(range(places[0], places[-1] + 1)):
            faults.add(node, f"the classes of {decision.key} must lie side by side")
        if strength == "never" and places[0] > 0 and places[-1] < len(decision.options) - 1:
            faults.add(node, _ONE_SIDE)
    return Advice(strength=strength, decision=decision.key, options=options)


def _listed_grades(
    strength: Strength, decision: Decision, node: Node, vocabulary: Vocabulary, faults: Faults
) -> Advice | None:
    items = node.value if isinstance(node.value, list) else [node]
    keys = [faults.choice(item, "grade", vocabulary.grades, NOT_DECLARED) for item in items]
    if "" in keys:
        return None
    scales = {vocabulary.rank[key][0] for key in keys}
    if len(scales) != 1:
        faults.add(node, "advice on a grade keeps to one scale")
        return None
    places = sorted({vocabulary.rank[key][1] for key in keys})
    scale = scales.pop()
    last = len(vocabulary.on_scale[scale]) - 1
    if places != list(range(places[0], places[-1] + 1)):
        faults.add(node, "the grades must lie side by side")
    if strength == "never" and places[0] > 0 and places[-1] < last:
        faults.add(node, _ONE_SIDE)
    span = Span(
        low=places[0] if places[0] > 0 else None,
        high=places[-1] if places[-1] < last else None,
    )
    return Advice(strength=strength, decision=decision.key, span=span, scale=scale)


def _stretch(
    strength: Strength, decision: Decision, node: Node, vocabulary: Vocabulary, faults: Faults
) -> Advice | None:
    if decision.kind == "list":
        faults.add(node, f"{decision.key} has no order: name its options", decision.options)
        return None
    aims = _AIMS.get(decision.kind, ()) if strength in _POSITIVE else ()
    item = faults.mapping(node, f"advice on {decision.key}", (), (*_ENDS, *(("aim",) if aims else ())))
    word = faults.choice(item.pop("aim"), "aim", aims) if "aim" in item else ""
    aim = next((aim for aim in aims if aim == word), None)
    scales: set[str] = set()
    ends: dict[str, float] = {}
    for word, end in item.items():
        place = _end(decision, end, vocabulary, scales, faults)
        if place is not None:
            ends[word] = place
    if len(scales) > 1:
        faults.add(node, "advice on a grade keeps to one scale")
    if node.value == {}:
        faults.add(node, f"advice on {decision.key} says nothing")
    if not ends and not aim:
        return None
    span = (
        Span(
            low=ends.get("at least", ends.get("above")),
            high=ends.get("at most", ends.get("below")),
            low_open="above" in ends,
            high_open="below" in ends,
        )
        if ends
        else None
    )
    _check_ends(node, span, ends, strength, faults)
    options: tuple[str, ...] = ()
    if decision.kind == "ordered" and span:
        options = tuple(option for place, option in enumerate(decision.options) if _inside(place, span))
        span = None
    return Advice(
        strength=strength,
        decision=decision.key,
        span=span,
        options=options,
        scale=scales.pop() if scales else None,
        aim=aim,
    )


def _check_ends(
    node: Node, span: Span | None, ends: Collection[str], strength: Strength, faults: Faults
) -> None:
    if {"at least", "above"} <= set(ends) or {"at most", "below"} <= set(ends):
        faults.add(node, "one end is given twice", given=" and ".join(ends))
    if span is None or span.low is None or span.high is None:
        return
    if span.low > span.high or (span.low == span.high and (span.low_open or span.high_open)):
        faults.add(node, "the lower end lies above the upper end")
    if strength == "never":
        faults.add(node, _ONE_SIDE)


def _inside(place: float, span: Span) -> bool:
    above = span.low is None or place > span.low or (place == span.low and not span.low_open)
    below = span.high is None or place < span.high or (place == span.high and not span.high_open)
    return above and below


def _end(
    decision: Decision, node: Node, vocabulary: Vocabulary, scales: set[str], faults: Faults
) -> float | None:
    if decision.kind == "grade":
        key = faults.choice(node, "grade", vocabulary.grades)
        if not key:
            return None
        scale, place = vocabulary.rank[key]
        scales.add(scale)
        return place
    if decision.kind == "ordered":
        option = faults.choice(node, f"option of {decision.key}", decision.options)
        return decision.options.index(option) if option else None
    number = faults.number(node, decision.key)
    if number is not None:
        check_range(decision, number, node, faults)
    return number
