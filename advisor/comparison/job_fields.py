"""What was asked otherwise: the fields of two jobs, named as in the job file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from advisor.comparison.model import FieldChange

_NAMED = ("features", "stations")


def job_changes(first: Mapping[str, Any], second: Mapping[str, Any]) -> tuple[FieldChange, ...]:
    """Every field that two jobs (as sheets store them) give otherwise, in the order of the first.

    >>> [item.field for item in job_changes(
    ...     {"alloy": "a", "features": [{"name": "rim", "radius": "5 mm"}]},
    ...     {"alloy": "a", "features": [{"name": "rim", "radius": "6 mm", "access": "9 mm"}]})]
    ['features[rim].radius', 'features[rim].access']
    """
    before, after = dict(_fields(first, "")), dict(_fields(second, ""))
    return tuple(
        FieldChange(field=field, first=before.get(field), second=after.get(field))
        for field in dict.fromkeys((*before, *after))
        if before.get(field) != after.get(field)
    )


def _fields(value: Any, path: str) -> Iterator[tuple[str, Any]]:
    if isinstance(value, Mapping):
        for key, inner in value.items():
            yield from _fields(inner, f"{path}.{key}" if path else key)
    elif isinstance(value, list) and path.rpartition(".")[2] in _NAMED:
        for place, item in enumerate(value):
            label = item.get("name", place) if isinstance(item, Mapping) else place
            inner = {key: each for key, each in item.items() if key != "name"} if isinstance(item, Mapping) else item
            yield from _fields(inner, f"{path}[{label}]")
    else:
        yield path, value
