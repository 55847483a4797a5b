"""The explanation trail for reading: which value rests on which reason, and each reason as a sentence."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from advisor.reasons import KIND_WORDS, Input, Reason, split_sources
from advisor.render import words
from advisor.render.quantities import attribute_words, both, both_length, fact_text
from advisor.render.speech import Speech
from advisor.sheet.model import Feature
from advisor.units import figure

_VALUE_WORDS = {
    "grain_um": "grain size",
    "step_over_mm": "step over",
    "surface_speed_m_s": "surface speed",
    "marked_speed_m_s": "marked speed",
    "rpm": "rpm",
    "force_n": "force",
    "feed_mm_s": "feed",
    "removal_um": "removal",
    "remaining_um": "what is left of the defect",
    "ra_um": "Ra",
    "rz_um": "Rz",
    "force_limits": "bounds of the force",
    "time_s": "time",
    "power_w": "power",
}
#: Kinds of source that have no document.
_UNWRITTEN = {"common-practice", "from-memory"}
UNSEEN = "from memory: check before relying on it"
#: The same where it is said once for all.
FROM_MEMORY = "from memory"
#: Inputs of formulas that are a roughness; every other one in micrometres is a length.
_ROUGHNESS_INPUTS = {"Ra before", "floor"}
_ROUGHNESS_FORMULAS = {"floor_ra", "ra_after", "ra_best"}


@dataclass(frozen=True)
class Entry:
    """One reason as it is printed. Reasons that say the same share an entry.

    `origin` is the rule or the kind of the reason, with the kind of its source; `sources` are the marks
    of the documents behind it. `matched` has the facts or the formula of each id, once where all agree.
    """

    ids: tuple[str, ...]
    text: str
    origin: str
    sources: tuple[str, ...]
    matched: str | None


@dataclass(frozen=True)
class Grounds:
    """Values of one step that rest on the same reasons."""

    values: str
    ids: tuple[str, ...]


def values(feature: Feature) -> list[tuple[str, list[Grounds]]]:
    """Each step of a feature with its values, grouped by the reasons that stand behind them."""
    lines = []
    for step in feature.steps:
        grouped: dict[tuple[str, ...], list[str]] = {}
        for value, ids in step.reasons.items():
            grouped.setdefault(ids, []).append(value_words(value))
        told = [Grounds(", ".join(names), ids) for ids, names in grouped.items()]
        lines.append((f"{feature.name}, step {step.number}", told))
    return lines


def value_words(value: str) -> str:
    """A value of a step in plain words.

    >>> value_words("surface_speed_m_s"), value_words("wheel.hardness_shore_a"), value_words("top_coat")
    ('surface speed', 'wheel hardness shore a', 'top coat')
    """
    if value.startswith("windows."):
        return f"window of {value_words(value.removeprefix('windows.'))}"
    return _VALUE_WORDS.get(value) or attribute_words(value, None)[0]


def entries(speech: Speech) -> list[Entry]:
    """Every reason of the sheet by its first id; the same sentence from the same source stands once."""
    marks = _marks(speech)
    alike: dict[tuple[str, str, tuple[str, ...]], list[Reason]] = {}
    for reason in speech.sheet.reasons.values():
        sources = tuple(marks[each] for each in split_sources(reason.source) if each in marks)
        said = (words.sentence(speech.prose(reason.text)), _origin(reason, speech), sources)
        alike.setdefault(said, []).append(reason)
    return [
        Entry(tuple(reason.id for reason in found), text, origin, sources, _matched(found, speech) or None)
        for (text, origin, sources), found in alike.items()
    ]


def documents(speech: Speech) -> list[tuple[str, str]]:
    """The mark of each document that a reason rests on, with its title and what it is."""
    known = speech.sheet.sources
    return [(mark, f"{known[key].title} ({known[key].words})") for key, mark in _marks(speech).items()]


def _marks(speech: Speech) -> dict[str, str]:
    """S1, S2 and so on for the documents, in the order that the reasons name them."""
    named = (key for reason in speech.sheet.reasons.values() for key in split_sources(reason.source))
    titled = (key for key in named if key in speech.sheet.sources and key not in _UNWRITTEN)
    return {key: f"S{place}" for place, key in enumerate(dict.fromkeys(titled), start=1)}


def _origin(reason: Reason, speech: Speech) -> str:
    """The rule, or what kind of reason it is, then the kind of its source in short."""
    known = [speech.sheet.sources[key].words for key in split_sources(reason.source) if key in speech.sheet.sources]
    kind = reason.source_kind or "; ".join(dict.fromkeys(known)) or reason.source
    first = f"rule {reason.rule}" if reason.rule else KIND_WORDS[reason.kind]
    return f"{first}; {kind.replace(UNSEEN, FROM_MEMORY)}" if kind else first


def _matched(found: Sequence[Reason], speech: Speech) -> str:
    """The facts that reasons matched, or the formula with what went in and came out; what all share once."""
    facts = ["; ".join(_fact(key, value, speech) for key, value in reason.facts.items()) for reason in found]
    if all(reason.formula is None for reason in found):
        if len(set(facts)) == 1:
            return facts[0]
        return ". ".join(f"{reason.id} {told}" for reason, told in zip(found, facts, strict=True) if told)
    taken = [{name: _input_text(name, value, speech) for name, value in each.inputs.items()} for each in found]
    shared = {name: text for name, text in taken[0].items() if all(each.get(name) == text for each in taken)}
    formula = f"formula: {words.name(found[0].formula, {})}"
    if len(found) == 1:
        return "; ".join(filter(None, [facts[0], f"{formula}{_gives(found[0], speech)}{_from(taken[0])}"]))
    each = [
        f"{reason.id}{_gives(reason, speech)}{_from({name: own[name] for name in own if name not in shared})}"
        for reason, own in zip(found, taken, strict=True)
    ]
    return f"{formula}{_from(shared)}; {'; '.join(each)}"


def _gives(reason: Reason, speech: Speech) -> str:
    """What came out of a formula."""
    if reason.gives is None:
        return ""
    name = "floor" if reason.formula in _ROUGHNESS_FORMULAS else ""
    return f" gives {_input_text(name, reason.gives, speech)}"


def _from(inputs: Mapping[str, str]) -> str:
    """What went into a formula."""
    told = [f"{words.name(name, {})} {text}" for name, text in inputs.items()]
    return f", from {words.join(told)}" if told else ""


def _input_text(name: str, given: Input, speech: Speech) -> str:
    if isinstance(given.value, float) and given.unit == "1":
        shown = figure(given.value)
    elif not isinstance(given.value, (int, float)) or given.unit == "1":
        shown = fact_text(given.value, None, speech.system)
    else:
        shown = (both if name in _ROUGHNESS_INPUTS else both_length)(given.value, given.unit, speech.system)
    if given.low is None or given.high is None:
        return shown
    return f"{shown} (or {figure(given.low)} to {figure(given.high)})"


def _fact(attribute: str, value: object, speech: Speech) -> str:
    title, unit = attribute_words(attribute, speech.sheet.names.get(attribute))
    if attribute == "after" and isinstance(value, str):
        shown = value.replace("-", " ")  # what is to come; the same key among the defects is an old coating
    elif isinstance(value, str):
        shown = speech.grade(value, "P") if value in speech.sheet.ansi else speech.name(value)
    elif isinstance(value, tuple):
        told = [speech.name(each) if isinstance(each, str) else _scalar(each, unit, speech) for each in value]
        shown = words.join(told, "or")
    else:
        shown = _scalar(value, unit, speech)
    return f"{title}: {shown}"


def _scalar(value: object, unit: str | None, speech: Speech) -> str:
    return fact_text(value if isinstance(value, (int, float)) else None, unit, speech.system)


def source_text(source: str | None, kind: str | None, speech: Speech) -> str | None:
    """What stands behind a value: its kind in words, and the titles of the sources that have one."""
    known = [speech.sheet.sources[key].words for key in split_sources(source) if key in speech.sheet.sources]
    titles = [
        speech.sheet.sources[key].title
        for key in split_sources(source)
        if key in speech.sheet.sources and key not in _UNWRITTEN
    ]
    told = [each for each in (kind or "; ".join(dict.fromkeys(known)), words.join(titles)) if each]
    return ": ".join(told) or source
