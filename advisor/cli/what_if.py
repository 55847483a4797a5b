"""The command `what-if`: what a change of the job does to the sheet."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from advisor.cli.choices import REPORT_FORMATS, one_of
from advisor.cli.options import Debug, KnowledgeFolder, Output
from advisor.cli.streams import check_output, prompt, read_document, write_whole
from advisor.errors import AdvisorError, InputError, Problem

if TYPE_CHECKING:
    from advisor.whatif.model import WhatIf, WhatIfRange


def what_if(
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job file (YAML or JSON); - is standard input.")],
    change: Annotated[
        list[str] | None,
        typer.Option(
            "--change",
            metavar="FIELD=VALUE",
            help="What to change, as in the job file; FIELD=LOW..HIGH for a range. May be given again.",
        ),
    ] = None,
    format_: Annotated[
        str, typer.Option("--format", metavar="|".join(REPORT_FORMATS), help="The form of the answer.")
    ] = "text",
    picture: Annotated[
        str | None, typer.Option("--picture", metavar="FILE.svg", help="Also draw a range into this file.")
    ] = None,
    output: Output = None,
    knowledge: KnowledgeFolder = None,
    debug: Debug = False,
) -> None:
    """Show what a change of the job does to the sheet.

    Shows only what differs, and why. Over a range it finds where the recommendation goes over to another,
    to 1 %, starting from the limits in the rules. Fields are named as in the job file: alloy=...,
    start.depth=0.3 mm, features[outer sweep].radius=5 mm..60 mm, cell.stations[belts].power=2 kW, or
    feature.radius=... where there is one feature.
    """
    form = one_of("--format", format_, REPORT_FORMATS)
    _check(change or [], (output, picture), job)
    found = _answer(job, change or [], knowledge)
    if picture is not None:
        _draw(found, picture)
    from advisor.whatif.show import to_json, to_text

    write_whole(output, to_json(found) if form == "json" else to_text(found))


def _check(changes: list[str], outputs: tuple[str | None, ...], job: str) -> None:
    problems: list[Problem] = []
    for output in outputs:
        try:
            check_output(output, (job,))
        except AdvisorError as error:
            problems += error.problems
    if outputs[1] is not None and not any(".." in text.partition("=")[2] for text in changes):
        problems.append(Problem("--picture", "a picture needs a range to show", allowed="--change FIELD=LOW..HIGH"))
    if problems:
        raise InputError(problems)


def _answer(path: str, changes: list[str], folder: str | None) -> WhatIf | WhatIfRange:
    from advisor.job.read import parse_job
    from advisor.knowledge.load import load_knowledge
    from advisor.pipeline import Desk
    from advisor.whatif.ask import what_if as answered

    node, name = read_document(path)
    desk = Desk(load_knowledge(None if folder is None else Path(folder)))
    on_screen = sys.stderr is not None and sys.stderr.isatty()
    try:
        return answered(parse_job(node, desk.knowledge, name), changes, desk, _tell if on_screen else None)
    finally:
        if on_screen:
            prompt("\r" + " " * 40 + "\r")
        desk.close()


def _tell(points: int) -> None:
    sys.stderr.write("\r")
    prompt(f"{points} points worked out")


def _draw(found: WhatIf | WhatIfRange, path: str) -> None:
    from advisor.whatif.model import WhatIf
    from advisor.whatif.picture import to_svg

    assert not isinstance(found, WhatIf)
    write_whole(path, to_svg(found))
