"""Values of a step and windows of advice in plain words."""

from __future__ import annotations

from collections.abc import Iterable

from pydantic import BaseModel

from advisor.choices.model import RangeChoice
from advisor.explain.point import Place, field_on_sheet, plain
from advisor.knowledge.base import Knowledge
from advisor.knowledge.rules import Advice
from advisor.sheet.explain import Explainer
from advisor.sheet.model import Band, Step
from advisor.units import figure

_FIELD_UNITS = {
    "_mm_s": "mm/s", "_m_s": "m/s", "_mm": "mm", "_um": "um", "_n": "N", "_s": "s", "_w": "W",
    "_shore_a": "Shore A", "_kpa": "kPa", "_k": "K",
}  # fmt: skip
_WHEEL = {
    "wheel_hardness": "hardness_shore_a",
    "wheel_cover": "cover",
    "wheel_face": "face",
    "wheel_width": "width_mm",
    "wheel_edge": "edge_radius_mm",
    "wheel_diameter": "diameter_mm",
}


def list_words(words: Iterable[str], last: str = "and") -> str:
    """Words as a person lists them.

    >>> list_words(["a", "b", "c"]), list_words(["a"])
    ('a, b and c', 'a')
    """
    items = list(words)
    return f"{', '.join(items[:-1])} {last} {items[-1]}" if len(items) > 1 else "".join(items)


def unit_of(field: str) -> str:
    """The unit that the name of a field ends in; empty where it ends in none.

    >>> unit_of("surface_speed_m_s"), unit_of("force_n"), unit_of("passes")
    ('m/s', 'N', '')
    """
    return next((unit for end, unit in _FIELD_UNITS.items() if field.endswith(end)), "")


def value_words(place: Place, decision: str, knowledge: Knowledge) -> str | None:
    """What a step has for a decision or value; None where it has nothing."""
    step, values = place.step, place.planned.candidate.values
    if decision in _WHEEL:
        inner = getattr(step.wheel, _WHEEL[decision]) if step.wheel else None
        return None if inner is None else shown(inner, unit_of(_WHEEL[decision]), knowledge)
    if decision in knowledge.vocabulary.order and decision in values and decision not in Step.model_fields:
        field = field_on_sheet(decision)
        value = getattr(step, field) if field is not None and plain(field) == decision else values[decision]
        unit = unit_of(field) if field is not None and plain(field) == decision else (
            knowledge.vocabulary.decisions[decision].unit or ""
        )  # fmt: skip
        return None if value is None else shown(value, unit, knowledge)
    field = field_on_sheet(decision)
    value = getattr(step, field) if field is not None else None
    return None if value is None or field is None else shown(value, unit_of(field), knowledge)


def shown(value: object, unit: str, knowledge: Knowledge) -> str:
    """A value of the sheet in plain words with its unit."""
    after = f" {unit}" if unit not in ("", "1") else ""
    if isinstance(value, Band):
        return f"{figure(value.expected)}{after} ({figure(value.low)} to {figure(value.high)})"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return f"{figure(float(value))}{after}"
    if isinstance(value, BaseModel):
        parts = []
        for name in type(value).model_fields:
            inner = getattr(value, name)
            if inner is not None and isinstance(inner, (int, float, str, Band)):
                title = name.removesuffix("_" + unit_of(name).replace("/", "_").replace(" ", "_").lower())
                parts.append(f"{title.replace('_', ' ')} {shown(inner, unit_of(name), knowledge)}")
        return ", ".join(parts[:2]) or "as the sheet lists"
    if isinstance(value, tuple):
        return " to ".join(shown(each, unit, knowledge) for each in value)
    text = str(value)
    name = Explainer(knowledge).name(text)
    plainly = text.replace("-", " ")
    return name if name in (text, plainly) else f"{text} ({name})"


def place_words(choice: RangeChoice, end: float, unit: str, scale: str | None, knowledge: Knowledge) -> str:
    """One end of a window: a grade, a class, or a number with its unit."""
    vocabulary = knowledge.vocabulary
    decision = vocabulary.decisions[choice.decision]
    if decision.kind == "grade":
        keys = vocabulary.on_scale["P" if choice.decision == "accepts" else scale or "P"]
        return keys[min(max(int(end), 0), len(keys) - 1)]
    if decision.kind == "ordered":
        return decision.options[int(end)]
    return f"{figure(end)} {unit}" if unit not in ("", "1", "passes") else figure(end)


def span_words(advice: Advice, unit: str, knowledge: Knowledge) -> str:
    """The window that a piece of advice names, and what it aims at."""
    said = [" or ".join(advice.options)] if advice.options else []
    span = advice.span
    if span is not None and not advice.options:
        scale = knowledge.vocabulary.on_scale.get(advice.scale or "", ())

        def end(value: float) -> str:
            if advice.scale:
                return scale[int(value)]
            return f"{figure(value)} {unit}" if unit not in ("", "1", "passes") else figure(value)

        if span.low is not None and span.low == span.high:
            said.append(end(span.low))
        else:
            low = None if span.low is None else f"{'above' if span.low_open else 'at least'} {end(span.low)}"
            high = (
                None if span.high is None else f"{'below' if span.high_open else 'at most'} {end(span.high)}"
            )
            said.append(", ".join(word for word in (low, high) if word))
    if advice.aim is not None:
        said.append(f"aim {advice.aim}")
    return ", ".join(word for word in said if word)
