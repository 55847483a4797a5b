"""The standing of the options of a list decision.

`never` removes; if any `must` speaks, only what all of them name stays. The rest are compared
concern after concern at the level of should and avoid, and only where all is equal by `may`.
Presence counts, not number: ten rules that say the same weigh as one.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from advisor.choices.model import Conflict, ListChoice, OptionStanding, Spoken, Standing, Struck
from advisor.knowledge.rules import Rule
from advisor.knowledge.vocabulary import CONCERNS

_HIDDEN_CONCERNS = ("safety", "specification", "corrosion")
_FEW = 4  # options that a refusal still names one by one


def choose_listed(
    decision: str,
    offered: Sequence[str],
    spoken: Sequence[Spoken],
    struck: Sequence[Struck] = (),
    eligible: Collection[str] | None = None,
    usual: str | None = None,
) -> ListChoice:
    """Every offered option with its standing, best first.

    `offered` is what the cell and the tables leave, in table order. An option is eligible if it is
    in `eligible`, or, where that is None, if some rule speaks for it or it is the `usual` one.
    Ties go to the usual option, then to table order.
    """
    removed = _removed(offered, spoken)
    hidden = tuple(item for item in spoken if _is_hidden(item, offered))
    conflict = _conflict(decision, offered, removed, spoken)
    if conflict:
        left: list[str] = []
    else:
        left = [option for option in offered if option not in removed]
    named = {
        option
        for item in spoken
        if item.advice.strength in ("must", "should", "may")
        for option in item.advice.options
    }
    wanted = set(eligible) if eligible is not None else named | ({usual} if usual else set())
    vectors = _values(spoken, left, "should", "avoid")
    mays = _values(spoken, left, "may", None)
    ranked = sorted(
        (option for option in left if option in wanted),
        key=lambda option: (
            [-value for value in vectors[option]],
            [-value for value in mays[option]],
            option != usual,
            offered.index(option),
        ),
    )
    rows = [
        _row(
            option,
            "winner"
            if option == ranked[0]
            else "equal"
            if (vectors[option], mays[option]) == (vectors[ranked[0]], mays[ranked[0]])
            else "lost",
            vectors[option],
            mays[option],
            spoken,
            None
            if option == ranked[0]
            else _lost_on(vectors[ranked[0]], mays[ranked[0]], vectors[option], mays[option]),
        )
        for option in ranked
    ]
    zero = (0,) * len(CONCERNS)
    rows += [
        _row(option, "not spoken for", vectors[option], mays[option], spoken, "silence")
        for option in left
        if option not in wanted
    ]
    rows += [
        _row(option, "removed", zero, zero, spoken, removed.get(option, "must"))
        for option in offered
        if option not in left
    ]
    winner = ranked[0] if ranked else None
    return ListChoice(decision, tuple(rows), winner, tuple(struck), hidden, conflict)


def _removed(offered: Sequence[str], spoken: Sequence[Spoken]) -> dict[str, str]:
    """Options that may not be taken, and whether a `never` or somebody else's `must` forbids them."""
    removed = {}
    for item in spoken:
        if item.advice.strength == "never":
            removed.update(dict.fromkeys(item.advice.options, "never"))
        if item.advice.strength == "must":
            removed.update({o: "must" for o in offered if o not in item.advice.options and o not in removed})
    return removed


def _is_hidden(item: Spoken, offered: Sequence[str]) -> bool:
    """Advice for something that is not to be had here, of a concern the technician must hear of."""
    positive = item.advice.strength in ("must", "should")
    return positive and item.rule.concern in _HIDDEN_CONCERNS and not set(item.advice.options) & set(offered)


