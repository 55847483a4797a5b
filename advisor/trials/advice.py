"""What to change for the next try, as data: ready to be read, and to be set."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from advisor.knowledge.reference import Frozen


class Expected(Frozen):
    """What a set-up should give after all that was tried: the likely value, and 9 in 10 between the ends."""

    low: float
    expected: float
    high: float


class Move(Frozen):
    """One change for the next try: one setting, or one thing to do.

    `decision` is None for a thing to do. `before` is what changes in the step before: it goes under
    `incoming` of the next trial. `settings` are the fields of `used` in a trial file with their new
    values; what has to follow the change stands there too and is told in `with_it`. `chance` is how
    likely the next try meets what was missed, None where no model tells. `against` is what it is to cure.
    """

    against: str
    decision: str | None
    do: str
    now: str | None = None
    to: str | None = None
    settings: dict[str, str | int | float] = Field(default_factory=dict)
    before: dict[str, str] = Field(default_factory=dict)
    with_it: tuple[str, ...] = ()
    why: str
    rule: str | None = None
    source: str | None = None
    watch: tuple[str, ...] = ()
    ra_um: Expected | None = None
    removal_um: Expected | None = None
    chance: float | None = None


class Refused(Frozen):
    """A change that would be natural and is not offered: it is forbidden here, leads nowhere, or was tried."""

    do: str
    because: str
    kind: Literal["forbidden", "no room", "tried"]
    rule: str | None = None
    trial: str | None = None


class Miss(Frozen):
    """What a trial missed: a reading outside what was asked (um), or a symptom."""

    what: Literal["roughness", "removal", "symptom"]
    text: str
    symptom: str | None = None
    value: float | None = None
    low: float | None = None
    high: float | None = None


class Tried(Frozen):
    """An earlier try of the same step, and how it ended."""

    trial: str
    date: str | None
    set_up: str
    found: str
    verdict: str


class Advice(Frozen):
    """The answer: what was missed, what to change in order of promise, and what is not offered and why."""

    trial: str
    job: str
    feature: str
    step: int
    extra: bool = False
    failed: bool
    cautions: tuple[str, ...] = ()
    missed: tuple[Miss, ...] = ()
    moves: tuple[Move, ...] = ()
    not_offered: tuple[Refused, ...] = ()
    tried: tuple[Tried, ...] = ()
    remarks: tuple[str, ...] = ()

    @property
    def stuck(self) -> bool:
        """Whether something is amiss and no change is left to offer."""
        return not self.moves and (bool(self.missed) or self.failed)
