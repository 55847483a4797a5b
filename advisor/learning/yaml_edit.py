"""Edits one rule or row in the text of its file, so that comments and layout stay as people wrote them.

Only the plain layout of the knowledge files is edited (one field a line, two spaces in). Anything else is
refused, never guessed; and whoever uses this reads the result again before it is kept.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from advisor.errors import InputError, Problem
from advisor.knowledge.vocabulary import Value

_PLAIN = re.compile(r"[A-Za-z][\w.%/-]*( [\w.%/-]+)*")
_RESERVED = {"yes", "no", "on", "off", "true", "false", "null", "y", "n"}
_FIELD = re.compile(r"^  (?P<name>[a-z][a-z_ ]*):(?P<rest>.*)$")


class Stretch(NamedTuple):
    """Lines from `start` up to, not including, `stop`; where both are one, a place between two lines."""

    start: int
    stop: int


@dataclass(frozen=True, slots=True)
class Block:
    """The lines of one rule or row in its file: from its dash to the line before the next."""

    lines: tuple[str, ...]
    first: int
    end: int
    indent: str

    @property
    def own(self) -> tuple[str, ...]:
        """The lines of the block itself."""
        return self.lines[self.first : self.end]

    def field(self, name: str) -> Stretch | None:
        """Where a field of the block stands: its line and all that belong to it."""
        start = None
        for number in range(self.first, self.end):
            line = self.lines[number][len(self.indent) :]
            if number == self.first:
                line = "  " + line[2:]
            found = _FIELD.match(line)
            if found and start is not None:
                return Stretch(start, number)
            if found and found["name"] == name:
                start = number
        return None if start is None else Stretch(start, self.end)

    def text(self) -> str:
        """The block as it stands alone."""
        return "\n".join(line[len(self.indent) :] for line in self.own) + "\n"


def find_block(text: str, head: str, file: str) -> Block:
    """The block that begins with `- head`, such as `- rule: an-id`. Raises InputError where there is none."""
    lines = tuple(text.split("\n"))
    for number, line in enumerate(lines):
        indent = line[: len(line) - len(line.lstrip(" "))]
        if line.strip() == f"- {head}" and len(indent) in (0, 2):
            end = number + 1
            while end < len(lines) and (not lines[end].strip() or lines[end].startswith(indent + "  ")):
                end += 1
            while not lines[end - 1].strip():
                end -= 1
            return Block(lines, number, end, indent)
    raise InputError(Problem(file, f"'- {head}' does not stand on a line of its own: edit it by hand"))


def replaced(block: Block, new: Mapping[Stretch, Iterable[str]]) -> str:
    """The whole file with some stretches of lines replaced; an empty stretch is an insertion."""
    lines = list(block.lines)
    for where in sorted(new, reverse=True):
        lines[where.start : where.stop] = [
            (block.indent + line).rstrip() if line else "" for line in new[where]
        ]
    return "\n".join(lines)


def scalar(value: Value | None) -> str:
    """A value as YAML writes it on one line.

    >>> scalar("s30400"), scalar(True), scalar(1.5), scalar("a: b")
    ('s30400', 'true', '1.5', "'a: b'")
    """
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return f"{value:.6g}"
    if _PLAIN.fullmatch(value) and value.lower() not in _RESERVED:
        return value
    return "'" + value.replace("'", "''") + "'"


def flow(values: Mapping[str, Value | None]) -> str:
    """A mapping on one line.

    >>> flow({"media": "belt", "alloy.key": "s30400"})
    '{media: belt, alloy.key: s30400}'
    """
    return "{" + ", ".join(f"{key}: {scalar(value)}" for key, value in values.items()) + "}"


def listed(values: Iterable[str]) -> str:
    """A list on one line.

    >>> listed(["t1", "t2"])
    '[t1, t2]'
    """
    return "[" + ", ".join(scalar(value) for value in values) + "]"
