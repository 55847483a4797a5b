"""Lays two sheets of one job side by side and says what a technician would do otherwise."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from difflib import SequenceMatcher
from itertools import zip_longest

from advisor.impact.model import Difference, Kind
from advisor.sheet.model import Feature, Sheet, Step
from advisor.units import figure, show_window

_OWN: Mapping[str, Kind] = {"media": "media", "grain": "grain", "grade": "grade"}
_SETTINGS = (
    "station", "pressure", "build", "coat", "top_coat", "backing", "lubricant", "direction", "passes",
)  # fmt: skip
#: Columns of the sheet with the name a reader knows them by, and their unit.
_WHEEL = {
    "cover": ("wheel cover", ""), "hardness_shore_a": ("wheel hardness", "Shore A"), "face": ("wheel face", ""),
    "diameter_mm": ("wheel diameter", "mm"), "width_mm": ("wheel width", "mm"),
    "edge_radius_mm": ("dressed edge", "mm"),
}  # fmt: skip
_NUMBERS = {
    "step_over_mm": ("step over", "mm"), "surface_speed_m_s": ("surface speed", "m/s"),
    "force_n": ("force", "N"), "feed_mm_s": ("feed", "mm/s"),
}  # fmt: skip
_WINDOWS = {
    "force_n": ("force window", "N"), "surface_speed_m_s": ("surface speed window", "m/s"),
    "feed_mm_s": ("feed window", "mm/s"),
}  # fmt: skip
_SENTENCES: Mapping[str, Kind] = {"go_on_when": "check", "if_not": "remedy"}
_NOTES: Mapping[str, Kind] = {
    "cautions": "caution", "precautions": "caution", "outside": "outside", "after": "afterwards",
    "conflicts": "conflict",
}  # fmt: skip

Said = tuple[Kind, str, str | None]  # kind, field, what the sheet says


def differences(old: Sheet, new: Sheet) -> tuple[Difference, ...]:
    """Everything that stands differently, features in the order of the new sheet, then the notes."""
    found: list[Difference] = []
    if old.handling.value != new.handling.value:
        found.append(
            Difference(kind="handling", field="handling", old=old.handling.value, new=new.handling.value)
        )
    before = {feature.name: feature for feature in old.features}
    for feature in new.features:
        found += _feature(before[feature.name], feature)
    for name, kind in _NOTES.items():
        lines = [[note.text for note in getattr(sheet, name)] for sheet in (old, new)]
        found += _sentences(lines[0], lines[1], kind, name)
    return tuple(found)


def _feature(old: Feature, new: Feature) -> Iterator[Difference]:
    if _chain(old) != _chain(new):
        kind: Kind = "steps" if old.steps and new.steps else "refusal"
        yield Difference(kind=kind, field="steps", feature=new.name, old=_chain(old), new=_chain(new))
    for before, after in _aligned(old.steps, new.steps):
        for said, says in zip(_said(before), _said(after), strict=True):
            if said != says:
                kind, field, value = says
                yield Difference(
                    kind=kind, field=field, feature=new.name, step=after.number, old=said[2], new=value
                )
        for name, kind in _SENTENCES.items():
            lines = getattr(before, name), getattr(after, name)
            yield from _sentences(*lines, kind, name, new.name, after.number)
    blocked = [[item.text for item in feature.blocked] for feature in (old, new)]
    yield from _sentences(blocked[0], blocked[1], "refusal", "blocked", new.name)
    times = [None if each.time_s is None else f"{figure(each.time_s.expected)} s" for each in (old, new)]
    if times[0] != times[1]:
        yield Difference(kind="prediction", field="expected time", feature=new.name, old=times[0], new=times[1])


def _chain(feature: Feature) -> str:
    """The steps of a feature in a few words."""
    steps = (" ".join(filter(None, (step.grade, step.media))) for step in feature.steps)
    return ", then ".join(steps) or "no process"


def _aligned(old: tuple[Step, ...], new: tuple[Step, ...]) -> Iterator[tuple[Step, Step]]:
    """Steps that answer each other: by number where there are as many, else by stage and media."""
    if len(old) == len(new):
        yield from zip(old, new, strict=True)
        return
    before, after = ([(step.stage, step.media) for step in steps] for steps in (old, new))
    for first, second, count in SequenceMatcher(None, before, after, autojunk=False).get_matching_blocks():
        for place in range(count):
            yield old[first + place], new[second + place]


def _said(step: Step) -> Iterator[Said]:
    """Every setting of a step as text, always the same ones in the same order."""
    for name, kind in _OWN.items():
        yield kind, name, getattr(step, name)
    for name in _SETTINGS:
        value = getattr(step, name)
        yield "setting", name, None if value is None else str(value)
    for name, (title, unit) in _WHEEL.items():
        value = None if step.wheel is None else getattr(step.wheel, name)
        yield "setting", title, f"{figure(value)} {unit}" if isinstance(value, float) else value
    for name, (title, unit) in _NUMBERS.items():
        value = getattr(step, name)
        yield "setting", title, None if value is None else f"{figure(value)} {unit}"
    for name, (title, unit) in _WINDOWS.items():
        window = getattr(step.windows, name)
        yield "window", title, None if window is None else show_window(window[0], window[1], unit)
    yield "prediction", "expected Ra", None if step.ra_um is None else f"{figure(step.ra_um.expected)} um"


def _sentences(
    old: Iterable[str],
    new: Iterable[str],
    kind: Kind,
    field: str,
    feature: str | None = None,
    step: int | None = None,
) -> Iterator[Difference]:
    """Sentences that went and sentences that came, as pairs as far as they reach."""
    before, after = list(dict.fromkeys(old)), list(dict.fromkeys(new))
    gone = [text for text in before if text not in after]
    come = [text for text in after if text not in before]
    for first, second in zip_longest(gone, come):
        yield Difference(kind=kind, field=field, feature=feature, step=step, old=first, new=second)
