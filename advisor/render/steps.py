"""The tables a machine is set from, and the notes beside them, for the steps of one feature."""

from __future__ import annotations

from dataclasses import dataclass

from advisor.render import words
from advisor.render.quantities import (
    at_most,
    both,
    both_figures,
    both_units,
    both_window,
    degrees,
    in_both_units,
    thou,
)
from advisor.sheet.model import Band, Feature, ForceLimit, Sheet, Step, Wear, Wheel, Window
from advisor.units import System, figure

_TOP = {"none": "no top coat"}
_BOUNDS = {
    "rules": "the rules",
    "media": "the media",
    "compliance": "the compliant tool",
    "power": "the power of the station",
    "alloy": "the heat the metal stands",
    "face": "the edge or face beside what stands proud",
}


@dataclass(frozen=True)
class Speech:
    """How one sheet speaks to its reader: its names, its scales, and the reader's units."""

    sheet: Sheet
    system: System

    def name(self, key: str | None) -> str:
        """The plain name of a key."""
        return words.name(key, self.sheet.names)

    def grade(self, key: str | None, scale: str | None = None) -> str:
        """A grade with its scale, and the ANSI grade beside it for a reader of US units."""
        return words.grade(key, self.sheet.ansi, self.system == "us", scale)

    def prose(self, text: str) -> str:
        """A sentence with quantities in both systems and, with US units, ANSI grades beside P grades."""
        told = in_both_units(text, self.system)
        return words.with_ansi(told, self.sheet.ansi) if self.system == "us" else told

    def both(self, value: float, unit: str) -> str:
        """A value with its unit, in both systems."""
        return both(value, unit, self.system)

    def at_most(self, value: float, unit: str) -> str:
        """A limit with its unit, in both systems, rounded down."""
        return at_most(value, unit, self.system)

    def option(self, decision: str, key: str) -> str:
        """The plain name of an option of a decision; a grade comes with its scale."""
        return self.grade(key) if decision == "grade" else self.name(key)

    def media(self, step: Step) -> str:
        """What a step runs, short enough for a chain: grade and media."""
        return f"{self.grade(step.grade, step.grade_scale)} {self.name(step.media)}".removeprefix("- ")


def set_up(feature: Feature, speech: Speech) -> words.Table:
    """What is mounted for each step."""
    rows = [
        [
            f"{step.number} {step.stage}",
            speech.name(step.media),
            speech.name(step.grain),
            speech.grade(step.grade, step.grade_scale),
            speech.name(step.backing),
            speech.name(step.lubricant),
        ]
        for step in feature.steps
    ]
    return words.speaking(["Step", "Media", "Grain", "Grade", "Backing", "Lubricant"], rows)


def wheels(feature: Feature, speech: Speech) -> words.Table | None:
    """The wheel of each step, or None where no step has one."""
    if not any(step.wheel or step.station for step in feature.steps):
        return None

    def size(value: float | None) -> str:
        return "-" if value is None else both(value, "mm", speech.system)

    rows = []
    for step in feature.steps:
        wheel = step.wheel or Wheel()
        hardness = "-" if wheel.hardness_shore_a is None else f"{figure(wheel.hardness_shore_a)} Shore A"
        rows.append(
            [
                f"{step.number} {step.stage}",
                step.station or "-",
                size(wheel.diameter_mm),
                size(wheel.width_mm),
                speech.name(wheel.cover),
                hardness,
                speech.name(wheel.face),
                size(wheel.edge_radius_mm),
            ]
        )
    head = ["Step", "Station", "Wheel dia.", "Width", "Cover", "Hardness", "Face", "Edge radius"]
    return words.speaking(head, rows)


def run(feature: Feature, speech: Speech) -> words.Table:
    """What is dialled in: a row to set and, below it, the window to stay in."""
    system = speech.system

    def cell(value: float | Window | None, unit: str) -> str:
        if value is None:
            return "-"
        return both_figures(value if isinstance(value, tuple) else (value, value), unit, system)

    rows = []
    for step in feature.steps:
        window = step.windows
        rows.append(
            [
                f"{step.number} {step.stage}",
                "-" if step.rpm is None else str(step.rpm),
                cell(step.surface_speed_m_s, "m/s"),
                cell(step.force_n, "N"),
                cell(step.feed_mm_s, "mm/s"),
                "-" if step.passes is None else str(step.passes),
            ]
        )
        within = [
            "-" if window.rpm is None else f"{window.rpm[0]} to {window.rpm[1]}",
            cell(window.surface_speed_m_s, "m/s"),
            cell(window.force_n, "N"),
            cell(window.feed_mm_s, "mm/s"),
        ]
        if any(each != "-" for each in within):
            rows.append(["window", *within, ""])
    speed, force, feed = (both_units(unit, system) for unit in ("m/s", "N", "mm/s"))
    return words.speaking(["Step", "rpm", f"Speed {speed}", f"Force {force}", f"Feed {feed}", "Passes"], rows)


def expect(feature: Feature, speech: Speech) -> words.Table | None:
    """What each step should give: the likely figure and, below it, the band nine in ten fall in."""
    system = speech.system
    micro, depth = both_units("um", system), "thou (um)" if system == "us" else "um (thou)"
    head = ["Step", f"Removed {depth}", f"Left of the defect {depth}", f"Ra across the lay {micro}", "Time s"]
    rows = []
    for step in feature.steps:
        deep = [step.removal_um, step.remaining_um]
        for label, likely in ((f"{step.number} {step.stage}", True), ("9 in 10", False)):
            rows.append(
                [
                    label,
                    *("-" if band is None else thou(_stretch(band, likely), system) for band in deep),
                    "-" if step.ra_um is None else both_figures(_stretch(step.ra_um, likely), "um", system),
                    "-" if step.time_s is None else both_figures(_stretch(step.time_s, likely), "s", system),
                ]
            )
    return words.speaking(head, rows) if any(cell != "-" for row in rows for cell in row[1:]) else None


