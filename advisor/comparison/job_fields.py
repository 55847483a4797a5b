"""What was asked otherwise: the fields of two jobs, named as in the job file."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from advisor.comparison.model import FieldChange

_NAMED = ("features", "stations")


def job_changes(
    first: Mapping[str, Any], second: Mapping[str, Any], names: Mapping[str, str] | None = None
) -> tuple[FieldChange, ...]:
    """Every field that two jobs (as sheets store them) give otherwise, in the order of the first.

    `names` tells beside which face of the first a face of the second stands, where their names differ. A
    face that stands alone is one line.

    >>> [item.field for item in job_changes(
    ...     {"alloy": "a", "features": [{"name": "rim", "radius": "5 mm"}]},
    ...     {"alloy": "a", "features": [{"name": "rim", "radius": "6 mm", "access": "9 mm"}]})]
    ['features[rim].radius', 'features[rim].access']
    >>> [(item.field, item.first, item.second) for item in job_changes(
    ...     {"features": [{"name": "rim", "shape": "flat", "width": "5 mm"}, {"name": "top", "shape": "edge"}]},
    ...     {"features": [{"name": "lip", "shape": "flat", "width": "6 mm"}]}, {"lip": "rim"})]
    [('features[rim | lip].width', '5 mm', '6 mm'), ('features[top]', 'edge', None)]
    """
    beside = names or {}
    faces = [{str(each["name"]) for each in job.get("features", ())} for job in (first, second)]
    both = faces[0] & {beside.get(name, name) for name in faces[1]}
    back = {own: name for name, own in beside.items() if name != own}

    def called(name: str, of_second: bool) -> tuple[str, bool]:
        own = beside.get(name, name) if of_second else name
        other = back.get(own)
        return (f"{own} | {other}" if own in both and other else own), own in both

    before = dict(_fields(first, "", lambda name: called(name, False)))
    after = dict(_fields(second, "", lambda name: called(name, True)))
    return tuple(
        FieldChange(field=field, first=before.get(field), second=after.get(field))
        for field in dict.fromkeys((*before, *after))
        if before.get(field) != after.get(field)
    )


def _fields(value: Any, path: str, called: Callable[[str], tuple[str, bool]]) -> Iterator[tuple[str, Any]]:
    if isinstance(value, Mapping):
        for key, inner in value.items():
            yield from _fields(inner, f"{path}.{key}" if path else key, called)
    elif isinstance(value, list) and path.rpartition(".")[2] in _NAMED:
        for place, item in enumerate(value):
            label, paired = str(item.get("name", place)) if isinstance(item, Mapping) else str(place), True
            if path == "features":
                label, paired = called(label)
            if not paired:
                yield f"{path}[{label}]", item.get("shape")
                continue
            inner = {key: each for key, each in item.items() if key != "name"} if isinstance(item, Mapping) else item
            yield from _fields(inner, f"{path}[{label}]", called)
    else:
        yield path, value
