"""YAML that means what it looks like: plain data with a place for every value, or a clear refusal."""

from __future__ import annotations

import gc
import math
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import yaml
from yaml.nodes import MappingNode, ScalarNode, SequenceNode

from advisor.errors import InputError, Problem
from advisor.knowledge.node import DEEPEST, TOO_DEEP, Place, Scalar
from advisor.knowledge.node import Node as Node
from advisor.knowledge.node import from_plain as from_plain
from advisor.knowledge.node import plain as plain
from advisor.knowledge.text_file import LIMIT_BYTES, read_text

MOST_ALIASES = 50
MOST_DIGITS = 30

NO_TAGS = "tags (!...) are not allowed"

_NUMBER = re.compile(
    r"[-+]?(?:(?P<whole>0|[1-9][0-9]*)|(?:[0-9]+\.[0-9]*|\.[0-9]+|[0-9]+(?=[eE]))(?:[eE][-+]?[0-9]+)?)"
)
_NOT_FINITE = re.compile(r"[-+]?\.?(?:inf|nan|infinity)", re.IGNORECASE)
_NUMBER_STARTS = frozenset("0123456789+-.")
_SPECIAL = {"true": True, "false": False, "null": None, "~": None, "": None}
_SURROGATES = re.compile(r"(?<!\\)((?:\\\\)*)\\u([dD][89abAB][0-9a-fA-F]{2})\\u([dD][c-fC-F][0-9a-fA-F]{2})")
_ALIAS = re.compile(r"(?<![^\s\[{,:])\*\S")


class _TooDeepError(Exception):
    pass


class _Resolver:
    """Stands in for the resolver of PyYAML: says only whether a tag was written out, and counts the depth."""

    depth = 0

    def descend_resolver(self, current_node: object, current_index: object) -> None:
        self.depth += 1
        if self.depth > DEEPEST:
            raise _TooDeepError

    def ascend_resolver(self) -> None:
        self.depth -= 1

    def resolve(self, kind: object, value: object, implicit: Any) -> str:
        if implicit is True or (implicit is not False and implicit[0]):
            return "plain"
        return "quoted"


# PyYAML built without libyaml has no CSafeLoader, so the base is only known when it runs.
class _Loader(_Resolver, getattr(yaml, "CSafeLoader", yaml.SafeLoader)):  # type: ignore[misc]
    """Composes nodes only; nothing is ever constructed by PyYAML."""


def read_file(path: str | Path, limit_bytes: int = LIMIT_BYTES, name: str | None = None) -> Node:
    """Read and load one file; `name` (the path unless given) stands in the messages.

    Raises InputError where the file is missing, a folder, too large, binary, not UTF-8 or not strict YAML.
    """
    path = Path(path)
    name = name or str(path)
    return load(read_text(path, limit_bytes, name), name)


def load(text: str, name: str) -> Node:
    r"""Load one document of strict YAML (or JSON); an empty text gives a node whose value is None.

    Numbers and true/false are what they look like; yes, no, on, off, 12:30 and dates stay text.
    Raises InputError with every place for repeated keys, keys that are not text, tags, merge keys, many
    aliases, numbers that are not finite, several documents, and anything that is not YAML.

    >>> plain(load("a: [1, 2.5, no, true, 12:30, 2026-05-04, ~]", "x"))
    {'a': [1, 2.5, 'no', True, '12:30', '2026-05-04', None]}
    >>> load("a: 1\na: 2", "job.yaml")
    Traceback (most recent call last):
    ...
    advisor.errors.InputError: job.yaml:2:1: the key 'a' is repeated; it already stands at job.yaml:1:1
    """
    if len(text) > 4 * LIMIT_BYTES:
        raise InputError(Problem(name, "the text is too large"))
    if text.startswith("\ufeff"):
        text = text[1:]
    if text.lstrip()[:1] in ("{", "[", '"'):
        text = _SURROGATES.sub(_join_surrogates, text)
    collecting = gc.isenabled()
    gc.disable()  # nothing here is garbage yet, and looking for it takes as long as the work itself
    try:
        return _load(text, name)
    finally:
        if collecting:
            gc.enable()


def _load(text: str, name: str) -> Node:
    try:
        if _ALIAS.search(text) and "&" in text:
            _refuse_many_aliases(text, name)
        root = _Loader(text).get_single_node()
    except _TooDeepError:
        raise InputError(Problem(_where_too_deep(text, name), TOO_DEEP)) from None
    except yaml.MarkedYAMLError as error:
        raise InputError(_explain(error, text, name)) from None
    except yaml.reader.ReaderError as error:
        raise InputError(Problem(name, f"not text that YAML can hold: {error.reason}")) from None
    except (yaml.YAMLError, RecursionError, UnicodeError, ValueError) as error:
        raise InputError(Problem(name, f"not YAML: {type(error).__name__}")) from None
    if root is None:
        return Node(None, 1, 1)
    builder = _Builder(name, most=len(text) + 10_000)
    node = builder.build(root, 0)
    if builder.problems:
        raise InputError(builder.problems)
    return node


parse = load


def _join_surrogates(match: re.Match[str]) -> str:
    high, low = int(match[2], 16), int(match[3], 16)
    return match[1] + chr(0x10000 + ((high - 0xD800) << 10) + (low - 0xDC00))


