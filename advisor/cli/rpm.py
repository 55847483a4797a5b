"""The command `rpm`: the settings of a wheel as it is today."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, cast

import typer
from typer.core import TyperCommand

from advisor.cli.choices import REPORT_FORMATS, UNITS, one_of
from advisor.cli.options import Debug, KnowledgeFolder, Output, Units
from advisor.cli.streams import check_output, read_words, say, write_whole
from advisor.errors import InputError, Problem, listing, nearest
from advisor.units import System, find_unit, parse_quantity

if TYPE_CHECKING:
    from advisor.knowledge.base import Knowledge
    from advisor.sheet.model import Sheet, Step
    from advisor.today.limits import WheelLimits
    from advisor.today.model import WheelToday

NO = 1
MOST_BYTES = 16_000_000
_QUANTITIES = ("--diameter", "--speed", "--new-diameter", "--marked", "--highest-rpm", "--smallest")
_NUMBER = re.compile(r"[-+]?(\d+\.?\d*|\.\d+|\d+/\d+)")


def joined(words: list[str]) -> list[str]:
    """Words of a command line in which a quantity written with a space is one word again.

    >>> joined(["--diameter", "7", "1/4", "in", "--speed", "25", "m/s", "sheet.json"])
    ['--diameter', '7 1/4 in', '--speed', '25 m/s', 'sheet.json']
    """
    left, found = list(words), []
    while left:
        word = left.pop(0)
        option, given, value = word.partition("=")
        if option in _QUANTITIES and (given or left):
            pieces = [value if given else left.pop(0)]
            while left and _NUMBER.fullmatch(pieces[-1]) and (_NUMBER.fullmatch(left[0]) or find_unit(left[0])):
                pieces.append(left.pop(0))
            found += [option, " ".join(pieces)]
        else:
            found.append(word)
    return found


class QuantityCommand(TyperCommand):
    """A command whose quantities may be written with a space and without quotes."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Put the words of a quantity together before the options are told apart."""
        return super().parse_args(ctx, joined(args))


def rpm(
    sheet: Annotated[
        str | None, typer.Argument(metavar="[SHEET]", help="A sheet stored as JSON; - is standard input.")
    ] = None,
    diameter: Annotated[
        str | None, typer.Option("--diameter", metavar="LENGTH", help="The wheel as measured today: 183 mm.")
    ] = None,
    speed: Annotated[
        str | None,
        typer.Option("--speed", metavar="SPEED", help="Speed at the rim: 25 m/s; with a sheet, that of the step."),
    ] = None,
    step: Annotated[int | None, typer.Option("--step", metavar="N", help="The step of the sheet.")] = None,
    feature: Annotated[
        str | None, typer.Option("--feature", metavar="NAME", help="Its feature, where the sheet has several.")
    ] = None,
    new_diameter: Annotated[
        str | None, typer.Option("--new-diameter", metavar="LENGTH", help="The wheel when it was new.")
    ] = None,
    marked: Annotated[
        str | None,
        typer.Option("--marked", metavar="SPEED|RPM", help="What is marked on the wheel: 50 m/s, or 4700 rpm."),
    ] = None,
    highest_rpm: Annotated[
        str | None, typer.Option("--highest-rpm", metavar="RPM", help="The fastest the spindle turns.")
    ] = None,
    smallest: Annotated[
        str | None, typer.Option("--smallest", metavar="LENGTH", help="The diameter at which the wheel comes off.")
    ] = None,
    format_: Annotated[
        str, typer.Option("--format", metavar="|".join(REPORT_FORMATS), help="The form of the answer.")
    ] = "text",
    units: Units = "si",
    output: Output = None,
    knowledge: KnowledgeFolder = None,
    debug: Debug = False,
) -> None:
    """Give rpm, force and index for a wheel as it is today.

    By itself from diameter and speed, or for a step of a stored sheet, with the force trimmed for the worn
    wheel. Ends with 1 where the wheel may not run like this: above its marked speed or the highest rpm of the
    spindle, or worn below its smallest diameter.
    """
    from advisor.knowledge.load import load_knowledge
    from advisor.today.show import to_json, to_text

    asked = _Asked(diameter, speed, new_diameter, marked, highest_rpm, smallest)
    form, system = one_of("--format", format_, REPORT_FORMATS), cast(System, one_of("--units", units, UNITS))
    check_output(output, () if sheet is None else (sheet,))
    base = load_knowledge(None if knowledge is None else Path(knowledge))
    if sheet is None:
        if step is not None or feature is not None:
            raise InputError(Problem("--step" if step is not None else "--feature", "needs a sheet", allowed="SHEET"))
        found = _alone(asked, base, system)
    else:
        found = _stored(sheet, step, feature, asked, base, system)
    write_whole(output, to_json(found) if form == "json" else to_text(found, system))
    if found.refused:
        say("The wheel may not run like this; the answer says what stands in the way.")
        raise typer.Exit(NO)


