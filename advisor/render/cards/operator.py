"""The operator card: what a released process may be moved within, when it is checked, and what to do then."""

from __future__ import annotations

from collections.abc import Iterator

from advisor.render import lines, words
from advisor.render.cards.card import Card, Cell, Fill, Grid, Page, Section
from advisor.render.cards.common import cautions, head, setting
from advisor.render.front import Front
from advisor.render.particulars import is_touched_off
from advisor.render.quantities import both, both_window
from advisor.render.speech import Speech
from advisor.sheet.model import Feature, Step, Wear
from advisor.units import figure

_PERMITTED = (
    "In the order of the machine. The stretch in brackets is the permitted adjustment: inside it the "
    "operator may move a value alone, one at a time, and notes it."
)
_FIRST_OFF = (
    "First-off: after set-up, take one part through all steps; it passes every check below before the "
    "second part is worked. Keep it beside the machine."
)
_AFTER_CHANGE = (
    "After every change of media, wheel or dressing, and at the start of a shift: the next part passes the "
    "same checks and is held against the first-off."
)
_CHANGE = "Change at the count or at the first sign of the reaction plan that says so, whichever comes first."
_BREAK_IN = (
    "Break each fresh belt, disc or wheel in on scrap, until two parts in a row look and measure alike; its "
    "first parts are cut deeper and left rougher."
)
_FRESH = (
    "Fresh media, another wheel or a dressed wheel: first check speed, direction of turning and the highest "
    "speed marked on it."
)
_STOP = (
    "Outside the window, or where the remedy does not help within two parts: stop, set the parts since the "
    "last good check apart, and call whoever released this card. Change nothing else."
)


def operator_card(speech: Speech) -> Card:
    """One card for the whole job: settings with windows, checks, change of media, reaction plan."""
    released: tuple[tuple[str, Cell], ...] = (
        ("Released by", Fill()),
        ("Date", Fill()),
        ("Replaces revision", Fill()),
    )
    sections = [
        *_refused(speech),
        *_settings(speech),
        *_checks(speech),
        *_media(speech),
        *_reaction(speech),
        *_mind(speech),
    ]
    page = Page("For the machine", head(speech, *released), cautions(speech, short=True), tuple(sections))
    return Card("operator-card", f"Operator card: {lines.title(speech)}", (page,), lines.foot(speech))


def _steps(speech: Speech) -> Iterator[tuple[Feature, Step]]:
    """The steps in machine order, as the set-ups of the batch have them; else face by face."""
    found = {
        f"{feature.name}/{step.number}": (feature, step)
        for feature in speech.sheet.features
        for step in feature.steps
    }
    ordered = [key for operation in speech.sheet.operations for key in operation.serves if key in found]
    yield from (found[key] for key in dict.fromkeys([*ordered, *found]))


def _refused(speech: Speech) -> Iterator[Section]:
    without = [feature.name for feature in speech.sheet.features if not feature.steps]
    if without:
        said = f"There is no plan for {words.join(without)}; this card does not release that work."
        yield Section("Not released", (said,), stop=True)


def _settings(speech: Speech) -> Iterator[Section]:
    """What is set, and between what the operator may move it without asking."""
    front = Front(speech)
    rows: list[tuple[Cell, ...]] = []
    for feature, step in _steps(speech):
        window = step.windows
        turns = "" if window.rpm is None else f" ({window.rpm[0]} to {window.rpm[1]})"
        rows.append(
            (
                front.at([(feature.name, step.number)]),
                step.station or "-",
                speech.media(step),
                "-" if step.rpm is None else f"{step.rpm}{turns}",
                _moved(step.force_n, window.force_n, "N", speech),
                _moved(step.feed_mm_s, window.feed_mm_s, "mm/s", speech),
                "-" if step.passes is None else str(step.passes),
            )
        )
    if rows:
        names = ("Step", "Station", "Media", "rpm", "Force", "Feed", "Passes")
        grid = Grid("settings", names, tuple(rows))
        yield Section("Settings and permitted adjustments", (_PERMITTED,), grids=(grid,))


def _moved(value: float | None, within: tuple[float, float] | None, unit: str, speech: Speech) -> str:
    if value is None:
        return "-"
    return setting(value, within, unit, speech)


