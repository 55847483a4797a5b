"""The sheet on the user's screen or in a file."""

from __future__ import annotations

from advisor.cli.choices import Wanted
from advisor.cli.streams import say, write_whole
from advisor.errors import InputError, Problem
from advisor.sheet.model import Sheet


def deliver(sheet: Sheet, how: Wanted) -> bool:
    """Write the sheet; whether every feature got a process.

    Raises InputError where the output cannot be written.
    """
    write_whole(how.output, show(sheet, how))
    if sheet.refused:
        without = [feature.name for feature in sheet.features if not feature.steps]
        say(f"No process fits {', '.join(without)}; the sheet says what stands in the way.")
    return not sheet.refused


def show(sheet: Sheet, how: Wanted) -> str:
    """The sheet in the form asked for; JSON is always the whole sheet, whatever the view.

    Raises InputError where a program is asked for and no robot works.
    """
    if how.format == "json":
        from advisor.render.json import to_json

        return to_json(sheet)
    if how.format == "csv":
        return _program(sheet, how)
    if how.view != "sheet":
        from advisor.render.cards.show import card_html, card_markdown

        return (card_html if how.format == "html" else card_markdown)(sheet, how.view, how.units)
    if how.format == "html":
        from advisor.render.html import to_html

        return to_html(sheet, how.units)
    from advisor.render.markdown import to_markdown

    return to_markdown(sheet, how.units)


def _program(sheet: Sheet, how: Wanted) -> str:
    from advisor.render.program import NoRobot, program_csv

    made = program_csv(sheet, how.units)
    if isinstance(made, NoRobot):
        raise InputError(Problem("--view", made.why, how.view, "sheet, trial-card, operator-card, quote"))
    return made
