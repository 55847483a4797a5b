"""What stands behind a difference: the rules, facts and formulas that are not the same on both sides."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from advisor.comparison.model import Apart, Cause
from advisor.reasons import Reason
from advisor.sheet.model import Step

#: Numbers closer than this are the same: a stored sheet is rounded to six digits.
_CLOSE = 1e-5


Facts = Mapping[str, frozenset[object]]


def causes(
    first: Sequence[Reason], second: Sequence[Reason], known: tuple[Facts, Facts] = ({}, {})
) -> tuple[Cause, ...]:
    """Reasons that only one side has, and formulas of both whose inputs differ.

    A rule that speaks on both sides says the same on both and is no cause. `known` holds what is known of
    the step on either side (see `facts_of`): for a rule of one side alone it tells which of its facts are
    otherwise on the other. Rules come first, then formulas, then the rest; within each, what only the
    first sheet says, then what both say otherwise, then what only the second says.
    """
    found = [
        *_one_sided(first, second, "first", known[1]),
        *_shared(first, second),
        *_one_sided(second, first, "second", known[0]),
    ]
    return tuple(sorted(found, key=lambda cause: 0 if cause.rule else 1 if cause.formula else 2))


def facts_of(reasons: Iterable[Reason]) -> Facts:
    """Every value that some reasons matched, by attribute; one sheet may name several for one attribute."""
    found: dict[str, set[object]] = {}
    for reason in reasons:
        for name, value in reason.facts.items():
            found.setdefault(name, set()).update(value if isinstance(value, tuple) else (value,))
    return {name: frozenset(values) for name, values in found.items()}


def follows(first: Step, second: Step) -> tuple[Cause, ...]:
    """What stands behind a value whose own reasons are the same: the abrasive of the step, or what came before."""
    apart = tuple(
        Apart(name=name, first=getattr(first, name), second=getattr(second, name))
        for name in ("stage", "media", "grain", "grade", "pressure", "backing")
        if getattr(first, name) != getattr(second, name)
    )
    text = "It follows from what this step is." if apart else "It follows from the steps before and the job."
    return (Cause(on="both", kind="chosen", text=text, apart=apart),)


def _one_sided(
    these: Sequence[Reason], those: Sequence[Reason], on: str, there: Facts
) -> Iterator[Cause]:
    others = {_identity(reason) for reason in those}
    for reason in these:
        if _identity(reason) not in others:
            yield _cause(reason, on, tuple(_facts_apart(reason, there, on)))


def _shared(first: Sequence[Reason], second: Sequence[Reason]) -> Iterator[Cause]:
    partners = {_identity(reason): reason for reason in first if reason.formula}
    for reason in second:
        before = partners.get(_identity(reason))
        apart = () if before is None else tuple(_inputs_apart(before, reason))
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


def _facts_apart(reason: Reason, there: Facts, on: str) -> Iterator[Apart]:
    """The facts of a rule of one side that are other ones on the other side, as far as those are told."""
    for name, values in facts_of([reason]).items():
        others = there.get(name)
        if others and not values & others:
            here, other = _fact(reason.facts[name]), _fact(tuple(sorted(others, key=str)))
            yield Apart(name=name, first=here if on == "first" else other, second=other if on == "first" else here)


def _fact(value: object) -> Any:
    return value[0] if isinstance(value, tuple) and len(value) == 1 else value


def _inputs_apart(first: Reason, second: Reason) -> Iterator[Apart]:
    for name in dict.fromkeys((*first.inputs, *second.inputs)):
        before, after = first.inputs.get(name), second.inputs.get(name)
        values = before.value if before else None, after.value if after else None
        if not alike(*values):
            known = after or before
            unit = known.unit if known else None
            yield Apart(name=name, first=values[0], second=values[1], unit=unit)


def alike(first: object, second: object, relative: float = _CLOSE) -> bool:
    """Whether two single values are the same, numbers to a relative difference.

    >>> alike(1.0, 1.0000001), alike(1.0, 1.1), alike("a", "a"), alike(None, 0.0)
    (True, False, True, False)
    """
    if isinstance(first, (int, float)) and isinstance(second, (int, float)):
        return abs(first - second) <= relative * max(abs(first), abs(second))
    return first == second
