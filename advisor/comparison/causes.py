"""What stands behind a difference: the rules, facts and formulas that are not the same on both sides."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from advisor.comparison.model import Apart, Cause
from advisor.reasons import Reason

_DIGITS = 1e-6


def causes(first: Sequence[Reason], second: Sequence[Reason]) -> tuple[Cause, ...]:
    """Reasons that only one side has, and reasons of both whose facts or inputs differ.

    Rules come first, then formulas, then the rest; within each, what only the first sheet says, then what
    both say otherwise, then what only the second says.
    """
    found = [*_one_sided(first, second, "first"), *_shared(first, second), *_one_sided(second, first, "second")]
    return tuple(sorted(found, key=lambda cause: 0 if cause.rule else 1 if cause.formula else 2))


def _one_sided(these: Sequence[Reason], those: Sequence[Reason], on: str) -> Iterator[Cause]:
    others = {_identity(reason) for reason in those}
    for reason in these:
        if _identity(reason) not in others:
            yield _cause(reason, on)


def _shared(first: Sequence[Reason], second: Sequence[Reason]) -> Iterator[Cause]:
    partners = {_identity(reason): reason for reason in first}
    for reason in second:
        before = partners.get(_identity(reason))
        if before is None:
            continue
        apart = (*_facts_apart(before, reason), *_inputs_apart(before, reason))
        if apart:
            yield _cause(reason, "both", apart)


def _identity(reason: Reason) -> tuple[str | None, ...]:
    """What makes two reasons the same one: the rule, the formula, or else the sentence."""
    if reason.rule:
        return ("rule", reason.rule)
    return ("formula", reason.formula) if reason.formula else (reason.kind, reason.text)


def _cause(reason: Reason, on: str, apart: tuple[Apart, ...] = ()) -> Cause:
    return Cause.model_validate(
        {
            "on": on,
            "kind": reason.kind,
            "text": reason.text,
            "rule": reason.rule,
            "formula": reason.formula,
            "source": reason.source,
            "apart": apart,
        }
    )


def _facts_apart(first: Reason, second: Reason) -> Iterator[Apart]:
    for name in dict.fromkeys((*first.facts, *second.facts)):
        before, after = first.facts.get(name), second.facts.get(name)
        if before != after:
            yield Apart(name=name, first=before, second=after)


def _inputs_apart(first: Reason, second: Reason) -> Iterator[Apart]:
    for name in dict.fromkeys((*first.inputs, *second.inputs)):
        before, after = first.inputs.get(name), second.inputs.get(name)
        values = before.value if before else None, after.value if after else None
        if not alike(*values):
            unit = (after or before).unit if after or before else None  # type: ignore[union-attr]
            yield Apart(name=name, first=values[0], second=values[1], unit=unit)


def alike(first: object, second: object, relative: float = _DIGITS) -> bool:
    """Whether two single values are the same, numbers to a relative difference.

    >>> alike(1.0, 1.0000001), alike(1.0, 1.1), alike("a", "a"), alike(None, 0.0)
    (True, False, True, False)
    """
    if isinstance(first, (int, float)) and isinstance(second, (int, float)):
        return abs(first - second) <= relative * max(abs(first), abs(second))
    return first == second
