"""A proposal: a ready change of the knowledge with its evidence, for people to accept or not."""

from __future__ import annotations

import hashlib
from typing import Literal

from pydantic import Field

from advisor.knowledge.reference import Frozen

ProposalKind = Literal["coefficient", "exception", "demotion", "promotion", "draft"]
#: The chance that a proposal of one kind rests on luck alone is held to this, for all that were asked.
ALPHA = 0.05


class Evidence(Frozen):
    """The trials behind a proposal, and what they add up to.

    `counts` are plain figures by name; `asked` is how many questions the log was asked, `e_value` how
    many times likelier the trials are if the proposal is right, `p_value` that of the exact test.
    """

    trials: tuple[str, ...]
    counts: dict[str, int] = Field(default_factory=dict)
    asked: int | None = None
    e_value: float | None = None
    p_value: float | None = None


class Impact(Frozen):
    """What a change does to the worked jobs: how many were looked at, and what changes, line by line."""

    looked_at: int
    changed: tuple[str, ...] = ()
    lines: tuple[str, ...] = ()


class Proposal(Frozen):
    """One proposal.

    `rule` is the id of the rule, for a coefficient the key of its row; `where` is the attribute and the
    value that an exception is made for. `change` is YAML, ready to take
    the place of what stands in `file`. `alike` are rules that these trials cannot tell from this one.
    `checks` are the faults that `advisor check` finds with the change (None: not run).
    """

    id: str
    kind: ProposalKind
    rule: str
    says: str
    change: str
    file: str
    evidence: Evidence
    strength: str
    where: dict[str, str] = Field(default_factory=dict)
    alike: tuple[str, ...] = ()
    checks: tuple[str, ...] | None = None
    impact: Impact | None = None


def proposal_id(kind: ProposalKind, rule: str, what: str) -> str:
    """A short name that stays the same while the proposal does.

    >>> proposal_id("demotion", "a-rule", "on trial")
    'demotion-0eabe1'
    """
    return f"{kind}-{hashlib.sha256(f'{kind}/{rule}/{what}'.encode()).hexdigest()[:6]}"


def in_words(e_value: float, share: float) -> str:
    """How strong evidence is, in plain words, where a share of the chance of a false alarm fell to it.

    >>> in_words(25000.0, 0.05)
    'very strong: luck would do this in fewer than 1 of 1,250 such logs'
    """
    odds = e_value * share
    word = "very strong" if odds >= 1000 else "strong" if odds >= 100 else "good"
    return f"{word}: luck would do this in fewer than 1 of {min(odds, 1e9):,.0f} such logs"
