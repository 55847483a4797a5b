"""The smallest changes that would make an option win: fewest first, each proved by a whole recommendation."""

from __future__ import annotations

import time
from collections.abc import Callable, Collection, Sequence

from advisor.explain.forced import Wish
from advisor.explain.remedies.change import Change, left_out
from advisor.explain.remedies.jobs import Jobs
from advisor.explain.remedies.outlook import Outlook
from advisor.explain.remedies.proposals import single_changes
from advisor.explain.remedies.replan import Replanner
from advisor.explain.remedies.search import WANTED, Progress, Search
from advisor.figures.coefficients import CoefficientBook
from advisor.knowledge.base import Knowledge
from advisor.knowledge.reference import Frozen
from advisor.pipeline import WorkedOut
from advisor.sequence.candidates import ALL_COUNT
from advisor.sequence.plan import FeaturePlan

SECONDS = 5.0


class Remedy(Frozen):
    """Changes that together make the option win, and of which none can be left out."""

    changes: tuple[str, ...]
    fields: tuple[str, ...]
    rules: tuple[str, ...] = ()


class Smallest(Frozen):
    """What was found. `exhaustive` says how many changes together were all settled: 0, 1 or 2."""

    remedies: tuple[Remedy, ...]
    exhaustive: int
    singles: int
    pairs: int
    worked_out: int
    text: str


def smallest_changes(
    plan: FeaturePlan,
    taken: str | None,
    wish: Wish,
    found: WorkedOut,
    knowledge: Knowledge,
    rules: Collection[str],
    say: Progress,
    seconds: float = SECONDS,
    clock: Callable[[], float] = time.monotonic,
) -> Smallest:
    """Up to six smallest sets of changes that make an option win, none with a part that is not needed.

    `taken` is the media that stands where the option is asked for, None on a face without a plan; `rules`
    are those that had a say in the sheet. Exact for one change and for two unless the time runs
    out, which the answer says; larger sets are not looked for.
    """
    hopeless = _hopeless(wish, knowledge)
    if hopeless is not None:
        return Smallest(remedies=(), exhaustive=2, singles=0, pairs=0, worked_out=0, text=hopeless)
    until = clock() + seconds
    feature = plan.feature
    book = CoefficientBook(knowledge.tables.coefficients.values())
    outlook = Outlook(
        found,
        knowledge,
        feature.name,
        wish,
        Replanner(knowledge, found.decider, book, plan.concerns if plan.path else ALL_COUNT),
        Jobs(found.job, feature.name, knowledge),
    )
    search = Search(outlook, until, clock, say)
    spoken = [rule.id for rule in knowledge.rules if rule.id in rules]
    media = _media_in_question(taken, wish)
    whole = search.singles(single_changes(found.job, feature, plan.desk.facts, knowledge, spoken, media))
    exhaustive = int(whole)
    if whole and len(search.found) < WANTED:
        say(f"{len(search.found)} found with one change; looking at pairs")
        exhaustive = 2 if search.pairs() else 1
    return Smallest(
        remedies=tuple(_remedy(changes) for changes in search.found),
        exhaustive=exhaustive,
        singles=search.proposed,
        pairs=search.pairs_seen,
        worked_out=search.worked_out,
        text=_summary(search, exhaustive, seconds),
    )


def _hopeless(wish: Wish, knowledge: Knowledge) -> str | None:
    """Why no change at all can help: what a media serves for is no matter of job, cell or rules."""
    if wish.decision != "media" or wish.stage in knowledge.tables.media[str(wish.option)].stages:
        return None
    row = knowledge.tables.media[str(wish.option)]
    return (
        f"None: a {row.name} serves to {', '.join(row.stages)} and not to {wish.stage}, which no change of the job, "
        "the cell or a rule alters."
    )


def _media_in_question(taken: str | None, wish: Wish) -> tuple[str, ...]:
    asked = str(wish.option) if wish.decision == "media" else None
    return tuple(each for each in (asked, taken) if each is not None)


def _remedy(changes: Sequence[Change]) -> Remedy:
    return Remedy(
        changes=tuple(str(change) for change in changes),
        fields=tuple(change.field for change in changes if change.rule is None),
        rules=tuple(sorted(left_out(changes))),
    )


def _summary(search: Search, exhaustive: int, seconds: float) -> str:
    count = len(search.found)
    told = f"{count or 'No'} way{'' if count == 1 else 's'} found"
    looked = f"{search.proposed} single changes"
    if exhaustive == 0:
        return (
            f"{told}; the {seconds:g} s were over before all of {looked} were worked out, so the search was not "
            "exhaustive and there may be more."
        )
    if exhaustive == 2:
        return f"{told} among {looked} and all pairs of them; three changes and more were not looked for."
    if not search.pairs_seen and count >= WANTED:
        return f"{told} among {looked}, the nearest of each field; pairs were not needed."
    ended = "enough were found" if count >= WANTED else f"the {seconds:g} s were over"
    return (
        f"{told}; all of {looked} were tried, and {search.pairs_seen} pairs of them until {ended}, so the search "
        "of pairs was not exhaustive."
    )
