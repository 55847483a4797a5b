"""Every value on a sheet says where it comes from; this module holds such reasons and numbers them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

Kind = Literal["asked", "known", "ruled", "derived", "chosen", "limited", "assumed"]
Scalar = bool | int | float | str | None
Fact = Scalar | tuple[Scalar, ...]

KIND_WORDS: Mapping[Kind, str] = {
    "asked": "asked for in the job",
    "known": "looked up in a table",
    "ruled": "a rule",
    "derived": "calculated",
    "chosen": "chosen against rivals",
    "limited": "held by a limit",
    "assumed": "assumed, because the job does not say",
}

_SEEN_WORDS = {
    "whole": "read whole",
    "excerpt": "seen as an excerpt",
    "none": "not seen: check before relying on it",
}
_UNSEEN = "from memory: check before relying on it"


class Input(BaseModel):
    """One input of a formula: a value and its unit (`1` for a plain number).

    A coefficient also has the 5th and 95th percentile of its band.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True, allow_inf_nan=False)

    value: Scalar
    unit: str = "1"
    low: float | None = None
    high: float | None = None


class Reason(BaseModel):
    """Why one value stands on the sheet.

    `text` is a whole sentence for the technician. `facts` maps an attribute to the value that was
    matched (None means not known, False means no). `formula` and `inputs` belong to a calculated
    value, and `gives` is what the formula gives from these inputs: where the sheet shows a band, its
    middle comes from draws and may differ a little. `source` holds keys of the list of sources, joined
    by a comma, and `source_kind` says in words what kind of source that is. `id` is empty until a
    `Trail` hands one out.

    >>> Reason(kind="asked", text="The job asks for a fine satin.").id
    ''
    """

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True, allow_inf_nan=False)

    id: str = ""
    kind: Kind
    text: str = Field(min_length=1)
    rule: str | None = None
    facts: dict[str, Fact] = Field(default_factory=dict)
    formula: str | None = None
    inputs: dict[str, Input] = Field(default_factory=dict)
    gives: Input | None = None
    source: str | None = None
    source_kind: str | None = None


class Trail:
    """Collects the reasons of one sheet: equal reasons are one, ids follow the first reference.

    The object belongs to the sheet being built and is thrown away with it.

    >>> trail = Trail()
    >>> asked = Reason(kind="asked", text="The job asks for a fine satin.")
    >>> ruled = Reason(kind="ruled", text="A web lays an even line.", rule="web-for-satin")
    >>> trail.refer(asked, ruled), trail.refer(ruled, ruled)
    (('r1', 'r2'), ('r2',))
    >>> [reason.id for reason in trail.reasons().values()]
    ['r1', 'r2']
    """

    def __init__(self) -> None:
        self._ids: dict[str, str] = {}
        self._reasons: dict[str, Reason] = {}

    def refer(self, *reasons: Reason) -> tuple[str, ...]:
        """The ids of reasons, in the order given, each once."""
        return tuple(dict.fromkeys(self._id(reason) for reason in reasons))

    def refer_all(self, reasons: Mapping[str, Iterable[Reason]]) -> dict[str, tuple[str, ...]]:
        """The same for a mapping of values to their reasons."""
        return {value: self.refer(*why) for value, why in reasons.items()}

    def reasons(self) -> dict[str, Reason]:
        """Every reason so far by id, in the order of the ids."""
        return dict(self._reasons)

    def _id(self, reason: Reason) -> str:
        same = reason.model_dump_json(exclude={"id", "facts"} if reason.rule else {"id"})
        found = self._ids.get(same)
        if found is None:
            found = f"r{len(self._ids) + 1}"
            self._ids[same] = found
            self._reasons[found] = reason.model_copy(update={"id": found})
        elif reason.rule:
            # One rule may fire in several steps on different facts: one reason, all the values matched.
            known = self._reasons[found]
            merged = {name: _both(known.facts.get(name), value) for name, value in reason.facts.items()}
            self._reasons[found] = known.model_copy(update={"facts": {**known.facts, **merged}})
        return found


def _both(first: Fact, second: Fact) -> Fact:
    """Two matched values as one fact, each value once."""
    firsts = first if isinstance(first, tuple) else (first,)
    seconds = second if isinstance(second, tuple) else (second,)
    distinct = tuple({(type(value), value): value for value in (*firsts, *seconds)}.values())
    return distinct[0] if len(distinct) == 1 else distinct


def in_words(value: Fact, true: str = "yes", false: str = "no") -> str:
    """A fact as a person says it; what nobody knows is told apart from what is not so.

    >>> in_words(None), in_words(False), in_words(True), in_words(("belt", "buff")), in_words(18.0)
    ('not known', 'no', 'yes', 'belt or buff', '18')
    """
    if value is None:
        return "not known"
    if isinstance(value, bool):
        return true if value else false
    if isinstance(value, tuple):
        words = [in_words(each, true, false) for each in value]
        return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}" if words else "none"
    return f"{value:.6g}" if isinstance(value, float) else str(value)


def source_words(kind: str, seen: str | None = None) -> str:
    """What kind of source stands behind a value, and how much of it was seen.

    `kind` and `seen` are those of a row of the list of sources: `seen` is `whole`, `excerpt`,
    `memory` or `none`. Common practice has no text that could be seen.

    >>> source_words("standard", "excerpt")
    'standard, seen as an excerpt'
    >>> source_words("handbook", "memory")
    'handbook, from memory: check before relying on it'
    >>> source_words("from-memory"), source_words("common-practice", "memory")
    ('from memory: check before relying on it', 'common practice')
    """
    plain = kind.replace("-", " ").replace("_", " ")
    if plain == "common practice":
        return plain
    if plain == "from memory":
        return _UNSEEN
    if seen is None:
        return plain
    return f"{plain}, {_SEEN_WORDS.get(seen, _UNSEEN)}"


def join_sources(keys: Iterable[str]) -> str | None:
    """Source keys as the one text a reason carries, each once; None where there is none.

    >>> join_sources(["common-practice", "gent-1958", "gent-1958"]), join_sources([])
    ('common-practice, gent-1958', None)
    """
    return ", ".join(dict.fromkeys(keys)) or None


def split_sources(source: str | None) -> tuple[str, ...]:
    """The keys in the text of a source.

    >>> split_sources("common-practice, gent-1958"), split_sources(None)
    (('common-practice', 'gent-1958'), ())
    """
    return tuple(key for key in (source or "").split(", ") if key)
