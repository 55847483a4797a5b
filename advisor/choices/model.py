"""The standing of options and stretches, as data for the search and for the explanation."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from advisor.knowledge.rules import Advice, Rule

Standing = Literal["winner", "equal", "lost", "not spoken for", "removed"]
#: Why an option fell behind: a concern, `must` or `never`, silence, or the usual row among equals.
LostOn = str


@dataclass(frozen=True, slots=True)
class Spoken:
    """One piece of advice with the rule that gives it."""

    rule: Rule
    advice: Advice


@dataclass(frozen=True, slots=True)
class OptionStanding:
    """One option of a list decision.

    `values` holds +1, 0 or -1 for each concern in order of precedence, `mays` the same for `may`.
    `contested` names the concerns in which rules speak both for and against.
    """

    option: str
    standing: Standing
    values: tuple[int, ...]
    mays: tuple[int, ...]
    speaks_for: tuple[Rule, ...]
    speaks_against: tuple[Rule, ...]
    contested: tuple[str, ...] = ()
    lost_on: LostOn | None = None


@dataclass(frozen=True, slots=True)
class Struck:
    """Advice that was heard and set aside, and what won over it."""

    spoken: Spoken
    by: str  # a rule id, or a plain reason such as "what the table offers"


@dataclass(frozen=True, slots=True)
class Conflict:
    """Advice that cannot all be followed; `hidden` where only the cell or the table is in the way."""

    decision: str
    rules: tuple[Rule, ...]
    what: str
    hidden: bool


@dataclass(frozen=True, slots=True)
class ListChoice:
    """A list decision: every option with its standing, best first. `winner` is None where none stands."""

    decision: str
    options: tuple[OptionStanding, ...]
    winner: str | None
    struck: tuple[Struck, ...] = ()
    hidden: tuple[Spoken, ...] = ()  # advice on options that the cell or the table does not offer
    conflict: Conflict | None = None

    def candidates(self, concerns: int) -> tuple[str, ...]:
        """The options that are equal to the best when only the first so many concerns count.

        Seven counts everything, `may` included; fewer widen the field from the lowest concern up.
        """
        standing = [item for item in self.options if item.standing in ("winner", "equal", "lost")]
        if not standing:
            return ()
        best = _vector(standing[0], concerns)
        return tuple(item.option for item in standing if _vector(item, concerns) == best)

    def of(self, option: str) -> OptionStanding:
        """The standing of one option."""
        return next(item for item in self.options if item.option == option)


def _vector(item: OptionStanding, concerns: int) -> tuple[int, ...]:
    return (*item.values, *item.mays) if concerns > len(item.values) else item.values[:concerns]


@dataclass(frozen=True, slots=True)
class RangeChoice:
    """A stretch decision: the window that is left, and the value the aim picks inside it.

    For an ordered decision and a grade the numbers are places in the order of the options or of
    the scale. `shaped_by` are the rules that set a bound or the aim.
    """

    decision: str
    low: float
    high: float
    value: float
    aim: str
    shaped_by: tuple[Rule, ...] = ()
    struck: tuple[Struck, ...] = ()
    contested: tuple[Spoken, ...] = ()
    conflict: Conflict | None = None

Choice = ListChoice | RangeChoice
