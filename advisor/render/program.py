"""The parameters of a robot's program as CSV: cautions, then the steps in order, then each wheel's rpm table."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping
from typing import NamedTuple

from advisor.render import lines, words
from advisor.render.cards.common import revision
from advisor.render.particulars import is_touched_off
from advisor.render.speech import Speech
from advisor.sheet.model import Feature, Move, Robot, Sheet, Step, WearPoint, Wheel, Window
from advisor.units import US_UNIT, System, convert, plain_number, round_sig

#: A spreadsheet takes a cell that begins so as a formula, also behind a mark at which it may split a line.
_FORMULA = re.compile(r"(^|[;,|\t]\s*)(?=[=+\-@＝＋－＠])")
_DIGITS = 4

#: Every column: its name, and the unit of its numbers, which ends its head. Records leave empty what
#: they do not have.
COLUMNS: tuple[tuple[str, str | None], ...] = (
    ("record", None), ("order", None), ("feature", None), ("step", None), ("stage", None), ("station", None),
    ("media", None), ("grain", None), ("grade", None), ("lubricant", None), ("inner_face", None),
    ("wheel_diameter", "mm"), ("wheel_width", "mm"), ("wheel_edge_radius", "mm"), ("wheel_hardness_shore_a", None),
    ("rpm", None), ("rpm_low", None), ("rpm_high", None), ("rpm_never_above", None), ("surface_speed", "m/s"),
    ("force_set_point", "N"), ("force_low", "N"), ("force_high", "N"),
    ("feed", "mm/s"), ("feed_low", "mm/s"), ("feed_high", "mm/s"), ("passes", None),
    ("step_over", "mm"), ("strokes_across_width", None), ("direction", None), ("media_against_feed", None),
    ("lead_in", "mm"), ("lead_out", "mm"), ("engage_ramp", "mm"), ("retract_ramp", "mm"),
    ("touch_off_force", "N"), ("touch_off_speed", "mm/s"), ("touch_off_every_parts", None), ("index_step", "mm"),
    ("index_total", "mm"), ("change_media_after_parts", None), ("parts_done", None), ("text", None),
)  # fmt: skip

_TOUCH = (
    "Touch off on a fixed point with the media at rest: after every change or dressing, and after the parts "
    "named; then move in by the index step."
)
_LEADS = (
    "Begin and end every stroke off the face and in motion. Where a wall leaves no room for the lead, ramp the "
    "force on the face while moving, and not twice in one place."
)
_GO_ON = "Go on to the next step only when the checks of the sheet are met; prove the program on scrap, slowly, first."
_ROWS = (
    "In a step row 'passes' is how often each spot is gone over and 'strokes_across_width' how many lanes lie side by "
    "side in one pass; 'rpm_low' and 'rpm_high' hold for the wheel diameter of that row. The wheel rows below it give "
    "the rpm and the force for the wheel as it gets smaller; 'rpm_never_above' is never to be passed, at any diameter."
)
_RULES = (_ROWS, _TOUCH, _LEADS, _GO_ON)

Record = Mapping[str, str | float | int | bool | None]


class NoRobot(NamedTuple):
    """Why there is no program for this sheet, in a sentence."""

    why: str


def program_csv(sheet: Sheet, units: System = "si") -> str | NoRobot:
    """The program's parameters as CSV in UTF-8 with plain line feeds, or why there is none.

    One rectangular table. `record` says what a row is: `caution` (read first), `about` (job, revision,
    what nobody knows), `step` in the order of the program, `wheel` (the rpm table by diameter of the step
    before it). Numbers have their unit in the head and are empty where they are not known; `text` then
    says why. No cell can act as a formula.
    """
    robot = sheet.robot
    if robot is None:
        planned = any(feature.steps for feature in sheet.features)
        return NoRobot(
            "a person works in this cell; there is no robot to program" if planned else "no face has a process"
        )
    speech = Speech(sheet, units)
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow([_head(name, unit, units) for name, unit in COLUMNS])
    for record in (*_cautions(speech), *_about(speech), *_steps(speech, robot)):
        table.writerow([_cell(record.get(name), unit, units) for name, unit in COLUMNS])
    return out.getvalue()


def _head(name: str, unit: str | None, units: System) -> str:
    """The head of a column with the unit of its numbers.

    >>> _head("feed", "mm/s", "si"), _head("feed", "mm/s", "us"), _head("rpm", None, "us")
    ('feed_mm_s', 'feed_in_min', 'rpm')
    """
    if unit is None:
        return name
    shown = US_UNIT.get(unit, unit) if units == "us" else unit
    return f"{name}_{shown.replace('/', '_').lower()}"


def _cell(value: str | float | int | bool | None, unit: str | None, units: System) -> str:
    """A value as a cell: a number plain, a text harmless, nothing for what is not known."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return harmless(value)
    other = US_UNIT.get(unit or "") if units == "us" else None
    return plain_number(round_sig(convert(value, unit or "1", other) if other else value, _DIGITS))


def harmless(text: str) -> str:
    """A text that no spreadsheet takes as a formula, on one line; it shows a mark where one was meant.

    >>> harmless("=HYPERLINK(1)"), harmless("rim; -2+3"), harmless("P80 - fine")
    ("'=HYPERLINK(1)", "rim; '-2+3", 'P80 - fine')
    """
    return _FORMULA.sub(r"\1'", words.one_line(text))


