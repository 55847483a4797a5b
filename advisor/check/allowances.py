"""What rules allow themselves: the reason they give, and allowances that name no finding or need none."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from advisor.check.finding import Code, Finding
from advisor.errors import nearest
from advisor.knowledge.base import Knowledge
from advisor.knowledge.rules import Rule

UNKNOWN = Code(
    "K801", "allows-unknown-code", "error",
    "A rule allows itself a code that no check has.",
    "It was meant to excuse something and excuses nothing.",
    "Correct the code; the pages of this folder list them all.",
)  # fmt: skip
UNNEEDED = Code(
    "K802", "allows-nothing", "warning",
    "A rule allows itself a finding that is not there.",
    "The excuse outlived its fault, and would hide the next one without anybody having thought about it.",
    "Take the entry out of `allows`.",
)  # fmt: skip
CODES = (UNKNOWN, UNNEEDED)


def reason_for(finding: Finding, knowledge: Knowledge) -> str | None:
    """The reason that a rule gives for breaking a check, if one of the rules of a finding does."""
    for identity in finding.rules:
        reason = knowledge.rule[identity].allows.get(finding.code.code)
        if reason:
            return reason
    return None


def unneeded(rules: Iterable[Rule], found: Collection[Finding], known: Collection[str]) -> Iterator[Finding]:
    """Entries of `allows` that name no code, or a finding in which their rule has no part."""
    needed = {(identity, finding.code.code) for finding in found for identity in finding.rules}
    for rule in rules:
        for code in rule.allows:
            if code not in known:
                close = nearest(code, known)
                hint = f"; nearest: {close}" if close else ""
                yield UNKNOWN.at(rule, f"{rule.id} allows itself {code}, which is no code{hint}")
            elif (rule.id, code) not in needed:
                yield UNNEEDED.at(rule, f"{rule.id} allows itself {code}, and nothing of that kind is found")
