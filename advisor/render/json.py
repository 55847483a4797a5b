"""The sheet as JSON: the promise to other programs, the same bytes for the same sheet."""

from __future__ import annotations

import json
import math
from typing import Any

from pydantic import ValidationError

from advisor.errors import InputError, Problem, nearest, shorten
from advisor.sheet.model import SHEET_VERSION, Part, Sheet
from advisor.units import round_sig

DIGITS = 6


def to_json(sheet: Sheet) -> str:
    """A sheet as text: keys in schema order, floats rounded half-even to 6 digits, a final newline.

    Raises ValueError where the job holds a number that is not finite (a sheet itself cannot).
    """
    return (
        json.dumps(_tidy(sheet.model_dump(mode="json")), ensure_ascii=False, indent=1, allow_nan=False) + "\n"
    )


def from_json(text: str, place: str = "sheet") -> Sheet:
    """The sheet in a text. `place` names the file in messages.

    Raises InputError with every fault found: broken JSON, another program's file, a sheet of a
    newer program, unknown keys, wrong values.
    """
    return read_checked(text, place)[0]


def read_checked(text: str, place: str = "sheet") -> tuple[Sheet, dict[str, Any]]:
    """The sheet in a text, and the JSON as it stands there. Raises InputError as `from_json` does."""
    data = _read(text, place)
    if not isinstance(data, dict) or "sheet_version" not in data:
        raise InputError(Problem(place, "this is not a process sheet: it has no sheet_version"))
    version = data["sheet_version"]
    if isinstance(version, bool) or not isinstance(version, int) or version < 1:
        raise InputError(Problem(f"{place}: sheet_version", "not a version", shorten(str(version))))
    if version > SHEET_VERSION:
        raise InputError(
            Problem(
                f"{place}: sheet_version",
                "this sheet was written by a newer program; update the advisor to read it",
                given=str(version),
                allowed=f"up to {SHEET_VERSION}",
            )
        )
    try:
        return Sheet.model_validate(data), data
    except ValidationError as fault:
        raise InputError(_problem(dict(each), place) for each in fault.errors()) from None


def _tidy(value: Any) -> Any:
    if isinstance(value, float):
        if not math.isfinite(value):
            raise ValueError(f"a sheet holds only finite numbers, given {value}")
        return round_sig(value, DIGITS) + 0.0  # adding zero turns -0.0 into 0.0
    if isinstance(value, dict):
        return {key: _tidy(each) for key, each in value.items()}
    if isinstance(value, list):
        return [_tidy(each) for each in value]
    return value


def _read(text: str, place: str) -> Any:
    try:
        return json.loads(text, object_pairs_hook=_no_key_twice, parse_float=_finite, parse_constant=_finite)
    except json.JSONDecodeError as fault:
        where = f"{place}:{fault.lineno}:{fault.colno}"
        raise InputError(Problem(where, f"not valid JSON ({fault.msg.lower()})")) from None
    except RecursionError:
        raise InputError(Problem(place, "not a process sheet: nested too deeply")) from None
    except ValueError as fault:
        raise InputError(Problem(place, str(fault))) from None


def _no_key_twice(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise ValueError(f"the key {shorten(key)!r} stands twice in one object")
        found[key] = value
    return found


def _finite(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise ValueError(f"not a finite number: {shorten(text)}")
    return value


def _problem(fault: dict[str, Any], place: str) -> Problem:
    path = fault["loc"]
    where = f"{place}: {_path(path)}" if path else place
    if fault["type"] == "extra_forbidden":
        key = str(path[-1])
        return Problem(where, "a key that sheets do not have", key, nearest=nearest(key, _keys(path[:-1])))
    if fault["type"] == "missing":
        return Problem(where, "missing")
    given = None if isinstance(fault["input"], (dict, list)) else shorten(str(fault["input"]))
    return Problem(where, str(fault["msg"]).removeprefix("Value error, ").lower(), given)


def _path(path: tuple[int | str, ...]) -> str:
    text = "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in path)
    return text.removeprefix(".")


def _keys(path: tuple[int | str, ...]) -> list[str]:
    """The keys allowed at a place of the sheet, found by walking its models."""
    model: type[Part] | None = Sheet
    for part in path:
        if isinstance(part, str) and model is not None and part in model.model_fields:
            model = _inner(model.model_fields[part].annotation)
    return list(model.model_fields) if model is not None else []


def _inner(annotation: Any) -> type[Part] | None:
    if isinstance(annotation, type) and issubclass(annotation, Part):
        return annotation
    for each in getattr(annotation, "__args__", ()):
        found = _inner(each)
        if found is not None:
            return found
    return None