def _conflict(
    decision: str, offered: Sequence[str], removed: Collection[str], spoken: Sequence[Spoken]
) -> Conflict | None:
    if not offered or any(option not in removed for option in offered):
        return None
    binding = [item for item in spoken if item.advice.strength in ("must", "never")]
    asked: set[str] | None = None
    for item in binding:
        if item.advice.strength == "must":
            asked = set(item.advice.options) if asked is None else asked & set(item.advice.options)
    never = {option for item in binding if item.advice.strength == "never" for option in item.advice.options}
    rules = tuple(dict.fromkeys(item.rule for item in binding))
    if asked and asked - never:
        what = f"{_or(asked - never)} is required for {decision}, and it is not to be had here"
        return Conflict(decision, rules, what, hidden=True)
    if asked:
        what = f"{_or(asked)} is required for {decision} and forbidden as well"
    elif asked is None and len(offered) <= _FEW:
        what = f"{_or(offered)} may not be taken for {decision}, and nothing else is to be had here"
    else:
        what = f"the rules leave no option for {decision}"
    alone = [rule for rule in rules if _forbids_all(rule, offered, binding)]
    return Conflict(decision, tuple(alone[:1]) or rules, what, hidden=False)


def _or(options: Collection[str]) -> str:
    return " or ".join(sorted(options))


def _forbids_all(rule: Rule, offered: Sequence[str], binding: Sequence[Spoken]) -> bool:
    """Whether the `never` of one rule takes everything away by itself."""
    never = {
        option
        for item in binding
        if item.rule is rule and item.advice.strength == "never"
        for option in item.advice.options
    }
    return never.issuperset(offered)


def _values(
    spoken: Sequence[Spoken], left: Sequence[str], positive: str, negative: str | None
) -> dict[str, tuple[int, ...]]:
    """+1, 0 or -1 of every option left, in each concern."""
    verdicts = [_verdict(concern, spoken, left, positive, negative) for concern in CONCERNS]
    return {option: tuple(verdict.get(option, 0) for verdict in verdicts) for option in left}


def _verdict(
    concern: str, spoken: Sequence[Spoken], left: Sequence[str], positive: str, negative: str | None
) -> dict[str, int]:
    """What one concern says of the options it has a say on; silence and dispute count for nothing."""
    here = [item.advice for item in spoken if item.rule.concern == concern]
    if not here:
        return {}
    avoided = {option for advice in here if advice.strength == negative for option in advice.options}
    wanted = [set(advice.options).intersection(left) for advice in here if advice.strength == positive]
    wanted = [options for options in wanted if options]
    anybody = set().union(*wanted)
    everybody = set.intersection(*wanted) if wanted else set()
    raised = (everybody if everybody - avoided else anybody) - avoided
    return {**dict.fromkeys(avoided - anybody, -1), **dict.fromkeys(raised, 1)}


def _lost_on(
    best: tuple[int, ...], best_may: tuple[int, ...], values: tuple[int, ...], mays: tuple[int, ...]
) -> str:
    for concern, high, low in zip(CONCERNS, best, values, strict=True):
        if high != low:
            return concern
    for concern, high, low in zip(CONCERNS, best_may, mays, strict=True):
        if high != low:
            return concern
    return "tie"


def _row(
    option: str,
    standing: Standing,
    values: tuple[int, ...],
    mays: tuple[int, ...],
    spoken: Sequence[Spoken],
    lost_on: str | None,
) -> OptionStanding:
    speaks_for: dict[str, Rule] = {}
    speaks_against: dict[str, Rule] = {}
    wanted_in = {
        item.rule.concern
        for item in spoken
        if item.advice.strength == "should" and option in item.advice.options
    }
    avoided_in = {
        item.rule.concern
        for item in spoken
        if item.advice.strength == "avoid" and option in item.advice.options
    }
    for item in spoken:
        positive = item.advice.strength in ("must", "should", "may")
        if option in item.advice.options:
            (speaks_for if positive else speaks_against)[item.rule.id] = item.rule
        elif item.advice.strength == "must":
            speaks_against[item.rule.id] = item.rule
    contested = tuple(concern for concern in CONCERNS if concern in wanted_in & avoided_in)
    return OptionStanding(
        option,
        standing,
        values,
        mays,
        tuple(speaks_for.values()),
        tuple(speaks_against.values()),
        contested,
        lost_on,
    )
