"""The only module that touches durable-rules: one fact, positive conjunctions, one session at a time.

The engine is fed only what its trials showed it to do right in every case: rules that are plain
conjunctions of properties equal to 1, at most sixty distinct properties a ruleset, one fact a
consultation, a rule that always fires so that the session can be deleted, one lock for the whole
process. Conditions, negation, resolution and explanation stay outside.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator, Sequence
from itertools import count
from typing import Any

import durable_rules_engine
from durable import engine

from advisor.errors import EngineError, Problem
from advisor.inference.properties import Conjunction

#: More than 64 satisfied branches on one fact fail (error 303), so a ruleset stays below that.
MOST_PROPERTIES = 60
#: 257 rules that share a property fail (error 108), and 256 that share a join crash.
MOST_RULES = 200

_LOCK = threading.Lock()
_NAMES = count()


class _QuietHost(engine.Host):  # type: ignore[misc]  # the library carries no type hints
    """A host without the polling threads that give wrong results."""

    def _run(self) -> None:
        return None


class DurableMatcher:
    """Fires the rules of some properties through durable-rules."""

    name = "durable-rules"

    def __init__(self, rules: Sequence[Conjunction]) -> None:
        self._always = frozenset(rule.number for rule in rules if rule.needs == 0)
        self._closed = False
        self._rulesets = tuple(_Ruleset(part, mask) for part, mask in _parts(rules))

    def fire(self, held: int) -> frozenset[int]:
        """The rules whose properties are all among those that hold (a bit mask)."""
        fired = set(self._always)
        with _LOCK:
            if self._closed:
                raise EngineError(Problem("", "a matcher that has been closed cannot fire"))
            for ruleset in self._rulesets:
                fired |= ruleset.consult(held)
        return frozenset(fired)

    def close(self) -> None:
        """Give back the engine's memory (a ruleset leaks some megabytes otherwise)."""
        with _LOCK:
            self._closed = True
            for ruleset in self._rulesets:
                ruleset.close()
            self._rulesets = ()


def _parts(rules: Sequence[Conjunction]) -> Iterator[tuple[list[Conjunction], int]]:
    """Rules in order, cut so that no part needs more properties than the engine bears."""
    part: list[Conjunction] = []
    mask = 0
    for rule in rules:
        if rule.needs == 0:
            continue
        if rule.needs.bit_count() > MOST_PROPERTIES:
            raise EngineError(Problem("", f"a rule with more than {MOST_PROPERTIES} conditions"))
        if part and ((mask | rule.needs).bit_count() > MOST_PROPERTIES or len(part) >= MOST_RULES):
            yield part, mask
            part, mask = [], 0
        part.append(rule)
        mask |= rule.needs
    if part:
        yield part, mask


def _bits(mask: int) -> Iterator[int]:
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low


class _Ruleset:
    """One compiled ruleset and the properties it knows."""

    def __init__(self, rules: Sequence[Conjunction], mask: int) -> None:
        self._mask = mask
        self._fired: set[int] = set()
        self._broken = False
        self._name = f"advisor-{next(_NAMES)}"
        definition: dict[str, Any] = {
            f"r{rule.number}": {"all": [{"m": _expression(rule.needs)}], "run": self._recorder(rule.number)}
            for rule in rules
        }
        definition["always"] = {"all": [{"m": {"p": 1}}], "run": lambda context: None}
        with _LOCK:
            self._host = _QuietHost()
            try:
                self._host.set_rulesets({self._name: definition})
            except Exception as error:
                raise EngineError(Problem("", f"durable-rules cannot take these rules: {error}")) from error
            self._handle = self._host.get_ruleset(self._name)._handle

    def _recorder(self, number: int) -> Any:
        # An action takes exactly one argument and only appends: with two it would be taken as
        # asynchronous, and an exception in it would be swallowed into the session's state.
        def record(context: Any) -> None:
            self._fired.add(number)

        return record

    def consult(self, held: int) -> set[int]:
        """Fire on one fact in a session of its own, then delete the session."""
        if self._broken:
            raise EngineError(Problem("", "durable-rules failed here before"))
        self._fired.clear()
        fact: dict[str, Any] = {"sid": "0", "p": 1}
        for bit in _bits(held & self._mask):
            fact[f"t{bit}"] = 1
        try:
            self._host.assert_fact(self._name, fact)
            state = self._host.get_state(self._name, "0")
        except Exception as error:
            # The session is left alone: after an error inside the engine, deleting it ends the process.
            self._broken = True
            raise EngineError(Problem("", f"durable-rules failed: {error}")) from error
        self._host.delete_state(self._name, "0")
        if state.get("exception"):
            raise EngineError(Problem("", f"durable-rules failed in an action: {state['exception']}"))
        return set(self._fired)

    def close(self) -> None:
        durable_rules_engine.delete_ruleset(self._handle)


def _expression(needs: int) -> dict[str, Any]:
    properties = [{f"t{bit}": 1} for bit in _bits(needs)]
    return properties[0] if len(properties) == 1 else {"$and": properties}
