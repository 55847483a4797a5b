"""One field of a job set to another value, named as in the job file, for asking what would change."""

from __future__ import annotations

import copy
import re
from collections.abc import Mapping
from typing import Any

from advisor.errors import InputError, Problem, listing, nearest
from advisor.knowledge.strict_yaml import load, plain

_STEP = re.compile(r"\.([A-Za-z_-]+)(?:\[([^\[\]]+)\])?")
_TEXT_FIELDS = ("alloy", "name")
_NAMED_LISTS = ("features", "stations")


def split_path(path: str) -> list[tuple[str, str | None]]:
    """The steps of a field's name. Raises InputError where it is none.

    >>> split_path("features[outer sweep].radius")
    [('features', 'outer sweep'), ('radius', None)]
    """
    steps: list[tuple[str, str | None]] = []
    rest = "." + path.strip()
    while rest:
        match = _STEP.match(rest)
        if match is None:
            example = "a field such as start.depth or features[outer sweep].radius"
            raise InputError(Problem("", "not the name of a field", path, example))
        steps.append((match[1], match[2]))
        rest = rest[match.end() :]
    return steps


def set_field(job: Mapping[str, Any], path: str, value: str) -> dict[str, Any]:
    """A copy of a job mapping (as `to_json` gives it) with one field set to a value written as in YAML.

    `feature.radius` stands for the only feature's radius; an empty value takes the field away. The
    result is not checked here: `parse_job` does that. Raises InputError where the path leads nowhere.

    >>> set_field({"start": {"defect": "burr"}}, "start.depth", "0.3 mm")
    {'start': {'defect': 'burr', 'depth': '0.3 mm'}}
    """
    steps = split_path(path)
    changed = copy.deepcopy(dict(job))
    at: dict[str, Any] = changed
    for name, label in steps[:-1]:
        at = _descend(at, name, label, path)
    name, label = steps[-1]
    if label is not None:
        what = "a field of the feature or the station is missing"
        raise InputError(Problem("", what, path, f"{path}.name"))
    node = load(value, path)
    if node.value is None:
        at.pop(name, None)
    else:
        at[name] = node.raw if name in _TEXT_FIELDS and node.raw else plain(node)
    return changed


def get_field(job: Mapping[str, Any], path: str) -> Any:
    """What a job mapping says of a field; None where it says nothing.

    >>> get_field({"features": [{"name": "rim", "radius": "5 mm"}]}, "feature.radius")
    '5 mm'
    """
    *way, (name, _) = split_path(path)
    at: dict[str, Any] = copy.deepcopy(dict(job))
    for step, label in way:
        at = _descend(at, step, label, path)
    return at.get(name)


def _descend(at: dict[str, Any], name: str, label: str | None, path: str) -> dict[str, Any]:
    plural = name + "s"
    if plural in _NAMED_LISTS and label is None and name not in at:
        items = at.get(plural)
        if not isinstance(items, list) or len(items) != 1:
            raise InputError(Problem("", f"there is not just one {name}; name it", path, f"{plural}[name]"))
        inner = items[0]
    elif label is not None:
        items = at.get(name)
        named = [i for i in items if isinstance(i, dict)] if isinstance(items, list) else []
        found = {str(item.get("name")): item for item in named}
        inner = found.get(label)
        if inner is None:
            what, allowed = f"no {name} of this name", listing(tuple(found))
            raise InputError(Problem("", what, label, allowed, nearest(label, found)))
    else:
        inner = at.setdefault(name, {})
    if isinstance(inner, str) and name == "start":
        inner = at[name] = {"defect": inner}
    if not isinstance(inner, dict):
        what = f"{name} is a single value here; write it out as a mapping to change one field of it"
        raise InputError(Problem("", what, path))
    return inner