def chance(feature: Feature, speech: Speech) -> str | None:
    """How likely the last step ends inside the Ra asked for, and the Rz that goes with it; None if not known."""
    target = feature.target.ra_um if feature.target else None
    if feature.ra_probability is None or target is None or not feature.steps:
        return None
    asked = both_window(target, "um", speech.system)
    said = f"About {round(100 * feature.ra_probability)} of 100 tries should end inside Ra {asked} at once"
    rz = feature.steps[-1].rz_um
    if rz is not None:
        said += f"; Rz is then {both_window((rz.low, rz.high), 'um', speech.system)}"
    return f"{said}. A trial narrows these bands."


def _stretch(band: Band, likely: bool) -> Window:
    return (band.expected, band.expected) if likely else (band.low, band.high)


def direction(step: Step, speech: Speech) -> str | None:
    """Which way to go and how far to step over; None where neither is said."""
    said = [speech.prose(step.direction)] if step.direction else []
    said += [f"step over {speech.both(step.step_over_mm, 'mm')}"] if step.step_over_mm is not None else []
    return "; ".join(said) or None


def construction(step: Step, speech: Speech) -> str | None:
    """How the abrasive is made, in a few words; None where nothing is said."""
    said = [speech.name(step.build)] if step.build else []
    said += [_coat(step.coat, "coat", speech)] if step.coat else []
    said += [_TOP.get(step.top_coat, _coat(step.top_coat, "top coat", speech))] if step.top_coat else []
    return ", ".join(said) or None


def _coat(key: str, noun: str, speech: Speech) -> str:
    """A coat with its noun once, whether or not its plain name brings it along."""
    name = speech.name(key)
    return name if name.endswith(noun) else f"{name} {noun}"


def load(step: Step, speech: Speech) -> str | None:
    """Power, contact, heat and what bounds the force of a step in one line; None where nothing is known."""
    said = []
    if step.power_w is not None:
        said.append(f"draws about {both(step.power_w, 'W', speech.system)}")
    if step.contact is not None:
        width = both(2 * step.contact.half_width_mm, "mm", speech.system)
        said.append(f"contact {width} long at {both(step.contact.mean_pressure_kpa, 'kPa', speech.system)}")
    if step.heat is not None:
        warm = f"the skin warms by about {degrees(step.heat.rise_k, speech.system)}"
        if step.heat.limit_k is not None:
            warm += f" of {degrees(step.heat.limit_k, speech.system)} allowed"
        said.append(warm)
    tightest = _tightest(step)
    if tightest is not None:
        said.append(
            f"the force is bounded by {_BOUNDS[tightest.by]}, {speech.at_most(tightest.allowed_n, 'N')}"
        )
    return "; ".join(said) or None


def _tightest(step: Step) -> ForceLimit | None:
    return next((limit for limit in step.force_limits or () if limit.binds), None)


def particulars(step: Step, speech: Speech) -> list[tuple[str, str]]:
    """What else is known of a step, each sentence with its label: abrasive, limits, life, doubts."""
    made, loaded, said = construction(step, speech), load(step, speech), []
    if made:
        said.append(("Abrasive", f"{made}."))
    if step.marked_speed_m_s is not None:
        most = speech.at_most(step.marked_speed_m_s, "m/s")
        said.append(("Highest speed usually marked on this media", f"{most}. The mark on yours decides."))
    if loaded:
        said.append(("Load", f"{loaded}."))
    if step.heat is not None and step.heat.warning:
        said.append(("Heat", words.sentence(speech.prose(step.heat.warning))))
    said += [
        (f"Limit{'' if limit.met else ' broken'}", words.sentence(speech.prose(limit.text)))
        for limit in step.limits
        if limit.text
    ]
    if step.wear is not None and (step.wear.parts_per_media is not None or step.wear.change_out):
        life = [_parts(step.wear)] if step.wear.parts_per_media is not None else []
        life += [words.sentence(speech.prose(step.wear.change_out))] if step.wear.change_out else []
        life += [_touch_off(step.wear, speech)] if step.wear.touch_off_parts is not None else []
        said.append(("Life", " ".join(life)))
    for flag in step.flags:
        doubt = f"{words.sentence(speech.prose(flag.text))} Trust the figure less."
        said.append((f"Outside the range of its formula ({speech.name(flag.formula)})", doubt))
    return said


def _parts(wear: Wear) -> str:
    """How many parts one belt, disc or wheel does, with the band."""
    assert wear.parts_per_media is not None
    band = "" if wear.parts is None else f" ({figure(wear.parts.low)} to {figure(wear.parts.high)})"
    return f"about {figure(wear.parts_per_media)} parts{band}."


def _touch_off(wear: Wear, speech: Speech) -> str:
    """When a shrinking wheel must be moved in."""
    parts, step = wear.touch_off_parts, wear.touch_off_mm
    assert parts is not None and step is not None
    return f"Touch off after every {figure(parts)} parts at the latest, {speech.both(step, 'mm')} each time."


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
