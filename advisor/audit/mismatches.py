"""Walks two sheets as JSON side by side and names every place where they are not the same."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from advisor.audit.model import Mismatch
from advisor.render.json import DIGITS
from advisor.units import round_sig

#: How far two runs on different machines may lie apart; a sheet then rounds to `DIGITS` digits.
TOLERANCE = 1e-6
_PLAIN = re.compile(r"[A-Za-z_]\w*")


def mismatches(stored: Any, now: Any, path: str = "") -> Iterator[Mismatch]:
    """Every single value, list end and key that is not the same, in the order of the sheet.

    `stored` is parsed JSON, `now` what a sheet holds before it is rounded for output. Numbers agree where
    they lie within one part in a million, before or after rounding to six digits; whole numbers, texts,
    flags and nothing (null) must be equal.

    >>> [item.path for item in mismatches({"a": [1.0, "x"], "b": None}, {"a": [1.0000004, "y"], "b": 0})]
    ['a[1]', 'b']
    """
    if isinstance(stored, Mapping) and isinstance(now, Mapping):
        yield from _of_mappings(stored, now, path)
    elif isinstance(stored, list) and isinstance(now, (list, tuple)):
        yield from _of_lists(stored, now, path)
    elif not same(stored, now):
        yield Mismatch(path=path or "the whole sheet", stored=stored, now=_shown(now))


def _of_mappings(stored: Mapping[str, Any], now: Mapping[str, Any], path: str) -> Iterator[Mismatch]:
    for key in (*now, *(key for key in stored if key not in now)):
        place = _joined(path, key)
        if key not in stored:
            yield Mismatch(path=place, now=_shown(now[key]), in_stored=False)
        elif key not in now:
            yield Mismatch(path=place, stored=stored[key], in_now=False)
        else:
            yield from mismatches(stored[key], now[key], place)


def _of_lists(stored: Sequence[Any], now: Sequence[Any], path: str) -> Iterator[Mismatch]:
    for place, (first, second) in enumerate(zip(stored, now, strict=False)):
        yield from mismatches(first, second, f"{path}[{place}]")
    for place in range(len(now), len(stored)):
        yield Mismatch(path=f"{path}[{place}]", stored=stored[place], in_now=False)
    for place in range(len(stored), len(now)):
        yield Mismatch(path=f"{path}[{place}]", now=_shown(now[place]), in_stored=False)


def same(stored: Any, now: Any) -> bool:
    """Whether two single values agree.

    A value that a hair's breadth carried over a rounding border on another machine agrees too.

    >>> same(1.00001, 1.0000050000001), same(1.00002, 1.000005), same(True, 1), same(3, 3.0), same(3, 4)
    (True, False, False, True, False)
    """
    if isinstance(stored, bool) or isinstance(now, bool):
        return stored is now
    if not (isinstance(stored, (int, float)) and isinstance(now, (int, float))):
        return type(stored) is type(now) and bool(stored == now)
    if isinstance(now, int):
        return stored == now
    if math.isclose(stored, now, rel_tol=TOLERANCE):
        return True
    low, high = sorted(round_sig(now * (1.0 + shift), DIGITS) for shift in (-TOLERANCE, TOLERANCE))
    return low <= stored <= high


def count(value: Any) -> int:
    """How many single values a piece of JSON holds; an empty list or mapping counts as one.

    >>> count({"a": [1, 2, {"b": None}], "c": []})
    4
    """
    inner = value.values() if isinstance(value, Mapping) else value if isinstance(value, (list, tuple)) else ()
    return sum(map(count, inner)) or 1


def _joined(path: str, key: str) -> str:
    if _PLAIN.fullmatch(key):
        return f"{path}.{key}" if path else key
    return f"{path}[{key}]"


def _shown(value: Any) -> Any:
    """A value as a sheet writes it."""
    if isinstance(value, float):
        return round_sig(value, DIGITS) + 0.0
    if isinstance(value, Mapping):
        return {key: _shown(each) for key, each in value.items()}
    return [_shown(each) for each in value] if isinstance(value, (list, tuple)) else value
