"""Looks for the smallest sets of changes that make an option win: one change first, then two.

Every single change is settled: it makes no job, it alters nothing that the plan rests on, it leaves the
option out of the candidates, or it is worked out. Of the pairs only those are looked at that can do what
neither change does alone, see `pairs`.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import combinations

from advisor.explain.remedies.blockers import Blocker, Blockers, lifts
from advisor.explain.remedies.change import Change, number_in
from advisor.explain.remedies.outlook import Outlook
from advisor.explain.remedies.replan import Face

#: So many are looked for among single changes, and fewer than so many lead on to pairs.
MOST, WANTED = 6, 3
#: Of each kind at most so many are told while there are others.
MOST_OF_A_KIND = {"rule": 2, "cell": 2}
Progress = Callable[[str], None]


@dataclass(slots=True)
class Try:
    """One single change that makes a job: the face under it, and how it stands there."""

    change: Change
    face: Face
    could: bool
    inert: bool  # nothing that the plan of the face rests on is altered by it alone


@dataclass(slots=True)
class Search:
    """One search, as far as its time goes."""

    outlook: Outlook
    until: float
    clock: Callable[[], float]
    say: Progress
    most: int = MOST
    wanted: int = WANTED
    found: list[tuple[Change, ...]] = field(default_factory=list)
    tries: list[Try] = field(default_factory=list)
    proposed: int = 0
    worked_out: int = 0
    pairs_seen: int = 0
    _classes: dict[tuple[str, object], bool] = field(default_factory=dict)

    @property
    def late(self) -> bool:
        """Whether the time is over."""
        return self.clock() > self.until

    # ------------------------------------------------------------------ one change
    def singles(self, changes: Sequence[Change]) -> bool:
        """Settle the single changes, the nearest first; whether all were settled, or enough found on the way."""
        self.proposed = len(changes)
        self.say(f"{len(changes)} single changes")
        base = self.outlook.face(())
        assert base is not None
        key, already = self.outlook.replanner.key(base), self.outlook.could_win(base)
        put_off: list[Try] = []
        open_ = self.outlook.replanner.open_rules(base)
        for change in changes:
            if len(self.found) >= self.most:
                return True
            if self.late:
                return False
            if self._beaten(change):
                continue
            if change.rule is not None and change.rule not in open_:
                self.tries.append(Try(change, base, already, True))
                continue
            face = self.outlook.face((change,))
            if face is None:
                continue
            now = self.outlook.replanner.key(face)
            kind = (change.place, now[1])
            if change.at_limit and kind in self._classes:  # with others it may be told apart
                self.tries.append(Try(change, face, self._classes[kind], True))
                continue
            inert = self.outlook.wish.decision != "handling" and now == key
            each = Try(change, face, already if inert else self.outlook.could_win(face), inert)
            self.tries.append(each)
            self._classes.setdefault(kind, each.could)
            if inert:
                continue
            if each.could and not self._full(change):
                self._single(each)
            else:
                put_off.append(each)
        return self._settle(sorted(put_off, key=lambda each: not each.could))

    def _settle(self, rest: Sequence[Try]) -> bool:
        """Work out what is left while too few are found.

        Without any plan left, concerns give way from the lowest up, and then options may win that are
        no candidates while all of them count.
        """
        for each in rest:
            if len(self.found) >= self.wanted:
                return True
            if self.late:
                return False
            if not self._beaten(each.change) and (each.could or self.outlook.could_win_widened(each.face)):
                self._single(each)
        return True

    def _single(self, each: Try) -> None:
        self.worked_out += 1
        if not self.outlook.wins((each.change,), each.face):
            return
        nearest = self._nearer(each.change)
        for change in dict.fromkeys((nearest, each.change)):
            if self.outlook.proved((change,)):
                self.found.append((change,))
                return

    def _full(self, change: Change) -> bool:
        kinds = Counter(_kind(won) for (won,) in self.found)
        return kinds[_kind(change)] >= MOST_OF_A_KIND.get(_kind(change), self.most)

    def _beaten(self, change: Change) -> bool:
        """Whether a change found already is a nearer one of the same place."""
        return any(len(won) == 1 and won[0].place == change.place for won in self.found)

    def _nearer(self, change: Change, beside: tuple[Change, ...] = ()) -> Change:
        """A number moved back toward what it was, as far as the option still wins there, `beside` other changes.

        By bisection, to about two parts in a hundred; only where the time allows.
        """
        present = self._present(change)
        if change.number is None or present is None or number_in(change.value) is None:
            return change
        losing, best = present, change
        while not self.late and best.number and abs(math.log(best.number / losing)) > 0.02:
            middle = change.moved(float(f"{math.sqrt(losing * best.number):.3g}"), present)
            if middle.number in (losing, best.number) or not middle.number:
                break
            self.worked_out += 1
            if self.outlook.wins((middle, *beside)):
                best = middle
            else:
                losing = middle.number
        return best

    def _present(self, change: Change) -> float | None:
        """What a field of the part or the face says now; None where it says nothing, or takes whole numbers."""
        base = self.outlook.face(())
        value = base.desk.facts.get(change.attribute) if base is not None else None
        return (
            float(value)
            if isinstance(value, (int, float)) and value > 0 and change.attribute != "batch"
            else None
        )

    # ------------------------------------------------------------------ two changes
    def pairs(self) -> bool:
        """Pairs of single changes that do not win alone; whether all of them are settled.

        First those that only together bring the option among the candidates: both must touch what
        keeps it out. Then those of which one does so alone but loses on cost. Enough found ends
        the search.
        """
        left = [each for each in self.tries if not self._beaten(each.change)]
        for first, second in self._enabling([each for each in left if not each.could]):
            if len(self.found) >= self.wanted or self.late:
                return False
            self._pair(first, second)
        lost = [each for each in left if each.could]
        ordered = sorted(
            ((one, two) for one in lost for two in left if two is not one),
            key=lambda pair: (pair[0].inert + pair[1].inert, pair[0].change.rank + pair[1].change.rank),
        )
        for first, second in ordered:
            if len(self.found) >= self.wanted or self.late:
                return False
            self._pair(first, second)
        return not self.late

    def _enabling(self, out: Sequence[Try]) -> list[tuple[Try, Try]]:
        """The pairs of changes, neither of which brings the option in, that may do so together."""
        wish = self.outlook.wish
        base = self.outlook.face(())
        if base is None or wish.decision not in ("media", "handling"):
            return sorted(combinations(out, 2), key=_rank)
        blockers = Blockers(self.outlook.replanner, wish.stage, str(wish.option), base)
        if wish.decision == "handling":
            out = [each for each in out if "handling" in blockers.touched(each.change, each.face)]
            return sorted(combinations(out, 2), key=_rank)
        first = blockers.of(base)
        touched = [blockers.touched(each.change, each.face) for each in out]
        found: dict[frozenset[int], tuple[Try, Try]] = {}
        for row, one in enumerate(out):
            if not any(_some(touched[row], situation) for situation in first):
                continue
            left = blockers.of(one.face)
            for other, two in enumerate(out):
                if other != row and lifts(touched[other], left):
                    found.setdefault(frozenset((row, other)), (one, two))
        return sorted(found.values(), key=_rank)

    def _pair(self, first: Try, second: Try) -> None:
        """Keep a pair that wins and of which neither part wins alone."""
        pair = (first.change, second.change)
        if not _go_together(*pair):
            return
        places = {change.place for change in pair}
        if any({change.place for change in won} <= places for won in self.found):
            return  # one is enough of what is changed, whatever to: the nearest came first
        self.pairs_seen += 1
        face = self.outlook.face(pair)
        if face is None or not self.outlook.could_win(face):
            return
        self.worked_out += 1
        if not self.outlook.wins(pair, face):
            return
        one = self._nearer(first.change, (second.change,))
        nearest = (one, self._nearer(second.change, (one,)))
        for both in dict.fromkeys((nearest, pair)):
            if self.outlook.proved(both) and not any(self.outlook.proved((each,)) for each in both):
                self.found.append(both)
                return


def _kind(change: Change) -> str:
    return "rule" if change.rule else "cell" if change.field.startswith("cell") else "job"


def _rank(pair: tuple[Try, Try]) -> float:
    return pair[0].change.rank + pair[1].change.rank


def _some(touched: frozenset[str], blockers: Sequence[Blocker]) -> bool:
    """Whether a change has a say in the first blocker: one of the two must; none at all is open to any."""
    return not blockers or not touched.isdisjoint(blockers[0])


def _go_together(one: Change, two: Change) -> bool:
    """Whether two changes can both be made: not of one field, nor of a cell and another cell's field."""
    if one.place == two.place:
        return False
    if one.rule is None and two.rule is None and "cell" in (one.field, two.field):
        return not (one.field.startswith("cell") and two.field.startswith("cell"))
    return True
