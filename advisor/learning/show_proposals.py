"""Proposals as text for a reader and as JSON for a program."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from textwrap import indent, wrap

from advisor.learning.proposal import Proposal

_WIDTH = 100
_SHOWN_TRIALS = 8


def to_json(proposals: Sequence[Proposal]) -> str:
    """Every proposal: kind, rule, change, evidence, strength, and the rest of what is known of it."""
    first = ("id", "kind", "rule", "change", "evidence", "strength")
    rows = []
    for proposal in proposals:
        plain = proposal.model_dump(mode="json")
        for name in ("e_value", "p_value"):
            value = plain["evidence"][name]
            plain["evidence"][name] = None if value is None else float(f"{value:.6g}")
        rows.append({**{name: plain.pop(name) for name in first}, **plain})
    return json.dumps(rows, ensure_ascii=False, indent=1) + "\n"


def to_text(proposals: Sequence[Proposal], trials: int) -> str:
    """One paragraph a proposal; rules that the trials cannot tell apart stand together."""
    if not proposals:
        return f"{trials:,} trials, and nothing in them that calls for a change of the knowledge.\n"
    shown: set[str] = set()
    lines: list[str] = []
    for proposal in proposals:
        if proposal.rule in shown and proposal.kind == "exception":
            continue
        if proposal.kind == "exception":
            shown.update(proposal.alike)
        lines += [*_paragraph(proposal), ""]
    accept = "Accept one with: advisor trial propose --log LOG --knowledge FOLDER --apply ID"
    return "\n".join([*lines, accept]) + "\n"


def _paragraph(proposal: Proposal) -> Iterator[str]:
    yield f"{proposal.id}  ({proposal.kind} of {proposal.rule})"
    yield from _said(proposal.says)
    yield from _said(f"Evidence: {proposal.strength}.")
    evidence = proposal.evidence
    if evidence.p_value is not None and evidence.asked is not None:
        questions = f"{evidence.asked} question{'s' if evidence.asked != 1 else ''}"
        yield from _said(f"Exact test p = {evidence.p_value:.2g}; {questions} asked of the log in all.")
    trials = ", ".join(evidence.trials[:_SHOWN_TRIALS])
    more = len(evidence.trials) - _SHOWN_TRIALS
    yield from _said(f"Trials: {trials}{f' and {more} more' if more > 0 else ''}.")
    if proposal.alike:
        yield from _said(f"As likely at fault: {', '.join(proposal.alike)}.")
    if proposal.checks is None:
        yield "  Check: not run."
    elif proposal.checks:
        yield f"  Check: {len(proposal.checks)} fault(s); it cannot be accepted as it is."
        for fault in proposal.checks[:5]:
            yield from _said(f"  {fault}")
    else:
        yield "  Check: no fault."
    if proposal.impact is not None:
        changed = len(proposal.impact.changed)
        yield f"  Impact: {changed} of {proposal.impact.looked_at} worked jobs change."
        for each in proposal.impact.lines:
            yield from _said(f"  {each}")
    elif proposal.checks:
        yield "  Impact: not worked out, since it cannot be accepted as it is."
    yield f"  Change in {proposal.file}:"
    yield indent(proposal.change.rstrip("\n"), "    ")


def _said(text: str) -> Iterator[str]:
    yield from (
        f"  {line}" for line in wrap(text, _WIDTH - 2, break_long_words=False, break_on_hyphens=False)
    )
