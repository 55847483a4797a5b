"""A comparison as text for a reader and as JSON for a program."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterator, Sequence
from typing import Any

from advisor.comparison.compare import unit_of
from advisor.comparison.model import Apart, Cause, Change, Comparison, FacePair, StepPair
from advisor.reasons import in_words
from advisor.units import figure, show

_WIDTH = 96
_COLUMN = 42
_NOTHING = "-"


def to_json(found: Comparison) -> str:
    """The whole comparison; the same comparison gives the same bytes."""
    return json.dumps({"same": found.same, **found.model_dump(mode="json")}, ensure_ascii=False, indent=1) + "\n"


def to_text(found: Comparison, *, shown_same: bool = True) -> str:
    """Both sheets in two columns, face by face, and below each step what differs and why.

    Without `shown_same`, faces that do not differ are only named.
    """
    lines = list(_head(found))
    if found.job:
        lines += ["", "Asked otherwise"]
        lines += [f"  {item.field}: {value_text(item.first)} -> {value_text(item.second)}" for item in found.job]
    whole = [item for item in found.whole if item.kind != "sentence"]
    if whole:
        lines += ["", "The whole sheet", *changes_text(whole)]
    for face in found.faces:
        if shown_same or not face.same:
            lines += ["", *face_text(face, found)]
    alike = [str(face.second) for face in found.faces if face.same]
    if alike and not shown_same:
        lines += ["", f"Not changed: {', '.join(alike)}."]
    notes = [item for item in found.whole if item.kind == "sentence"]
    if notes:
        lines += ["", "Cautions and notes", *changes_text(notes)]
    lines += ["", *_foot(found)]
    return "\n".join(lines).rstrip("\n") + "\n"


def _head(found: Comparison) -> Iterator[str]:
    for mark, side in (("<", found.first), (">", found.second)):
        yield f"{mark} {side.name}"
    same_knowledge = found.first.fingerprint == found.second.fingerprint
    if not same_knowledge or found.first.program != found.second.program:
        for mark, side in (("<", found.first), (">", found.second)):
            yield f"{mark} program {side.program}, knowledge {side.fingerprint} ({side.rules} rules)"


def _foot(found: Comparison) -> Iterator[str]:
    if found.same:
        yield "Both advise the same."
    if found.within_draws:
        yield from _wrapped(
            f"{found.within_draws} predictions differ by no more than the draws behind them and are not shown."
        )


def face_text(face: FacePair, found: Comparison | None = None) -> Iterator[str]:
    """A face: its steps in two columns, then what differs step by step."""
    if face.first == face.second:
        yield str(face.second)
    else:
        yield f"{face.first or '(no such face)'} | {face.second or '(no such face)'}"
    if not face.steps:
        yield "  no process on either side"
    for pair in face.steps:
        yield f"  {_row(pair)}"
    for pair in face.steps:
        if pair.changes:
            yield f"  {_title(pair)}"
            yield from changes_text(pair.changes, 4)
    if face.changes:
        yield "  whole face"
        yield from changes_text(face.changes, 4)


def _row(pair: StepPair) -> str:
    sides = [
        f"{number}  {says}" if number is not None else ""
        for number, says in ((pair.first, pair.first_says), (pair.second, pair.second_says))
    ]
    if None in (pair.first, pair.second):
        mark = "<" if pair.second is None else ">"
    else:
        mark = "|" if any(item.kind == "setting" for item in pair.changes) else "="
    return f"{sides[0]:<{_COLUMN}} {mark} {sides[1]}".rstrip()


def _title(pair: StepPair) -> str:
    number = f"step {pair.second}" if pair.first == pair.second else f"step {pair.first} | {pair.second}"
    return f"{number}: {pair.second_says}"


#: A single figure and the band around it: where both differ the band is shown.
_BANDS = {"heat.rise_k": "heat.rise", "wear.parts_per_media": "wear.parts"}


def changes_text(changes: Sequence[Change], indent: int = 2) -> Iterator[str]:
    """Each change on a line, with what stands behind it; the same causes are told once."""
    told: dict[tuple[Cause, ...], list[Change]] = {}
    there = {item.field for item in changes}
    for item in changes:
        if _BANDS.get(item.field) in there:
            continue  # the band tells it
        told.setdefault(item.causes, []).append(item)
    for behind, group in told.items():
        for item in group:
            yield from _wrapped(change_text(item), indent, 2)
        for cause in behind:
            yield from _wrapped(cause_text(cause), indent + 4, 2)


def change_text(item: Change) -> str:
    """One change on one line.

    >>> change_text(Change(kind="setting", field="wheel.width_mm", first=15.0, second=25.0, unit="mm"))
    'wheel width: 15 mm -> 25 mm'
    >>> change_text(Change(kind="sentence", field="cautions", second="Wear gloves."))
    'only second: Wear gloves.'
    """
    if item.kind in ("sentence", "refusal"):
        side, text = ("first", item.first) if item.second is None else ("second", item.second)
        return f"{side} is held back: {text}" if item.kind == "refusal" else f"only {side}: {text}"
    return f"{field_words(item.field)}: {value_text(item.first, item.unit)} -> {value_text(item.second, item.unit)}"


def field_words(field: str) -> str:
    """The name of a field without its unit.

    >>> field_words("windows.surface_speed_m_s"), field_words("time_s"), field_words("grain_um")
    ('window of surface speed', 'time', 'grain size')
    """
    own = {"grain_um": "grain size", "removal_um": "taken off", "remaining_um": "left of the defect",
           "ra_um": "Ra", "rz_um": "Rz", "wear.change_out_mm": "wear change out diameter"}  # fmt: skip
    if field in own:
        return own[field]
    owner, _, name = field.rpartition(".")
    for end in ("_mm_s", "_m_s", "_mm", "_um", "_n", "_w", "_kpa", "_s", "_k", "_shore_a", "_cm3"):
        if name.endswith(end):
            name = name.removesuffix(end)
            break
    words = name.replace("_", " ")
    if owner == "force_limits":
        return f"force limit ({words})"
    return f"window of {words}" if owner == "windows" else f"{owner.replace('_', ' ')} {words}".strip()


def value_text(value: Any, unit: str | None = None) -> str:
    """A value of a sheet for reading; a band with its ends."""
    if value is None:
        return _NOTHING
    if isinstance(value, dict):
        if {"low", "expected", "high"} <= set(value):
            low, middle, high = (figure(value[key]) for key in ("low", "expected", "high"))
            return f"{middle} ({low} to {high}){f' {unit}' if unit else ''}"
        return "; ".join(f"{field_words(key)} {value_text(each, unit_of(key))}" for key, each in value.items())
    if isinstance(value, (list, tuple)) and not value:
        return "none"
    if isinstance(value, (list, tuple)):
        parts = [value_text(each) for each in value]
        joined = " to ".join(parts) if unit and len(parts) == 2 else ", ".join(parts)
        return f"{joined} {unit}" if unit else joined
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return in_words(value)
    return show(float(value), unit or "1")


def cause_text(cause: Cause) -> str:
    """A reason behind a difference, as a sentence with its rule or formula."""
    by = f"[{cause.rule}] " if cause.rule else f"[formula {cause.formula}] " if cause.formula else ""
    apart = "; ".join(_apart_text(item) for item in cause.apart)
    if cause.on != "both":
        facts = f" ({apart})" if apart else ""
        return f"{'<' if cause.on == 'first' else '>'} {by}{cause.text}{facts}"
    return f"= {by}{apart}" if by else f"= {cause.text}{f' ({apart})' if apart else ''}"


def _apart_text(item: Apart) -> str:
    sides = [
        value_text(list(side) if isinstance(side, tuple) else side, None if item.unit == "1" else item.unit)
        if side is not None else "not known"
        for side in (item.first, item.second)
    ]  # fmt: skip
    return f"{item.name} {sides[0]} -> {sides[1]}"


def _wrapped(text: str, indent: int = 0, hanging: int = 2) -> list[str]:
    return textwrap.wrap(
        text, _WIDTH, initial_indent=" " * indent, subsequent_indent=" " * (indent + hanging),
        break_long_words=False, break_on_hyphens=False,
    )  # fmt: skip
