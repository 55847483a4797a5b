"""The smallest changes that would make an option win: fewest first, each proved by a whole recommendation.

Every single change is tried, then every pair, as far as the time goes. A change that leaves the option
out of the candidates of its stage cannot make it win, so only the others are worked out.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, field
from itertools import combinations, product

from advisor.choices.decide import Decider
from advisor.explain.changes import Change, left_out, number_in, single_changes
from advisor.explain.forced import Wish
from advisor.explain.point import Place
from advisor.explain.prospects import Prospects
from advisor.explain.shared import Shared
from advisor.figures.coefficients import CoefficientBook
from advisor.job.model import Job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.reference import Frozen
from advisor.pipeline import WorkedOut
from advisor.units import figure

SECONDS = 5.0
#: So many are looked for among single changes, and fewer than so many lead on to pairs.
MOST, WANTED = 6, 3
Progress = Callable[[str], None]
#: The ends of fields that can leave a face without any plan.
_TAKE_PLANS_AWAY = (
    "cell", ".takes", ".power", ".speed", ".wheel_diameter", ".handling", ".force", ".access", ".radius", ".max_stock",
    "finish",
)  # fmt: skip


class Remedy(Frozen):
    """Changes that together make the option win, and of which none can be left out."""

    changes: tuple[str, ...]
    fields: tuple[str, ...]
    rules: tuple[str, ...] = ()


class Smallest(Frozen):
    """What was found. `exhaustive` says how many changes together were all tried: 0, 1 or 2."""

    remedies: tuple[Remedy, ...]
    exhaustive: int
    singles: int
    pairs: int
    worked_out: int
    text: str


@dataclass(slots=True)
class _Try:
    """One single change with the job it makes."""

    change: Change
    job: Job
    decider: Decider
    could: bool


@dataclass(slots=True)
class _Search:
    prospects: Prospects
    until: float
    clock: Callable[[], float]
    say: Progress
    found: list[tuple[Change, ...]] = field(default_factory=list)
    worked_out: int = 0

    @property
    def late(self) -> bool:
        return self.clock() > self.until

    # ------------------------------------------------------------------ one change
    def tries(self, changes: Sequence[Change]) -> list[_Try]:
        """The single changes that make a job at all, with whether the option could win by them."""
        made: list[_Try] = []
        base, decider = self.prospects.job(()), self.prospects.decider(())
        already = base is not None and self.prospects.could_win(base, decider)
        for change in changes:
            if self.late:
                break
            job = self.prospects.job((change,))
            if job is None:
                continue
            decider = self.prospects.decider((change,))
            if change.rule is not None and not self._speaks(change.rule):
                could = already
            else:
                could = self.prospects.could_win(job, decider)
            made.append(_Try(change, job, decider, could))
        return made

    def singles(self, tries: Sequence[_Try]) -> bool:
        """Work out what could win, the nearest first; whether all was worked out."""
        hopeful = [each for each in tries if each.could]
        # Without any plan left, concerns give way from the lowest up, and then others may win.
        widened = [each for each in tries if not each.could and self._eligible(each)]
        self.say(f"{len(tries)} single changes, {len(hopeful)} to work out")
        for each in (*hopeful, *widened):
            if len(self.found) >= MOST:
                return True
            if any(self._replaces(won, each.change) for (won,) in self.found):
                continue
            if self.late:
                return False
            self.worked_out += 1
            if self.prospects.promising((each.change,)) and self.prospects.wins((each.change,)):
                self.found.append((self.nearer(each.change),))
        return True

    def _eligible(self, each: _Try) -> bool:
        """Whether a change may leave no plan at all with every concern, and the option could win then."""
        if each.change.rule is not None or not each.change.field.endswith(_TAKE_PLANS_AWAY):
            return False
        return not self.late and self.prospects.could_win(each.job, each.decider, 0)

    @staticmethod
    def _replaces(won: Change, other: Change) -> bool:
        """Whether a change found already is nearer than another one of the same field."""
        if won.rule is not None or other.rule is not None:
            return won == other
        return won.field == other.field and won.rank <= other.rank

    def nearer(self, change: Change) -> Change:
        """A number moved back toward what it was, as far as the option still wins there.

        By bisection, to about two parts in a hundred; only where the time allows.
        """
        present = self.prospects.number(change)
        given = number_in(change.value)
        if change.rule is not None or present is None or given is None or present == given[0]:
            return change
        losing, winning, best = present, given[0], change
        while not self.late and abs(math.log(winning / losing)) > 0.02:
            middle = float(f"{math.sqrt(losing * winning):.3g}")
            if middle in (losing, winning):
                break
            text = given[1].format(figure(middle))
            nearer = Change(change.field, text, abs(math.log(middle / present)))
            self.worked_out += 1
            if self.prospects.promising((nearer,)) and self.prospects.wins((nearer,)):
                winning, best = middle, nearer
            else:
                losing = middle
        return best

    # ------------------------------------------------------------------ two changes
    def pairs(self, tries: Sequence[_Try]) -> tuple[int, bool]:
        """Pairs of single changes that do not win alone; how many were looked at, and whether all were.

        First those that only together bring the option among the candidates: of changes that no rule
        can tell apart here, the nearest stands for all. Then those of which one does so alone but loses on
        cost. Enough found ends the search.
        """
        open_ = [each for each in tries if not self._beaten(each.change)]
        lost = [each for each in open_ if each.could]
        kinds = self._kinds([each for each in open_ if not each.could])
        ordered = [*_by_rank(combinations(kinds, 2)), *_by_rank(product(lost, open_))]
        seen, all_settled = 0, True
        for first, second in ordered:
            if len(self.found) >= WANTED or self.late:
                return seen, False
            seen += 1
            settled = self._pair((first.change, second.change))
            all_settled = all_settled and (settled or first.could)
        return seen, all_settled

    def _kinds(self, tries: Sequence[_Try]) -> list[_Try]:
        """The nearest change of each kind that the rules can tell apart; rules each for themselves."""
        base = self.prospects.job(())
        decider = self.prospects.decider(())
        seen: set[object] = set() if base is None else {self.prospects.signature(base, decider)}
        kept = []
        for each in tries:
            if self.late:
                break
            if each.change.rule is not None:
                kind: object = each.change.rule
                if not self._speaks(each.change.rule):
                    continue
            else:
                kind = self.prospects.signature(each.job, each.decider)
            if kind not in seen:
                seen.add(kind)
                kept.append(each)
        return kept

    def _speaks(self, rule: str) -> bool:
        """Whether a rule has a say in the decision, or in what comes before it."""
        order = self.prospects.knowledge.vocabulary.order
        before = order[: order.index(self.prospects.wish.decision) + 1]
        spoken = self.prospects.knowledge.rule[rule]
        return bool(spoken.conclusions()) or any(item.decision in before for item in spoken.advice())

    def _beaten(self, change: Change) -> bool:
        return any(len(won) == 1 and self._replaces(won[0], change) for won in self.found)

    def _pair(self, pair: tuple[Change, Change]) -> bool:
        """Keep a pair that wins and of which neither part wins alone; False where it lost on cost alone."""
        first, second = pair
        if first == second or (first.rule is None and first.field == second.field):
            return True
        if any(set(map(str, won)) <= set(map(str, pair)) for won in self.found):
            return True
        job = self.prospects.job(pair)
        if job is None:
            return True
        decider = self.prospects.decider(pair)
        if not self.prospects.could_win(job, decider):
            return True
        self.worked_out += 1
        if not self.prospects.promising(pair) or not self.prospects.wins(pair):
            return False
        if not any(self.prospects.wins((each,)) for each in pair):
            self.found.append(pair)
        return True


def _by_rank(pairs: Iterable[tuple[_Try, _Try]]) -> list[tuple[_Try, _Try]]:
    return sorted(pairs, key=lambda pair: pair[0].change.rank + pair[1].change.rank)


def smallest_changes(
    place: Place,
    wish: Wish,
    found: WorkedOut,
    knowledge: Knowledge,
    rules: Collection[str],
    say: Progress,
    seconds: float = SECONDS,
    clock: Callable[[], float] = time.monotonic,
) -> Smallest:
    """Up to six smallest sets of changes that make an option win, none with a part that is not needed.

    `rules` are those that had a say in the sheet. Exact for one change and for two unless the time runs
    out, which the answer says; larger sets are not looked for.
    """
    prospects = Prospects(
        found,
        knowledge,
        place.feature.name,
        wish,
        Shared(knowledge, CoefficientBook(knowledge.tables.coefficients.values())),
    )
    search = _Search(prospects, clock() + seconds, clock, say)
    media = _media_in_question(place, wish)
    spoken = [rule.id for rule in knowledge.rules if rule.id in rules]
    changes = single_changes(found.job, place.plan.feature, place.plan.desk.facts, knowledge, spoken, media)
    tries = search.tries(changes)
    whole = not search.late
    whole = search.singles(tries) and whole
    seen, exhaustive = 0, int(whole)
    if whole and len(search.found) < WANTED:
        say(f"{len(search.found)} found with one change; looking at pairs")
        seen, all_pairs = search.pairs(tries)
        exhaustive = 2 if all_pairs else 1
    return Smallest(
        remedies=tuple(_remedy(changes) for changes in search.found),
        exhaustive=exhaustive,
        singles=len(tries),
        pairs=seen,
        worked_out=search.worked_out,
        text=_summary(search, tries, seen, exhaustive, seconds),
    )


def _media_in_question(place: Place, wish: Wish) -> tuple[str, ...]:
    taken = place.planned.candidate.tool.media.key
    return (str(wish.option), taken) if wish.decision == "media" else (taken,)


def _remedy(changes: Sequence[Change]) -> Remedy:
    return Remedy(
        changes=tuple(str(change) for change in changes),
        fields=tuple(change.field for change in changes if change.rule is None),
        rules=tuple(sorted(left_out(changes))),
    )


def _summary(search: _Search, tries: Sequence[_Try], pairs: int, exhaustive: int, seconds: float) -> str:
    count = len(search.found)
    told = f"{count or 'No'} way{'' if count == 1 else 's'} found"
    looked = f"{len(tries)} single changes"
    if exhaustive == 0:
        return (
            f"{told}; the {seconds:g} s were over before all of {looked} were worked out, so the search was not "
            "exhaustive and there may be more."
        )
    if exhaustive == 2:
        return f"{told} among {looked} and all pairs of them; three changes and more were not looked for."
    if not pairs:
        return f"{told} among {looked}, the nearest of each field; pairs were not needed."
    ended = f"the {seconds:g} s were over" if search.late else "enough were found"
    return (
        f"{told}; all of {looked} were tried, and {pairs} pairs of them until {ended}, so the search of pairs "
        "was not exhaustive."
    )
