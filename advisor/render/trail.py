"""The explanation trail for reading: which value rests on which reason, and each reason as a sentence."""

from __future__ import annotations

from dataclasses import dataclass

from advisor.reasons import KIND_WORDS, Input, Reason, split_sources
from advisor.render import words
from advisor.render.quantities import attribute_words, both, both_length, fact_text
from advisor.render.steps import Speech
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
#: Inputs of formulas that are a roughness; every other one in micrometres is a length.
_ROUGHNESS_INPUTS = {"Ra before", "floor"}


@dataclass(frozen=True)
class Entry:
    """One reason as it is printed."""

    id: str
    kind: str
    text: str
    rule: str | None
    source: str | None
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
    """Every reason of the sheet, in the order of the ids."""
    return [_entry(key, reason, speech) for key, reason in speech.sheet.reasons.items()]


def _input_text(name: str, given: Input, speech: Speech) -> str:
    if not isinstance(given.value, (int, float)) or given.unit == "1":
        shown = fact_text(given.value, None, speech.system)
    else:
        shown = (both if name in _ROUGHNESS_INPUTS else both_length)(given.value, given.unit, speech.system)
    if given.low is None or given.high is None:
        return shown
    return f"{shown} (or {figure(given.low)} to {figure(given.high)})"


def _entry(key: str, reason: Reason, speech: Speech) -> Entry:
    matched = [_fact(attribute, value, speech) for attribute, value in reason.facts.items()]
    if reason.formula is not None:
        inputs = [
            f"{words.name(name, {})} {_input_text(name, given, speech)}" for name, given in reason.inputs.items()
        ]
        formula = words.name(reason.formula, {})
        gives = f" gives {_input_text('', reason.gives, speech)}" if reason.gives else ""
        matched.append(f"formula: {formula}{gives}" + (f", from {words.join(inputs)}" if inputs else ""))
    return Entry(
        id=key,
        kind=KIND_WORDS[reason.kind],
        text=words.sentence(speech.prose(reason.text)),
        rule=reason.rule,
        source=source_text(reason.source, reason.source_kind, speech),
        matched="; ".join(matched) or None,
    )


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
        if key in speech.sheet.sources and key not in {"common-practice", "from-memory"}
    ]
    told = [each for each in (kind or "; ".join(dict.fromkeys(known)), words.join(titles)) if each]
    return ": ".join(told) or source
