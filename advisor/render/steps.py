"""The tables a machine is set from, for the steps of one face or of the whole sheet."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from advisor.render import words
from advisor.render.quantities import both, both_figures, both_units, both_window, thou
from advisor.render.speech import Speech
from advisor.sheet.model import Band, Feature, Sheet, Step, Wheel, Window
from advisor.units import System, figure, show_window

_NOT_KNOWN = "-"


class Row(NamedTuple):
    """One step with the face it belongs to and the label that its row has in a table."""

    label: str
    face: str
    step: Step


def of_face(feature: Feature) -> list[Row]:
    """The steps of one face, for a table that stands below its name."""
    return [Row(f"{step.number} {step.stage}", feature.name, step) for step in feature.steps]


def set_up(steps: Sequence[Row], speech: Speech) -> words.Table:
    """What is mounted for each step, and in which set-up of the batch."""
    turn = _set_ups(speech.sheet)
    rows = [
        [
            label,
            turn.get(f"{face}/{step.number}", _NOT_KNOWN),
            speech.name(step.media),
            speech.name(step.grain),
            speech.grade(step.grade, step.grade_scale),
            speech.name(step.backing),
            speech.name(step.lubricant),
        ]
        for label, face, step in steps
    ]
    return words.speaking(["Step", "Set-up", "Media", "Grain", "Grade", "Backing", "Lubricant"], rows)


def _set_ups(sheet: Sheet) -> dict[str, str]:
    """The number of the set-up that serves a step, by face and number."""
    return {
        served: str(one.number) for one in sheet.operations if one.number is not None for served in one.serves
    }


WHEEL_HEAD = ["Step", "Station", "Wheel dia.", "Width", "Cover", "Hardness", "Face", "Edge radius"]


def wheels(steps: Sequence[Row], speech: Speech) -> words.Table | None:
    """The wheel of each step, or None where no step has one."""
    if not any(step.wheel or step.station for _, _, step in steps):
        return None
    return words.speaking(WHEEL_HEAD, [[label, *wheel_cells(step, speech)] for label, _, step in steps])


def wheel_cells(step: Step, speech: Speech) -> list[str]:
    """Station and wheel of one step, as the cells below `WHEEL_HEAD`."""

    def size(value: float | None) -> str:
        return _NOT_KNOWN if value is None else both(value, "mm", speech.system)

    wheel = step.wheel or Wheel()
    hardness = wheel.hardness_shore_a
    return [
        step.station or _NOT_KNOWN,
        size(wheel.diameter_mm),
        size(wheel.width_mm),
        speech.name(wheel.cover),
        _NOT_KNOWN if hardness is None else f"{figure(hardness)} Shore A",
        speech.name(wheel.face),
        size(wheel.edge_radius_mm),
    ]


def run(steps: Sequence[Row], speech: Speech) -> words.Table:
    """What is dialled in: the value to set, then the window to stay in, in the reader's own units."""
    system = speech.system
    rows = []
    for label, _, step in steps:
        window = step.windows
        turns = [None if step.rpm is None else str(step.rpm), window.rpm and f"{window.rpm[0]} to {window.rpm[1]}"]
        rows.append(
            [
                label,
                "; ".join(filter(None, turns)) or _NOT_KNOWN,
                _setting(step.surface_speed_m_s, window.surface_speed_m_s, "m/s", system),
                _setting(step.force_n, window.force_n, "N", system),
                _setting(step.feed_mm_s, window.feed_mm_s, "mm/s", system),
                _NOT_KNOWN if step.passes is None else str(step.passes),
                _setting(step.step_over_mm, None, "mm", system),
            ]
        )
    speed, force, feed, over = (both_units(unit, system) for unit in ("m/s", "N", "mm/s", "mm"))
    head = ["Step", "rpm", f"Speed {speed}", f"Force {force}", f"Feed {feed}", "Passes", f"Step over {over}"]
    return words.speaking(head, rows)


def _setting(value: float | None, window: Window | None, unit: str, system: System) -> str:
    """A value in both systems, then the stretch it may be moved in, in the reader's own."""
    told = [] if value is None else [both_figures((value, value), unit, system)]
    told += [] if window is None else [show_window(*window, unit, system).rpartition(" ")[0]]
    return "; ".join(told) or _NOT_KNOWN


def windows(steps: Sequence[Row], speech: Speech) -> words.Table | None:
    """The stretch that each setting may be moved in, in both systems; None where there is none."""
    system = speech.system
    units = ("m/s", "N", "mm/s")
    rows = []
    for label, _, step in steps:
        held = (step.windows.surface_speed_m_s, step.windows.force_n, step.windows.feed_mm_s)
        told = [
            _NOT_KNOWN if window is None else both_figures(window, unit, system)
            for window, unit in zip(held, units, strict=True)
        ]
        rows.append([label, *told])
    speed, force, feed = (both_units(unit, system) for unit in units)
    if all(cell == _NOT_KNOWN for row in rows for cell in row[1:]):
        return None
    return words.speaking(["Step", f"Speed {speed}", f"Force {force}", f"Feed {feed}"], rows)


