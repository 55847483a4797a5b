"""How the options of a decision stand to each other: who speaks for which, and on what one falls behind."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from advisor.choices.model import ListChoice, OptionStanding
from advisor.explain.link import Link
from advisor.explain.origins import Origins
from advisor.knowledge.rules import Rule
from advisor.knowledge.vocabulary import CONCERNS
from advisor.sequence.candidates import SPOKEN_BY


class Behind(NamedTuple):
    """Where one option falls behind another.

    `level` is `never`, `must`, `should`, `may`, `silence`, `not offered`, `cost` or `tie`; `concern` is
    None where the level has none.
    """

    level: str
    concern: str | None
    rules: tuple[Rule, ...]


def strengths(rule: Rule, decision: str, option: str) -> tuple[str, ...]:
    """The words with which a rule speaks of an option: named, or left out of a `must`.

    An `avoid` or `never` speaks against what it names, a `must` against everything that it does not name.
    """
    return tuple(
        item.strength if option in item.options else "must be another"
        for item in rule.advice()
        if item.decision == decision and (option in item.options or item.strength == "must")
    )


def behind(choice: ListChoice, option: OptionStanding, best: OptionStanding) -> Behind:
    """The first strength and concern at which an option falls behind the best one, with the rules."""
    if option.standing == "removed":
        forbidding = [
            r for r in option.speaks_against if "never" in strengths(r, choice.decision, option.option)
        ]
        demanding = [
            r for r in option.speaks_against
            if "must be another" in strengths(r, choice.decision, option.option)
        ]  # fmt: skip
        rules = forbidding or demanding
        concern = min((rule.concern for rule in rules), key=CONCERNS.index, default=None)
        return Behind("never" if forbidding else "must", concern, tuple(rules))
    if option.standing == "not spoken for":
        return Behind("silence", None, ())
    for level, mine, theirs in (
        ("should", option.values, best.values),
        ("may", option.mays, best.mays),
    ):
        for concern, low, high in zip(CONCERNS, mine, theirs, strict=True):
            if low != high:
                words = ("should", "avoid", "must") if level == "should" else ("may",)
                rules = [
                    *_of(best.speaks_for, choice.decision, best.option, concern, words),
                    *_of(option.speaks_against, choice.decision, option.option, concern, words),
                ]
                return Behind(level, concern, tuple(dict.fromkeys(rules)))
    return Behind("cost" if choice.decision in ("media", "grain") else "tie", None, ())


def _of(rules: Iterable[Rule], decision: str, option: str, concern: str, words: Sequence[str]) -> list[Rule]:
    return [
        rule for rule in rules
        if rule.concern == concern and set(words) & set(strengths(rule, decision, option))
    ]  # fmt: skip


def behind_text(
    at: Behind, choice: ListChoice, option: OptionStanding, best: OptionStanding, origins: Origins
) -> str:
    """The same as a sentence."""
    name, other = origins.explain.name(option.option), origins.explain.name(best.option)
    title = origins.knowledge.vocabulary.decisions[choice.decision].title
    ids = ", ".join(rule.id for rule in at.rules)
    if at.level == "never":
        return f"{name} may not be the {title} here ({at.concern}): {ids}."
    if at.level == "must":
        return f"Something else must be the {title} here ({at.concern}): {ids}."
    if at.level == "silence":
        wanted = SPOKEN_BY.get(str(origins.situation.get("stage")), frozenset())
        about = " that looks at " + _tested(wanted, origins) if choice.decision == "media" and wanted else ""
        return f"No rule{about} speaks for {name}, and silence is not suitability."
    if at.concern is not None:
        theirs, mine = (_sign(row, choice.decision, at) for row in (best, option))
        told = f"{name} falls behind {other} on {at.concern}: there {other} {theirs}, {name} {mine}"
        return f"{told} ({ids})." if ids else f"{told}."
    if at.level == "cost":
        return f"The rules rank {name} with {other}; the cost of the whole chain decides between them."
    return f"The rules rank {name} with {other}; of equals the usual one for this media is taken."


def _sign(row: OptionStanding, decision: str, at: Behind) -> str:
    """How an option stands at the concern that decides, in words."""
    place = [str(each) for each in CONCERNS].index(str(at.concern))
    value = row.values[place] if at.level == "should" else row.mays[place]
    mildly = "mildly " if at.level == "may" else ""
    if value > 0:
        return f"is {mildly}asked for"
    if value < 0:
        return "is advised against"
    if at.level == "should" and at.concern in row.contested:
        return "is asked for and advised against, which counts for nothing"
    if _of(row.speaks_for, decision, row.option, str(at.concern), ("may",) if mildly else ("should",)):
        return "is asked for by some rules, but not by all that speak there"
    return "is not spoken of"


def _tested(attributes: frozenset[str], origins: Origins) -> str:
    titles = sorted({origins.knowledge.vocabulary.testable[key].title for key in attributes})
    return " or ".join(f"the {title}" for title in titles)


def spoken_links(
    rules: Iterable[Rule],
    decision: str,
    options: Sequence[str],
    origins: Origins,
    alone: Mapping[str, bool] | None = None,
) -> tuple[Link, ...]:
    """The rules that speak of some options as links, the weightiest concern first.

    Where there is more than one option, each word of a rule names the one it is meant for.
    """
    ranked = sorted(rules, key=lambda rule: CONCERNS.index(rule.concern))
    links = []
    for rule in ranked:
        words = {option: ", ".join(dict.fromkeys(strengths(rule, decision, option))) for option in options}
        told = [
            word if len(options) == 1 else f"{word} {origins.explain.name(option)}"
            for option, word in words.items()
            if word
        ]
        links.append(origins.rule(rule, "; ".join(told) or None, (alone or {}).get(rule.id)))
    return tuple(links)
