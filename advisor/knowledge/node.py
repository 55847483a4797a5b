"""Plain data that remembers where in a file every value stands."""

from __future__ import annotations

import math
from typing import Any

from advisor.errors import InputError, Problem

DEEPEST = 60
TOO_DEEP = f"nested deeper than {DEEPEST} levels"

Scalar = str | int | float | bool | None
Place = tuple[int, int]


class Node:
    """A value with the place it stands at. Lines and columns count from 1.

    `value` is a scalar, a list of nodes or a dict of nodes; `raw` the text of a scalar as written
    (so that 1.4310 keeps its last digit); `keys` the place of every key of a mapping.

    >>> node = Node({"alloy": Node(1.431, 1, 8, "1.4310")}, 1, 1, "", {"alloy": (1, 1)})
    >>> node.value["alloy"].place("job.yaml"), node.key_place("alloy", "job.yaml")
    ('job.yaml:1:8', 'job.yaml:1:1')
    """

    __slots__ = ("column", "keys", "line", "raw", "value")

    def __init__(
        self, value: Any, line: int = 0, column: int = 0, raw: str = "", keys: dict[str, Place] | None = None
    ) -> None:
        self.value = value
        self.line = line
        self.column = column
        self.raw = raw
        self.keys = keys

    def __repr__(self) -> str:
        return f"Node({plain(self)!r}, {self.line}, {self.column})"

    def place(self, name: str) -> str:
        """`file:line:column` of this value; only the name where the value has no place."""
        return f"{name}:{self.line}:{self.column}" if self.line else name

    def key_place(self, key: str, name: str) -> str:
        """`file:line:column` of a key of this mapping; the mapping's own place where the key is missing."""
        line, column = (self.keys or {}).get(key, (self.line, self.column))
        return f"{name}:{line}:{column}" if line else name


def plain(node: Node) -> Any:
    """The value of a node without its places.

    >>> plain(Node([Node(1, 1, 2), Node("no", 1, 5)], 1, 1))
    [1, 'no']
    """
    value = node.value
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, list):
        return [plain(item) for item in value]
    return value


def from_plain(value: Any) -> Node:
    """Plain data as a tree of nodes without places, for data that never was a file.

    >>> plain(from_plain({"a": [1, "x"]}))
    {'a': [1, 'x']}
    """
    return _from_plain(value, 0)


def _from_plain(value: Any, depth: int) -> Node:
    if depth > DEEPEST:
        raise InputError(Problem("", TOO_DEEP))
    if isinstance(value, Node):
        return value
    if isinstance(value, dict):
        for key in value:
            if not isinstance(key, str):
                raise InputError(Problem("", "a key must be text", given=repr(key)))
        return Node({key: _from_plain(item, depth + 1) for key, item in value.items()}, keys={})
    if isinstance(value, (list, tuple)):
        return Node([_from_plain(item, depth + 1) for item in value])
    if value is None or isinstance(value, (str, bool, int)):
        return Node(value, raw=value if isinstance(value, str) else "" if value is None else str(value))
    if isinstance(value, float):
        if not math.isfinite(value):
            raise InputError(Problem("", "a number must be finite", given=repr(value)))
        return Node(value, raw=repr(value))
    what = "only text, numbers, true/false, lists and mappings are data"
    raise InputError(Problem("", what, given=type(value).__name__))
