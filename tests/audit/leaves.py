"""Every single value of a piece of JSON, and how to change one of them."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from typing import Any

Path = tuple[str | int, ...]


def leaves(value: Any, path: Path = ()) -> Iterator[Path]:
    """The places of all single values, empty lists and empty mappings."""
    if isinstance(value, dict) and value:
        for key, inner in value.items():
            yield from leaves(inner, (*path, key))
    elif isinstance(value, list) and value:
        for place, inner in enumerate(value):
            yield from leaves(inner, (*path, place))
    else:
        yield path


def at(value: Any, path: Path) -> Any:
    for step in path:
        value = value[step]
    return value


def changed(value: Any, path: Path, new: Any) -> Any:
    """A copy with another value in one place."""
    copied = copy.deepcopy(value)
    at(copied, path[:-1])[path[-1]] = new
    return copied