def _events(text: str) -> Iterator[Any]:
    loader = _Loader(text)
    while loader.check_event():
        yield loader.get_event()


def _refuse_many_aliases(text: str, name: str) -> None:
    count = 0
    for event in _events(text):
        count += isinstance(event, yaml.AliasEvent)
        if count > MOST_ALIASES:
            place = f"{name}:{event.start_mark.line + 1}:{event.start_mark.column + 1}"
            raise InputError(Problem(place, "too many aliases (*name)", allowed=f"at most {MOST_ALIASES}"))


def _where_too_deep(text: str, name: str) -> str:
    depth = 0
    for event in _events(text):
        if isinstance(event, yaml.CollectionStartEvent):
            depth += 1
        elif isinstance(event, yaml.CollectionEndEvent):
            depth -= 1
        if depth >= DEEPEST:
            return f"{name}:{event.start_mark.line + 1}:{event.start_mark.column + 1}"
    return name


def _explain(error: yaml.MarkedYAMLError, text: str, name: str) -> Problem:
    mark = error.problem_mark or error.context_mark
    what = error.problem or error.context or "not YAML"
    if mark is None:
        return Problem(name, what)
    place = f"{name}:{mark.line + 1}:{mark.column + 1}"
    lines = text.split("\n")
    line = lines[mark.line] if mark.line < len(lines) else ""
    if line.lstrip(" ").startswith("\t") or line[mark.column : mark.column + 1] == "\t" or "tab char" in what:
        return Problem(place, "a tab is used for indentation; use spaces")
    if "another document" in what or "single document" in (error.context or ""):
        return Problem(place, "several documents in one file; only one is allowed")
    return Problem(place, f"not YAML: {what}")


class _Builder:
    """Turns composed nodes into ours, gathering every fault."""

    def __init__(self, name: str, most: int) -> None:
        self.name = name
        self.most = most  # without aliases a text has fewer values than characters
        self.problems: list[Problem] = []
        self.count = 0

    def fault(self, line: int, column: int, what: str, **more: str) -> None:
        if len(self.problems) < 100:  # a hundred faults say enough
            self.problems.append(Problem(f"{self.name}:{line}:{column}", what, **more))

    def build(self, node: Any, depth: int) -> Node:
        mark = node.start_mark
        line, column = mark.line + 1, mark.column + 1
        tag = node.tag
        kind = type(node)
        self.count += 1
        if kind is ScalarNode:
            raw = node.value
            if node.style:
                if tag != "quoted":
                    self.fault(line, column, NO_TAGS, given=tag)
                return Node(raw, line, column, raw)
            if tag != "plain":
                self.fault(line, column, NO_TAGS, given="!" if tag == "quoted" else tag)
                return Node(raw, line, column, raw)
            return Node(self.scalar(raw, line, column), line, column, raw)
        if tag != "plain":
            self.fault(line, column, NO_TAGS, given="!" if tag == "quoted" else tag)
        if depth > DEEPEST or self.count > self.most:
            what = TOO_DEEP if depth > DEEPEST else "the aliases unfold to too much data"
            raise InputError(Problem(f"{self.name}:{line}:{column}", what))
        if kind is SequenceNode:
            return Node([self.build(item, depth + 1) for item in node.value], line, column)
        assert kind is MappingNode
        values: dict[str, Node] = {}
        keys: dict[str, Place] = {}
        for key_node, value_node in node.value:
            key = self.key(key_node, keys)
            value = self.build(value_node, depth + 1)
            if key is not None:
                values[key] = value
        return Node(values, line, column, "", keys)

    def key(self, node: Any, keys: dict[str, Place]) -> str | None:
        line, column = node.start_mark.line + 1, node.start_mark.column + 1
        if type(node) is not ScalarNode:
            self.fault(line, column, "a key must be text, not a list or a mapping")
            return None
        key: str = node.value
        if node.tag != "quoted" and not node.style:
            if node.tag != "plain":
                self.fault(line, column, NO_TAGS, given=node.tag)
            elif key == "<<":
                self.fault(line, column, "merge keys (<<) are not allowed; write the values out")
                return None
            elif not isinstance(self.scalar(key, line, column), str):
                self.fault(line, column, "a key must be text; put it in quotes", given=key)
                return None
        elif node.tag != "quoted" or not node.style:
            self.fault(line, column, NO_TAGS)
        if key in keys:
            before = "{}:{}:{}".format(self.name, *keys[key])
            self.fault(line, column, f"the key {key[:60]!r} is repeated; it already stands at {before}")
            return None
        keys[key] = (line, column)
        return key

    def scalar(self, raw: str, line: int, column: int) -> Scalar:
        if raw[:1] in _NUMBER_STARTS:
            match = _NUMBER.fullmatch(raw)
            if match is not None:
                if match["whole"] is not None:
                    if len(raw) <= MOST_DIGITS:
                        return int(raw)
                    self.fault(line, column, "the number is too long", allowed=f"{MOST_DIGITS} digits")
                    return 0
                value = float(raw)
                if math.isfinite(value):
                    return value
                self.fault(line, column, "a number must be finite", given=raw)
                return 0.0
        elif raw in _SPECIAL:
            return _SPECIAL[raw]
        if len(raw) <= 10 and raw[-1:] in "fFnNyY" and _NOT_FINITE.fullmatch(raw):
            self.fault(line, column, "a number must be finite", given=raw)
            return 0.0
        return raw
