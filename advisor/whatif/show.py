"""The answer to a what-if as text for a reader and as JSON for a program."""

from __future__ import annotations

import json
from collections.abc import Iterator

from advisor.comparison import show
from advisor.comparison.model import FacePair
from advisor.units import figure
from advisor.whatif.model import FaceSays, SwitchSays, WhatIf, WhatIfRange

_BAR = 60
_FOLLOW = frozenset(
    ("windows", "surface_speed_m_s", "marked_speed_m_s", "rpm", "force_n", "feed_mm_s", "step_over_mm", "grain_um",
     "passes", "direction")
)  # fmt: skip
_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def to_json(found: WhatIf | WhatIfRange) -> str:
    """The whole answer; the same answer gives the same bytes."""
    return json.dumps(found.model_dump(mode="json"), ensure_ascii=False, indent=1) + "\n"


def to_text(found: WhatIf | WhatIfRange) -> str:
    """Only what differs, and why."""
    lines = _range(found) if isinstance(found, WhatIfRange) else _single(found)
    return "\n".join(lines).rstrip("\n") + "\n"


def _single(found: WhatIf) -> Iterator[str]:
    yield found.name
    if not found.comparison.job:
        yield "The change asks for what the job says already; nothing differs."
        return
    yield from show.to_text(found.comparison, shown_same=False).splitlines()


def _range(found: WhatIfRange) -> Iterator[str]:
    unit = f" {found.unit}" if found.unit else ""
    yield f"{found.name}: {found.field} from {figure(found.low)} to {figure(found.high)}{unit}"
    for item in found.changes:
        yield f"with {item.field}={item.value}"
    yield f"{found.asked} points worked out"
    yield ""
    if not found.switches:
        yield "The recommendation is the same at every one of them:"
        for face in found.stretches[0].faces:
            yield f"  {face.name}: {face.text()}"
        return
    yield bar(found)
    names = [face.name for face in found.stretches[0].faces]
    moving = [name for place, name in enumerate(names) if len({_face(s.faces[place]) for s in found.stretches}) > 1]
    for letter, stretch in zip(_letters(len(found.stretches)), found.stretches, strict=True):
        low, high = figure(stretch.low, 4), figure(stretch.high, 4)
        yield f"{letter}  {low if low == high else f'{low} to {high}'}{unit}"
        for face in stretch.faces:
            if face.name in moving:
                yield f"     {face.name}: {face.text()}"
    still = [name for name in names if name not in moving]
    if still:
        yield f"Not changed anywhere: {', '.join(still)}."
    for switch in found.switches:
        yield ""
        yield from _switch(switch, found)


def _face(face: FaceSays) -> str:
    return face.model_dump_json()


def _switch(item: SwitchSays, found: WhatIfRange) -> Iterator[str]:
    unit = f" {found.unit}" if found.unit else ""
    yield f"Between {figure(item.below, 4)} and {figure(item.above, 4)}{unit}{_limit_words(item, unit)}"
    yield from show.changes_text(item.comparison.whole)
    for face in item.comparison.faces:
        if not face.same:
            yield from (f"  {line}" for line in show.face_text(_fitted(face)))


def _fitted(face: FacePair) -> FacePair:
    """A face with what is fitted alone: speeds, forces and windows follow from it and stand in the JSON."""
    steps = (
        pair.model_copy(
            update={"changes": tuple(item for item in pair.changes if item.field.partition(".")[0] not in _FOLLOW)}
        )
        for pair in face.steps
    )
    return face.model_copy(update={"steps": tuple(steps)})


def _limit_words(item: SwitchSays, unit: str) -> str:
    limits = ", ".join(figure(value, 4) for value in item.limits)
    if item.rules:
        return f", at a limit of {limits}{unit} in {', '.join(item.rules)}"
    return f", at {limits}{unit}, a limit of what fits" if limits else ", by what the chains cost"


def bar(found: WhatIfRange) -> str:
    """The range as one line of letters, one for each stretch, every stretch at least one letter wide.

    >>> from advisor.whatif.model import StretchSays
    >>> two = [StretchSays(low=low, high=high, handling="part-in-hand", faces=()) for low, high in ((0, 3), (3, 12))]
    >>> bar(WhatIfRange(name="a", field="batch", low=0, high=12, unit="", stretches=two, asked=9))
    '0 |AAAAAAAAAAAAAAABBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBB| 12'
    """
    whole = found.high - found.low
    widths = [max(1, round(_BAR * (each.high - each.low) / whole)) for each in found.stretches]
    widths[widths.index(max(widths))] += _BAR - sum(widths)
    drawn = "".join(
        letter * width for letter, width in zip(_letters(len(widths)), widths, strict=True)
    )
    unit = f" {found.unit}" if found.unit else ""
    return f"{figure(found.low)} |{drawn}| {figure(found.high)}{unit}"


def _letters(count: int) -> list[str]:
    return [_LETTERS[place % len(_LETTERS)] for place in range(count)]
