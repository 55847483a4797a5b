"""Reasons are numbered as a reader meets them: this walks a sheet in reading order."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any, get_args

from advisor.sheet.part import Part


def references(value: Any) -> Iterator[str]:
    """Every id of a reason that a piece of a sheet refers to, in reading order, with repeats."""
    if isinstance(value, Part):
        for name in _telling(type(value)):
            inner = getattr(value, name)
            if name != "reasons":
                yield from references(inner)
            elif isinstance(inner, Mapping):
                for ids in inner.values():
                    yield from ids
            else:
                yield from inner
    elif isinstance(value, tuple):
        for each in value:
            yield from references(each)


def renumbered(value: Any, new: Mapping[str, str]) -> Any:
    """The same piece of a sheet with every id replaced by its new one."""
    if isinstance(value, Part):
        changed: dict[str, Any] = {}
        for name in _telling(type(value)):
            inner = getattr(value, name)
            if name != "reasons":
                changed[name] = renumbered(inner, new)
            elif isinstance(inner, Mapping):
                changed[name] = {key: tuple(new[old] for old in ids) for key, ids in inner.items()}
            else:
                changed[name] = tuple(new[old] for old in inner)
        return value.model_copy(update=changed) if changed else value
    if isinstance(value, tuple):
        return tuple(renumbered(each, new) for each in value)
    return value


@cache
def _telling(kind: type[Part]) -> tuple[str, ...]:
    """The fields of a piece in which a reason can be referred to: most pieces have none."""
    return tuple(
        name
        for name, field in kind.model_fields.items()
        if name == "reasons" or any(_telling(part) for part in _parts(field.annotation))
    )


def _parts(annotation: Any) -> Iterator[type[Part]]:
    """The pieces that an annotation speaks of."""
    if isinstance(annotation, type) and issubclass(annotation, Part):
        yield annotation
    for each in get_args(annotation):
        yield from _parts(each)