def _cautions(speech: Speech) -> Iterator[Record]:
    for line in lines.cautions(speech):
        yield {"record": "caution", "text": f"{line.text} {line.aside}".strip()}


def _about(speech: Speech) -> Iterator[Record]:
    sheet = speech.sheet
    told = [
        f"Job {lines.title(speech)}, revision {revision(sheet)}, knowledge {lines.fingerprint(speech)}.",
        f"Handling: {speech.name(sheet.handling.value)}.",
        *_RULES,
    ]
    told += [
        f"{feature.name} has no process and is not in this program."
        for feature in sheet.features
        if not feature.steps
    ]
    yield from ({"record": "about", "text": text} for text in (*told, lines.LAST_WORD))


def _steps(speech: Speech, robot: Robot) -> Iterator[Record]:
    """The steps in the order of the program, each followed by the rpm table of its wheel."""
    known = {
        f"{feature.name}/{step.number}": (feature, step)
        for feature in speech.sheet.features
        for step in feature.steps
    }
    for order, move in enumerate(robot.moves, start=1):
        feature, step = known[move.serves]
        yield _step(order, feature, step, move, robot, speech)
        points = step.wear.schedule if step.wear is not None and step.wear.schedule else move.diameters
        yield from (_wheel(order, feature, step, point) for point in points)


def _step(order: int, feature: Feature, step: Step, move: Move, robot: Robot, speech: Speech) -> Record:
    wheel, window, wear = step.wheel or Wheel(), step.windows, step.wear
    touched = wear if wear is not None and is_touched_off(wear) else None
    return {
        "record": "step",
        "order": order,
        "feature": feature.name,
        "step": step.number,
        "stage": step.stage,
        "station": step.station,
        "media": speech.name(step.media),
        "grain": speech.name(step.grain) if step.grain else None,
        "grade": speech.grade(step.grade, step.grade_scale) if step.grade else None,
        "lubricant": speech.name(step.lubricant) if step.lubricant else None,
        "inner_face": move.inner,
        "wheel_diameter": wheel.diameter_mm,
        "wheel_width": wheel.width_mm,
        "wheel_edge_radius": wheel.edge_radius_mm,
        "wheel_hardness_shore_a": wheel.hardness_shore_a,
        "rpm": step.rpm,
        "rpm_low": _end(window.rpm, 0),
        "rpm_high": _end(window.rpm, 1),
        "rpm_never_above": move.highest_rpm,
        "surface_speed": step.surface_speed_m_s,
        "force_set_point": step.force_n,
        "force_low": _end(window.force_n, 0),
        "force_high": _end(window.force_n, 1),
        "feed": step.feed_mm_s,
        "feed_low": _end(window.feed_mm_s, 0),
        "feed_high": _end(window.feed_mm_s, 1),
        "passes": step.passes,
        "step_over": step.step_over_mm,
        "strokes_across_width": move.strokes,
        "direction": speech.prose(step.direction) if step.direction else None,
        "media_against_feed": move.against_feed,
        "lead_in": move.lead_in_mm,
        "lead_out": move.lead_out_mm,
        "engage_ramp": move.engage_ramp_mm,
        "retract_ramp": move.retract_ramp_mm,
        "touch_off_force": robot.touch_off_force_n,
        "touch_off_speed": robot.touch_off_speed_mm_s,
        "touch_off_every_parts": None if touched is None else _whole(touched.touch_off_parts),
        "index_step": None if touched is None else touched.touch_off_mm,
        "change_media_after_parts": _whole(wear.parts_per_media) if wear is not None else None,
        "text": " ".join(_notes(step, move, speech)) or None,
    }


def _end(window: Window | tuple[int, int] | None, place: int) -> float | None:
    return None if window is None else window[place]


def _whole(parts: float | None) -> float | None:
    """Whole parts, rounded down so that a change never comes late; a share of one stays as it is."""
    return None if parts is None else float(int(parts)) if parts >= 1 else parts


def _notes(step: Step, move: Move, speech: Speech) -> Iterator[str]:
    """What is not known of a step, and what then is to be done."""
    if not move.contact_known:
        yield "The length of the contact is not known: add half of the touch mark to lead-in and lead-out."
    if move.against_feed is None:
        yield "Whether the media run against the feed is not decided: try both on scrap, then keep to one."
    if step.step_over_mm is None:
        yield "A strip is followed along its length, without a step-over."
    if step.wear is None or step.wear.parts_per_media is None:
        yield "The life of the media is not known: count the parts of the first one."
    elif step.wear.touch_off_parts is None:
        yield "Nothing shrinks here in use: touch off after a change or dressing alone."
    elif not is_touched_off(step.wear):
        yield "The tool's stroke outlasts this wheel: touch off after a change alone."
    if step.marked_speed_m_s is not None:
        most = speech.at_most(step.marked_speed_m_s, "m/s")
        yield f"Usually marked for no more than {most}; the mark on yours decides."


def _wheel(order: int, feature: Feature, step: Step, point: WearPoint) -> Record:
    return {
        "record": "wheel",
        "order": order,
        "feature": feature.name,
        "step": step.number,
        "wheel_diameter": point.diameter_mm,
        "rpm": point.rpm,
        "surface_speed": point.surface_speed_m_s,
        "force_set_point": point.force_n if point.force_n is not None else step.force_n,
        "index_total": point.index_mm,
        "parts_done": _whole(point.parts),
    }