class _Asked:
    """The quantities of the command line, all read at once. Raises InputError with every fault."""

    def __init__(
        self,
        diameter: str | None,
        speed: str | None,
        new_diameter: str | None,
        marked: str | None,
        highest_rpm: str | None,
        smallest: str | None,
    ) -> None:
        self.problems: list[Problem] = []
        if diameter is None:
            self.problems.append(Problem("--diameter", "the diameter of the wheel is needed", allowed="183 mm, 7.2 in"))
        self.diameter = self._read("--diameter", diameter, "length") or 0.0
        self.speed = self._read("--speed", speed, "speed")
        self.new_diameter = self._read("--new-diameter", new_diameter, "length")
        unit = find_unit((marked or "").strip().lstrip("0123456789.+-/ "))
        turns = unit in ("rpm", "1/min", "r/min", "rev/min", "1/s")
        self.marked_rpm = self._read("--marked", marked, "rotation") if turns else None
        self.marked_speed = None if turns else self._read("--marked", marked, "speed")
        self.highest_rpm = self._read("--highest-rpm", highest_rpm, "rotation")
        self.smallest = self._read("--smallest", smallest, "length")
        if self.problems:
            raise InputError(self.problems)

    def _read(self, option: str, text: str | None, dimension: str) -> float | None:
        if text is None:
            return None
        try:
            value = parse_quantity(text, dimension, option)
        except InputError as error:
            self.problems += error.problems
            return None
        low, high, shown = _ROOM[dimension]
        if not low <= value <= high:
            self.problems.append(Problem(option, "outside what a wheel can be", text, shown))
        return value


#: What a wheel can be, far wider than any: mm, m/s, rpm.
_ROOM = {
    "length": (3.0, 1500.0, "3 mm to 1500 mm"),
    "speed": (0.1, 200.0, "0.1 m/s to 200 m/s"),
    "rotation": (1.0, 200_000.0, "1 rpm to 200000 rpm"),
}


def _alone(asked: _Asked, base: Knowledge, system: System) -> WheelToday:
    from advisor.today.wheel import by_itself

    if asked.speed is None:
        what = "without a sheet the speed at the rim is needed"
        raise InputError(Problem("--speed", what, allowed="25 m/s, 5000 ft/min"))
    if asked.new_diameter is not None and asked.new_diameter < asked.diameter:
        raise InputError(Problem("--new-diameter", "smaller than the wheel is today"))
    return by_itself(asked.diameter, asked.speed, _given(asked, base), system)


def _given(asked: _Asked, base: Knowledge) -> WheelLimits:
    """What is known of the wheel; where no marking is given, what no media of the tables is marked beyond."""
    from advisor.today.limits import WheelLimits

    marked = asked.marked_speed
    if marked is None and asked.marked_rpm is None:
        marked = max((media.marked_speed_m_s or 0.0 for media in base.tables.media.values()), default=0.0) or None
    return WheelLimits(
        new_diameter=asked.new_diameter or (asked.diameter if asked.marked_speed is not None else None),
        marked_speed=marked,
        marked_rpm=asked.marked_rpm,
        spindle=None if asked.highest_rpm is None else (0.0, asked.highest_rpm),
        least=asked.smallest,
    )


def _stored(
    path: str, number: int | None, feature: str | None, asked: _Asked, base: Knowledge, system: System
) -> WheelToday:
    from advisor.job.read import parse_job
    from advisor.render.json import from_json
    from advisor.today.wheel import on_sheet

    given = {"--new-diameter": asked.new_diameter, "--marked": asked.marked_speed or asked.marked_rpm,
             "--highest-rpm": asked.highest_rpm, "--smallest": asked.smallest}  # fmt: skip
    problems = [Problem(name, "the sheet says this already; leave it out") for name, value in given.items() if value]
    if number is None:
        problems.append(Problem("--step", "which step of the sheet is meant", allowed="a number"))
    if problems:
        raise InputError(problems)
    text, name = read_words(path, MOST_BYTES)
    sheet = from_json(text, name)
    chosen, title = pick_step(sheet, number or 0, feature)
    job = parse_job(sheet.job, base, f"{name}: job")
    try:
        hollow = hollow_of(sheet, chosen, base)
        found = on_sheet(chosen, job, title, asked.diameter, asked.speed, system, hollow)
    except ValueError as error:
        new = chosen.wheel.diameter_mm if chosen.wheel else None
        allowed = None if new is None else f"up to {new:g} mm"
        raise InputError(Problem("--diameter", str(error), f"{asked.diameter:g} mm", allowed)) from None
    safety = tuple(note.text for note in sheet.cautions)
    return found.model_copy(update={"cautions": (*found.cautions, *safety)})


def hollow_of(sheet: Sheet, step: Step, base: Knowledge) -> float | None:
    """The radius (mm) of the hollow that the wheel of a step must get into; None where none decides."""
    face = next(each for each in sheet.features if any(one is step for one in each.steps))
    media = base.tables.media.get(step.media)
    bends = media is None or media.smallest_concave_mm is not None
    return None if face.shape != "concave" or bends else face.radius_mm


def pick_step(sheet: Sheet, number: int, feature: str | None) -> tuple[Step, str]:
    """The step meant and its name. Raises InputError where there is none, or more than one."""
    names = [each.name for each in sheet.features]
    if feature is not None and feature.casefold() not in [name.casefold() for name in names]:
        near = nearest(feature, names)
        raise InputError(Problem("--feature", "the sheet has no such feature", feature, listing(names), near))
    found = [
        (step, f"{each.name}, step {step.number}")
        for each in sheet.features
        if feature is None or each.name.casefold() == feature.casefold()
        for step in each.steps
        if step.number == number
    ]
    if len(found) > 1:
        allowed = listing([title.rpartition(",")[0] for _, title in found])
        what = "several features have this step; name one by --feature"
        raise InputError(Problem("--step", what, str(number), allowed))
    if not found:
        there = [f"{each.name}/{step.number}" for each in sheet.features for step in each.steps]
        raise InputError(Problem("--step", "the sheet has no such step", str(number), listing(there)))
    return found[0]
