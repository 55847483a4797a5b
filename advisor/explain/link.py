"""One link of an explanation: a value or a reason, in a few words and as a sentence, with what it rests on."""

from __future__ import annotations

from typing import Literal

from advisor.knowledge.reference import Frozen
from advisor.reasons import Fact

Kind = Literal[
    "value",
    "asked",
    "assumed",
    "known",
    "ruled",
    "derived",
    "chosen",
    "limited",
    "decided",
    "planned",
    "exception",
    "coefficient",
    "spread",
]

KIND_WORDS: dict[Kind, str] = {
    "value": "value on the sheet",
    "asked": "asked for in the job",
    "assumed": "assumed",
    "known": "looked up in a table",
    "ruled": "a rule",
    "derived": "calculated",
    "chosen": "chosen against rivals",
    "limited": "held by a limit",
    "decided": "decided before",
    "planned": "from the plan",
    "exception": "an exception that does not hold",
    "coefficient": "a coefficient",
    "spread": "the spread of the coefficients",
}


class Spread(Frozen):
    """A band: 5th, 50th and 95th percentile."""

    low: float
    expected: float
    high: float


class Link(Frozen):
    """One link of a chain.

    `what` names it in a few words, `text` says it as a sentence. `value` is in `unit`; a formula gives its
    `equation` in the `symbol` of each input, which are among `because`. `source` holds keys of the table
    of sources. `strength`, `concern` and `alone` belong to a rule: `alone` says that without it
    something else would stand here.
    """

    what: str
    text: str
    kind: Kind
    value: Fact = None
    unit: str | None = None
    band: Spread | None = None
    rule: str | None = None
    strength: str | None = None
    concern: str | None = None
    alone: bool | None = None
    formula: str | None = None
    equation: str | None = None
    symbol: str | None = None
    source: str | None = None
    source_words: str | None = None
    because: tuple[Link, ...] = ()

    def cut(self, depth: int) -> Link:
        """The same chain, no deeper than so many links below this one.

        >>> inner = Link(what="b", text="B.", kind="asked")
        >>> Link(what="a", text="A.", kind="value", because=(inner,)).cut(0).because
        ()
        """
        if depth <= 0:
            return self.model_copy(update={"because": ()}) if self.because else self
        return self.model_copy(update={"because": tuple(link.cut(depth - 1) for link in self.because)})

    def named(self) -> frozenset[str]:
        """Every rule in the chain.

        >>> sorted(Link(what="a", text="A.", kind="ruled", rule="some-rule").named())
        ['some-rule']
        """
        own = {self.rule} if self.rule else set()
        return frozenset(own.union(*(link.named() for link in self.because)))
