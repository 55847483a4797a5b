"""How far each quantity may be off before the first choice changes, with few looks and no more claimed than seen.

Each quantity is looked at outward from its value, both ways, in the steps of `RINGS` and just beyond the
limits of rules on the way, until a face gets another chain of steps there or three quantities are known to
matter. Their changes are then narrowed down by halving. What is claimed to hold was worked out the way
the sheet is, set-ups shared between faces included, at the points that were looked at.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from advisor.choices.model import ListChoice, RangeChoice
from advisor.errors import InputError
from advisor.job.model import Job
from advisor.pipeline import Desk, WorkedOut, sheet_of, work_out
from advisor.sequence.plan import FeaturePlan
from advisor.sheet.model import Hold, Sheet
from advisor.sheet.weighed import named_rules
from advisor.units import figure
from advisor.whatif.chains import Chooser, StepChoice, chain_of
from advisor.whatif.change import changed_job
from advisor.whatif.limits import limits_of
from advisor.whatif.quantities import Quantity, quantities

#: The steps outward, as factors; how closely a change is placed, and how many are told.
RINGS, CLOSE, TOLD = (1.1, 1.25, 1.5), 1.05, 3
_HALVINGS = 2
#: Faces planned at most; what is not narrowed down by then is told as widely as it is known.
MOST_PLANS = 32
#: How far beyond a limit one looks.
_BEYOND = 1e-3

Chains = tuple[tuple[StepChoice, ...], ...]


def recommend_with_holds(job: Job, desk: Desk) -> Sheet:
    """The sheet of a job as `recommend` makes it, and on it how far the advice holds.

    `holds` has the change that lies nearest first, `probed` names what they rest on. Takes six or
    seven times as long as the sheet alone, a second or so for three faces.
    """
    found = work_out(job, desk)
    sheet = sheet_of(found, desk.knowledge)
    search = _Search(found, desk)
    holds = search.holds()
    heard = search.rests_on() - named_rules(sheet)
    probed = tuple(rule.id for rule in desk.knowledge.rules if rule.id in heard)
    return sheet.model_copy(update={"holds": holds, "probed": probed, "made_with": ("holds",)})


@dataclass(slots=True)
class _Side:
    """One direction from a value: the furthest point that is the same, and the first that is not."""

    same: float
    up: bool
    other: float | None = None
    shut: bool = False  # the job cannot have the next value

    @property
    def open(self) -> bool:
        """Whether looking further is of use."""
        return self.other is None and not self.shut

    @property
    def seen(self) -> float:
        """The furthest point that was looked at."""
        return self.same if self.other is None else self.other


@dataclass(slots=True)
class _Looked:
    """What was seen of one quantity."""

    quantity: Quantity
    down: _Side
    up: _Side
    checked: int = 0

    def nearness(self) -> float:
        """How far off the nearest change is, as a factor; infinite where none was seen."""
        ends = [side.other for side in (self.down, self.up) if side.other is not None]
        return min((abs(math.log(end / self.quantity.value)) for end in ends), default=math.inf)


@dataclass(slots=True)
class _Search:
    """The search on one job, with an ear for the rules that speak on the way.

    Half the plans go into looking at all quantities, the other half into narrowing down the nearest.
    """

    found: WorkedOut
    desk: Desk
    chooser: Chooser = field(init=False)
    _limit_rules: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.chooser = Chooser(self.desk, self.desk.decider.listening())
        self.chooser.remember(self.found)

    @property
    def job(self) -> Job:
        """The job as given."""
        return self.found.job

    def holds(self) -> tuple[Hold, ...]:
        looked = [
            _Looked(each, _Side(each.value, False), _Side(each.value, True))
            for each in quantities(self.job)
            if self._planned(each)
        ]
        for ring in RINGS:
            for each in looked:
                self._ring(each, ring)
            if sum(each.nearness() < math.inf for each in looked) >= TOLD:
                break
        near = sorted((each for each in looked if each.nearness() < math.inf), key=_Looked.nearness)[:TOLD]
        for _ in range(_HALVINGS):  # in turn, so that all are known about equally well when it must end
            for each in near:
                self._narrow(each, each.down)
                self._narrow(each, each.up)
        return tuple(hold for each in sorted(near, key=_Looked.nearness) for hold in self._told(each))

    def rests_on(self) -> frozenset[str]:
        """Every rule that was heard at some point or draws a limit that a point was taken from."""
        return self.chooser.decider.engine.heard() | self._limit_rules

    def _planned(self, quantity: Quantity) -> bool:
        """Whether every face that a quantity bears on has a process to begin with."""
        return all(self._chains(quantity, None))

    def _at(self, quantity: Quantity, value: float | None) -> Job:
        if value is None:
            return self.job
        return changed_job(self.job, [(quantity.field, quantity.text(value))], self.desk.knowledge)

    def _chains(self, quantity: Quantity, value: float | None) -> Chains:
        """The chains of the faces that a quantity bears on, each best for its face alone."""
        return tuple(chain_of(plan) for plan in self._plans(quantity, value))

    def _plans(self, quantity: Quantity, value: float | None) -> list[FeaturePlan]:
        job = self._at(quantity, value)
        handling = str(self.found.handling.winner) if value is None else self.chooser.handling(job)
        return [
            self.chooser.alone(job, face, handling) for face in job.features if face.name in quantity.faces
        ]

    def _ring(self, looked: _Looked, ring: float) -> None:
        """Look one step further both ways, first just beyond the nearest limit on the way."""
        quantity = looked.quantity
        limits = limits_of(quantity.field, quantity.unit, self.job, self.desk.knowledge)
        reach = quantity.value * ring
        self._limit_rules |= {rule for limit, rules in limits.items() if limit <= reach for rule in rules}
        for side in (looked.down, looked.up):
            end = reach if side.up else quantity.value / ring
            low, high = sorted((side.same, end))
            inside = [limit for limit in limits if low <= limit <= high]
            if inside:
                nearest = min(inside) if side.up else max(inside)
                self._past(looked, side, nearest)
            if side.open:
                self._see(looked, side, end)

    def _past(self, looked: _Looked, side: _Side, limit: float) -> None:
        """Look just beyond a limit, and where that is another answer, on the limit as well."""
        if side.open:
            self._see(looked, side, limit * (1 + _BEYOND if side.up else 1 - _BEYOND))
        if side.other is not None and limit != side.same:
            self._see(looked, side, limit)

    def _see(self, looked: _Looked, side: _Side, point: float) -> None:
        """Look at one point, and move the end of the side that it belongs to."""
        if self.chooser.planned >= MOST_PLANS or point == side.same:
            return
        try:
            same = self._chains(looked.quantity, point) == self._chains(looked.quantity, None)
        except InputError:
            side.shut = True  # nothing is claimed beyond
            return
        looked.checked += 1
        if same:
            side.same = point
        else:
            side.other = point

    def _narrow(self, looked: _Looked, side: _Side) -> None:
        if side.other is not None and abs(math.log(side.other / side.same)) > math.log(CLOSE):
            self._see(looked, side, math.sqrt(side.same * side.other))

    def _told(self, looked: _Looked) -> Iterator[Hold]:
        """What is told of a quantity, where the whole plan bears it out."""
        if not all(self._borne_out(looked.quantity, side) for side in (looked.down, looked.up)):
            return
        quantity, down, up = looked.quantity, looked.down, looked.up
        base = self._plans(quantity, None)
        face, rules, drawn = "", set[str](), set[str]()
        words: dict[str, str | None] = {}
        for name, side in (("below", down), ("above", up)):
            words[name] = None
            if side.other is None:
                continue
            beyond = self._plans(quantity, side.other)
            for before, after in zip(base, beyond, strict=True):
                if chain_of(before) != chain_of(after):
                    face = face or before.feature.name
                    words[name] = words[name] or instead(chain_of(before), chain_of(after))
                    rules |= _speaking(before) ^ _speaking(after)
            drawn |= self._between(quantity, side)
        yield Hold(
            field=quantity.field,
            feature=face,
            value=quantity.value,
            unit=quantity.unit,
            given=quantity.given,
            low=down.same,
            high=up.same,
            below=words["below"],
            above=words["above"],
            looked_at=(down.seen, up.seen),
            checked=looked.checked,
            text=hold_text(quantity, face, (down.same, up.same), words["below"], words["above"]),
            rules=(*sorted(rules), *sorted(drawn - rules)),
        )

    def _borne_out(self, quantity: Quantity, side: _Side) -> bool:
        """Whether the whole plan, set-ups shared, is the same at one end and another at the other."""
        if len(self.job.features) == 1:
            return True
        whole = self.chooser.choice(self.job).chains
        if self.chooser.choice(self._at(quantity, side.same)).chains != whole:
            return False
        return side.other is None or self.chooser.choice(self._at(quantity, side.other)).chains != whole

    def _between(self, quantity: Quantity, side: _Side) -> set[str]:
        limits = limits_of(quantity.field, quantity.unit, self.job, self.desk.knowledge)
        low, high = sorted((side.same, side.other or side.same))
        drawn = {rule for limit, rules in limits.items() if low <= limit <= high for rule in rules}
        return drawn & (self.chooser.decider.engine.heard() | self.found.decider.engine.heard())


def _speaking(plan: FeaturePlan) -> set[str]:
    """The rules that speak for the media, grain and grade of the steps of a plan."""
    found: set[str] = set()
    for step in plan.path:
        candidate = step.candidate
        chosen = {"media": candidate.tool.media.key, "grain": candidate.grain}
        for decision in ("media", "grain", "grade"):
            choice = candidate.choices.get(decision)
            if isinstance(choice, RangeChoice):
                found |= {rule.id for rule in choice.shaped_by}
            elif isinstance(choice, ListChoice):
                options = [each for each in choice.options if each.option == chosen.get(decision)]
                found |= {rule.id for each in options for rule in each.speaks_for}
    return found


def instead(before: Sequence[StepChoice], after: Sequence[StepChoice]) -> str:
    """What is done otherwise, in a few words, the first step first.

    >>> coarse, fine = StepChoice("clear", "belt", "x", "P60"), StepChoice("clear", "belt", "x", "P80")
    >>> last = StepChoice("finish", "buff", None, "cut")
    >>> instead([fine, last], [coarse, last]), instead([fine, last], []), instead([fine], [fine, last])
    ('start with P60 belt', 'no process is found', 'the steps are P80 belt, cut buff')
    """
    if not after:
        return "no process is found"
    if after[0].abrasive != before[0].abrasive:
        return f"start with {after[0].says()}"
    differing = [place for place, (one, two) in enumerate(zip(before, after, strict=False)) if one != two]
    if len(before) == len(after) and len(differing) == 1:
        return f"step {differing[0] + 1} is {after[differing[0]].says()}"
    return f"the steps are {', '.join(step.says() for step in after)}"


def hold_text(
    quantity: Quantity, face: str, held: tuple[float, float], below: str | None, above: str | None
) -> str:
    """The line on the sheet: how far it holds, and what comes beyond."""
    low, high, unit = figure(held[0]), figure(held[1]), quantity.unit
    if below and above:
        reach = f"for {low} to {high} {unit}"
    else:
        reach = f"from {low} {unit} up" if below else f"up to {high} {unit}"
    told = f"{face}: holds {reach} {quantity.label} ({figure(quantity.value)} {unit} {_said(quantity)})"
    beyond = [f"above that {above}" if above else "", f"below that {below}" if below else ""]
    if not (below and above):
        beyond.append(f"looked at {'up to ' + high if below else 'down to ' + low} {unit}")
    return "; ".join([told, *filter(None, beyond)])


def _said(quantity: Quantity) -> str:
    return "asked" if quantity.given else "assumed"