def _checks(speech: Speech) -> Iterator[Section]:
    """First-off and after-change checks, with a place for each result."""
    front = Front(speech)
    said: dict[str, list[tuple[str, int]]] = {}
    rows: list[tuple[Cell, ...]] = []
    for feature in speech.sheet.features:
        for step in feature.steps:
            for check in step.go_on_when:
                at = said.setdefault(words.sentence(speech.prose(check)), [])
                at.append((feature.name, step.number))
        if feature.steps:
            rows.append((feature.name, _asked(feature, speech), Fill(), Fill(), Fill()))
    if not rows:
        return
    results = Grid(
        "results of the checks", ("Face", "To be", "First-off", "After change", "Last part"), tuple(rows)
    )
    ticks = tuple(f"{text} ({front.at(at)})" for text, at in said.items())
    yield Section("First-off and after-change checks", (_FIRST_OFF, _AFTER_CHANGE), ticks, (results,))


def _asked(feature: Feature, speech: Speech) -> str:
    target = feature.target
    if target is None:
        return "-"
    said = [speech.name(target.finish or target.texture)]
    said += [f"{speech.name(target.lay)} lay"] if target.lay else []
    said += [f"Ra {both_window(target.ra_um, 'um', speech.system)} across the lay"] if target.ra_um else []
    said += ["as the signed sample"] if target.sample else []
    return ", ".join(said)


def _media(speech: Speech) -> Iterator[Section]:
    """When media are changed: at a count of parts, or earlier at a sign."""
    front = Front(speech)
    rows: list[tuple[Cell, ...]] = []
    for feature, step in _steps(speech):
        wear = step.wear
        parts = "-" if wear is None or wear.parts_per_media is None else _life(wear)
        touch = "-"
        if wear is not None and is_touched_off(wear):
            inward = both(wear.touch_off_mm or 0.0, "mm", speech.system)
            touch = f"{_count(wear.touch_off_parts or 0.0)}, {inward} in"
        sooner = words.sentence(speech.prose(wear.change_out)) if wear is not None and wear.change_out else "-"
        rows.append((front.at([(feature.name, step.number)]), speech.media(step), parts, touch, sooner, Fill()))
    if rows:
        names = ("Step", "Media", "Change after parts", "Touch off after parts", "Taken off", "Parts so far")
        table = words.speaking(list(names), [[_text(cell) for cell in row] for row in rows])
        kept = [place_ for place_, name in enumerate(names) if name in table.head or name == "Parts so far"]
        grid = Grid(
            "change of media",
            tuple(names[column] for column in kept),
            tuple(tuple(row[column] for column in kept) for row in rows),
        )
        yield Section("Change of media, and break-in on scrap", (_CHANGE, _BREAK_IN, _FRESH), grids=(grid,))


def _life(wear: Wear) -> str:
    """The parts after which media come off, and from where on they are watched.

    >>> from advisor.sheet.model import Band
    >>> _life(Wear(parts_per_media=60, parts=Band(low=24.0, expected=60.0, high=140.0)))
    '60 (watch from 24 on)'
    """
    count = _count(wear.parts_per_media or 0.0)
    early = "" if wear.parts is None or wear.parts.low < 1 else _count(wear.parts.low)
    return f"{count} (watch from {early} on)" if early and early != count else count


def _count(parts: float) -> str:
    """Whole parts, rounded down, so that a change never comes late; under one it is said as it is.

    >>> _count(61.8), _count(0.4)
    ('61', 'within a part (0.4)')
    """
    return str(int(parts)) if parts >= 1 else f"within a part ({figure(parts, 2)})"


def _text(cell: Cell) -> str:
    return cell if isinstance(cell, str) else ""


def _reaction(speech: Speech) -> Iterator[Section]:
    """What is seen, and what the operator does about it, each once with the steps it is for."""
    rows = [
        (remedy.seen, cure.text, cure.at) for remedy in Front(speech).remedies() for cure in remedy.cures
    ]
    names = ("What is seen", "What to do, in this order", "At")
    grids = (Grid("reaction plan", names, tuple(rows)),) if rows else ()
    yield Section("Reaction plan", (_STOP,), grids=grids)


def _mind(speech: Speech) -> Iterator[Section]:
    said = [f"{note.text} {note.aside}".strip() for note in lines.notes(speech.sheet.precautions, speech)]
    said += [words.sentence(speech.prose(note.text)) for note in speech.sheet.after]
    if said:
        yield Section("Mind while working, and after", tuple(said))