def expect(steps: Sequence[Row], speech: Speech) -> words.Table | None:
    """What each step should give: the likely figure, then the band nine in ten fall in."""
    system = speech.system
    micro, depth = both_units("um", system), "thou (um)" if system == "us" else "um (thou)"
    head = ["Step", f"Removed {depth}", f"Left of the defect {depth}", f"Ra across the lay {micro}", "Time s"]
    rows = []
    for label, _, step in steps:
        wear = step.wear
        life = None if wear is None or wear.parts_per_media is None else wear.parts_per_media
        rows.append(
            [
                label,
                _deep(step.removal_um, speech),
                _deep(step.remaining_um, speech),
                _likely(step.ra_um, "um", speech),
                _likely(step.time_s, "s", speech),
                _NOT_KNOWN if life is None else _beside(figure(life), None if wear is None else wear.parts),
            ]
        )
    told = any(cell != _NOT_KNOWN for row in rows for cell in row[1:])
    return words.speaking([*head, "Parts on one"], rows) if told else None


def _deep(band: Band | None, speech: Speech) -> str:
    """A depth: the likely one in both systems, its band in the reader's own."""
    if band is None:
        return _NOT_KNOWN
    own = thou((band.low, band.high), speech.system).split(" (")[0]
    return _with_band(thou((band.expected, band.expected), speech.system), band, own)


def _likely(band: Band | None, unit: str, speech: Speech) -> str:
    """A figure with its band, in the unit of the column."""
    if band is None:
        return _NOT_KNOWN
    own = show_window(band.low, band.high, unit, speech.system).rpartition(" ")[0]
    return _with_band(both_figures((band.expected, band.expected), unit, speech.system), band, own)


def _beside(likely: str, band: Band | None) -> str:
    return likely if band is None else _with_band(likely, band, f"{figure(band.low)} to {figure(band.high)}")


def _with_band(likely: str, band: Band, stretch: str) -> str:
    return likely if band.low == band.high else f"{likely}; {stretch}"


def chance(feature: Feature, speech: Speech) -> str | None:
    """How likely the last step ends inside the Ra asked for, and the Rz that goes with it; None if not known."""
    if feature.ra_probability is None or feature.target is None or feature.target.ra_um is None:
        return None
    if not feature.steps:
        return None
    said = f"About {round(100 * feature.ra_probability)} of 100 tries should end inside that Ra at once"
    rz = feature.steps[-1].rz_um
    return f"{said}." if rz is None else f"{said}; Rz is then {both_window((rz.low, rz.high), 'um', speech.system)}."


def wear(step: Step, speech: Speech) -> words.Table | None:
    """The schedule for a wheel that wears, or None."""
    if step.wear is None or not step.wear.schedule:
        return None
    rows = [
        [
            both(point.diameter_mm, "mm", speech.system),
            str(point.rpm),
            "-" if point.force_n is None else both(point.force_n, "N", speech.system),
            "-" if point.index_mm is None else both(point.index_mm, "mm", speech.system),
            "-" if point.parts is None else figure(point.parts),
        ]
        for point in step.wear.schedule
    ]
    return words.speaking(["Wheel dia.", "rpm", "Force", "Moved in by", "After parts"], rows)


def about(feature: Feature, speech: Speech) -> str:
    """The feature, its start and its target in one line."""
    system = speech.system
    said = [speech.name(feature.shape)]
    said += [f"radius {both(feature.radius_mm, 'mm', system)}"] if feature.radius_mm is not None else []
    said += [f"{both(feature.width_mm, 'mm', system)} wide"] if feature.width_mm is not None else []
    said += [both(feature.area_cm2, "cm2", system)] if feature.area_cm2 is not None else []
    text = f"{', '.join(said)}."
    if feature.start is not None:
        start = [words.join([speech.name(key) for key in feature.start.defects]) or "not named"]
        if feature.start.depth_mm is not None:
            start.append(f"{both_window(feature.start.depth_mm, 'mm', system)} deep")
        if feature.start.ra_um is not None:
            start.append(f"Ra {both(feature.start.ra_um, 'um', system)}")
        text += f" Starts with: {', '.join(start)}."
    target = feature.target
    if target is not None:
        end = [speech.name(target.finish or target.texture)]
        end += [f"asked for as {target.designation}"] if target.designation else []
        end += [f"{speech.name(target.lay)} lay"] if target.lay else []
        end += [f"Ra {both_window(target.ra_um, 'um', system)}"] if target.ra_um else []
        end += ["to match a signed sample"] if target.sample else []
        text += f" To become: {', '.join(end)}."
    return text[:1].upper() + text[1:]
