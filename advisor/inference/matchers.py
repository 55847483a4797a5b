"""Chooses the matcher: durable-rules where it can be had, the plain one elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from importlib.util import find_spec

from advisor.inference.engine import Matcher, MatcherMaker
from advisor.inference.plain_matcher import PlainMatcher
from advisor.inference.properties import Conjunction


def available() -> str:
    """The name of the matcher that this installation runs."""
    return "durable-rules" if _durable_works() else "plain"


def matcher_maker(name: str | None = None) -> MatcherMaker:
    """What makes matchers of a name ("durable-rules" or "plain"); the available one without a name."""
    return PlainMatcher if (name or available()) == "plain" else _make_durable


def _make_durable(rules: Sequence[Conjunction]) -> Matcher:
    from advisor.inference.durable_matcher import DurableMatcher

    return DurableMatcher(rules)


def _durable_works() -> bool:
    # On Python 3.13 and later the package installs but does not import.
    if find_spec("durable") is None or find_spec("durable_rules_engine") is None:
        return False
    try:
        import durable.engine  # noqa: F401
    except ImportError:
        return False
    return True
