"""What is known of a step beside its settings: how the abrasive is made, load, heat, life, limits and doubts."""

from __future__ import annotations

from advisor.render import words
from advisor.render.quantities import both, degrees
from advisor.render.speech import Speech
from advisor.sheet.model import ForceLimit, Step, Wear
from advisor.units import figure

#: The limit whose sentence says what a step draws.
POWER = "power of the station"

_TOP = {"none": "no top coat"}
_BOUNDS = {
    "rules": "the rules",
    "media": "the media",
    "compliance": "the compliant tool",
    "power": "the power of the station",
    "alloy": "the heat the metal stands",
    "face": "the edge or face beside what stands proud",
}


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
    if step.power_w is not None and not any(limit.limit == POWER for limit in step.limits):
        said.append(f"draws about {both(step.power_w, 'W', speech.system)}")
    if step.contact is not None:
        width = both(2 * step.contact.half_width_mm, "mm", speech.system)
        pressed = f"contact {width} long at {both(step.contact.mean_pressure_kpa, 'kPa', speech.system)}"
        if step.contact.land_pressure_kpa is not None:
            pressed += f", {both(step.contact.land_pressure_kpa, 'kPa', speech.system)} on its lands"
        said.append(pressed)
    if step.heat is not None:
        what = "skin" if step.heat.passing_k is not None else "metal"
        warm = f"the {what} warms by about {degrees(step.heat.rise_k, speech.system)}"
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


def loads(step: Step, speech: Speech) -> list[str]:
    """The load of a step and the limits that it keeps, each as a sentence."""
    loaded = load(step, speech)
    said = [words.upper(f"{loaded}.")] if loaded else []
    return said + [text for _, text in _limits(step, speech, met=True)]


def warnings(step: Step, speech: Speech) -> list[tuple[str, str]]:
    """What speaks against a step or its figures: heat, a broken limit, a formula out of its range."""
    said = []
    if step.heat is not None and step.heat.warning:
        said.append(("Heat", words.sentence(speech.prose(step.heat.warning))))
    said += _limits(step, speech, met=False)
    for flag in step.flags:
        doubt = f"{words.sentence(speech.prose(flag.text))} Trust the figure less."
        said.append((f"Outside the range of its formula ({speech.name(flag.formula)})", doubt))
    return said


def _limits(step: Step, speech: Speech, met: bool) -> list[tuple[str, str]]:
    return [
        (f"Limit{'' if met else ' broken'}", words.sentence(speech.prose(limit.text)))
        for limit in step.limits
        if limit.text and limit.met is met
    ]


def fastest(step: Step, speech: Speech) -> str | None:
    """The speed usually marked on the media, which is never to be passed; None where it is not known."""
    if step.marked_speed_m_s is None:
        return None
    most = speech.at_most(step.marked_speed_m_s, "m/s")
    return f"Highest speed usually marked on this media: {most}. The mark on yours decides."


def touch_off(step: Step, speech: Speech) -> str | None:
    """When a shrinking wheel must be moved in; None where nothing shrinks."""
    wear = step.wear
    if wear is None or wear.touch_off_parts is None or wear.touch_off_mm is None:
        return None
    if not is_touched_off(wear):
        return "The stroke of the tool outlasts this wheel: touch off after a change alone."
    parts, moved = figure(wear.touch_off_parts), speech.both(wear.touch_off_mm, "mm")
    return f"Touch off after every {parts} parts at the latest, {moved} each time."


def is_touched_off(wear: Wear) -> bool:
    """Whether a wheel has to be touched off again before it comes off anyway."""
    if wear.touch_off_parts is None or wear.touch_off_mm is None:
        return False
    return wear.parts_per_media is None or wear.touch_off_parts < wear.parts_per_media


def particulars(step: Step, speech: Speech) -> list[tuple[str, str]]:
    """What else is known of a step, each sentence with its label: abrasive, limits, life, doubts."""
    made, loaded, said = construction(step, speech), load(step, speech), []
    if made:
        said.append(("Abrasive", f"{made}."))
    marked = fastest(step, speech)
    if marked:
        label, _, most = marked.partition(": ")
        said.append((label, most))
    if loaded:
        said.append(("Load", f"{loaded}."))
    said += _limits(step, speech, met=True)
    life = _life(step, speech)
    if life:
        said.append(("Life", " ".join(life)))
    return said + warnings(step, speech)


def _life(step: Step, speech: Speech) -> list[str]:
    wear = step.wear
    if wear is None:
        return []
    said = []
    if wear.parts_per_media is not None:
        band = "" if wear.parts is None else f" ({figure(wear.parts.low)} to {figure(wear.parts.high)})"
        said.append(f"about {figure(wear.parts_per_media)} parts{band}.")
    said += [words.sentence(speech.prose(wear.change_out))] if wear.change_out else []
    moved = touch_off(step, speech)
    return said + ([moved] if moved else [])
