"""Tells how far one quantity may be off, in the words of the sheet."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence, Set

from advisor.choices.model import ListChoice, RangeChoice
from advisor.knowledge.base import Knowledge
from advisor.sequence.plan import FeaturePlan
from advisor.sheet.model import Hold
from advisor.units import figure
from advisor.whatif.chains import StepChoice, chain_of
from advisor.whatif.looked import Looked, Side
from advisor.whatif.nearby import Nearby
from advisor.whatif.quantities import Quantity

_DIGITS = 3


def hold_of(looked: Looked, nearby: Nearby, drawn: Set[str], knowledge: Knowledge) -> Hold:
    """The line of one quantity, with the rules that the change rests on."""
    quantity, down, up = looked.quantity, looked.down, looked.up
    media = {key: row.name for key, row in knowledge.tables.media.items()}
    below, above = (_beyond(side, nearby, media) for side in (down, up))
    face = (above or below or (quantity.faces[0], None, frozenset()))[0]
    words = [None if each is None else each[1] for each in (below, above)]
    rules = {rule for each in (below, above) if each for rule in each[2]}
    return Hold(
        field=quantity.field,
        feature=face,
        value=quantity.value,
        unit=quantity.unit,
        given=quantity.given,
        low=down.same,
        high=up.same,
        below=words[0],
        above=words[1],
        looked_at=(down.seen, up.seen),
        checked=looked.checked,
        text=hold_text(quantity, face, (down.same, up.same), words[0], words[1]),
        rules=(*sorted(rules), *sorted(drawn - rules)),
    )


def _beyond(side: Side, nearby: Nearby, media: Mapping[str, str]) -> tuple[str, str, frozenset[str]] | None:
    """The first face that is worked otherwise beyond a change, what is done there, and the rules behind it."""
    if side.other is None:
        return None
    for before, after in zip(nearby.given, side.plans, strict=True):
        if chain_of(before) != chain_of(after):
            rules = _speaking(before) ^ _speaking(after)
            return before.feature.name, instead(chain_of(before), chain_of(after), media), frozenset(rules)
    return nearby.given[0].feature.name, "the part is handled in the other way", frozenset()


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


def instead(
    before: Sequence[StepChoice], after: Sequence[StepChoice], media: Mapping[str, str] | None = None
) -> str:
    """What is done otherwise, in a few words, the first step first; `media` names a media by its key.

    >>> coarse, fine = StepChoice("clear", "belt", "x", "P60"), StepChoice("clear", "belt", "x", "P80")
    >>> last = StepChoice("finish", "flap-wheel", None, "P120")
    >>> instead([fine, last], [coarse, last]), instead([fine, last], []), instead([fine], [fine, last])
    ('start with P60 belt', 'no process is found', 'the steps are P80 belt, P120 flap-wheel')
    >>> instead([fine, fine], [fine, last], {"flap-wheel": "flap wheel"})
    'step 2 is P120 flap wheel'
    """
    names = media or {}

    def says(step: StepChoice) -> str:
        return " ".join(filter(None, (step.grade, names.get(step.media, step.media))))

    if not after:
        return "no process is found"
    if not before:
        return f"there is a process: {', '.join(map(says, after))}"
    if after[0].abrasive != before[0].abrasive:
        return f"start with {says(after[0])}"
    differing = [place for place, (one, two) in enumerate(zip(before, after, strict=False)) if one != two]
    if len(before) == len(after) and len(differing) == 1:
        return f"step {differing[0] + 1} is {says(after[differing[0]])}"
    return f"the steps are {', '.join(map(says, after))}"


def hold_text(
    quantity: Quantity, face: str, held: tuple[float, float], below: str | None, above: str | None
) -> str:
    """The line on the sheet: how far it holds, and what comes beyond.

    >>> depth = Quantity("start.depth", "depth of the defect", 0.25, "mm", False, ("rim",))
    >>> hold_text(depth, "rim", (0.1003, 0.4007), None, "start with P60 belt")
    'rim: holds for 0.101 to 0.4 mm depth of the defect (0.25 mm assumed); above that start with P60 belt'
    """
    low, high = (_inward(end, quantity) for end in held)
    unit = f" {quantity.unit}" if quantity.unit else ""
    reach = f"{low} to {high}{unit}" if low != high else f"{low}{unit}"
    told = "asked" if quantity.given else "assumed"
    beyond = (f"above that {above}" if above else "", f"below that {below}" if below else "")
    line = f"{face}: holds for {reach} {quantity.label} ({figure(quantity.value)}{unit} {told})"
    return "; ".join([line, *filter(None, beyond)])


def _inward(end: float, quantity: Quantity) -> str:
    """An end with three digits, rounded toward the value that the sheet was made with: never more than was seen."""
    value = quantity.value
    if end == value or quantity.whole:
        return figure(end)
    step = 10.0 ** (math.floor(math.log10(abs(end))) - _DIGITS + 1)
    places = max(0, _DIGITS - 1 - math.floor(math.log10(abs(end))))
    shown = math.floor(end / step + 1e-9) * step if end > value else math.ceil(end / step - 1e-9) * step
    if (shown < value) if end > value else (shown > value):
        shown = value
    return figure(round(shown, places), 4)
