"""What a question is: its words, its answers, how a shop finds out, and what is taken where nobody knows."""

from __future__ import annotations

from typing import Literal

from advisor.knowledge.reference import Frozen

Kind = Literal[
    "line", "alloy", "choice", "row", "rows", "quantity", "band", "area", "finish", "count", "more"
]


class When(Frozen):
    """A question is asked, or a value presumed, only where a fact is one of these values."""

    fact: str
    among: tuple[str, ...]


class Presumed(Frozen):
    """What stands in the job where nobody knows, and the sentence that says so."""

    value: str | None  # None: the field is left out, and the advisor assumes what it always does
    say: str
    when: When | None = None


class Offer(Frozen):
    """One answer that can be chosen, with what it means."""

    key: str
    says: str


class Question(Frozen):
    """One question. Its key is the field of the job file that it fills; `face.` is the face in hand."""

    key: str
    title: str
    asks: str
    kind: Kind
    table: str | None = None
    offers: tuple[Offer, ...] = ()
    like: str = ""
    find_out: str = ""  # empty: the defect's own row tells it
    unknown: tuple[Presumed, ...]
    when: When | None = None


def offers_of(**says: str) -> tuple[Offer, ...]:
    """Offers from keywords; an underscore stands for a hyphen.

    >>> offers_of(powder_coat="powder coating")
    (Offer(key='powder-coat', says='powder coating'),)
    """
    return tuple(Offer(key=key.replace("_", "-").removesuffix("-"), says=text) for key, text in says.items())
