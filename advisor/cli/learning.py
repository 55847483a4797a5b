"""The commands `advisor trial learn` and `advisor trial propose`: what the log teaches, and what it suggests."""

from __future__ import annotations

from typing import Annotated

import typer

from advisor.cli.choices import REPORT_FORMATS, one_of
from advisor.cli.options import Debug, KnowledgeFolder, KnowledgeOnDisk
from advisor.cli.trialling import LogFolder, ReportFormat
from advisor.cli.trialling import trial as trial


@trial.command()
def learn(
    log: LogFolder = None,
    output: Annotated[
        str | None,
        typer.Option(
            "--output",
            metavar="FOLDER",
            help="Also write learned.json into this folder, for recommend --learned FOLDER.",
        ),
    ] = None,
    report: Annotated[
        str | None,
        typer.Option("--report", metavar="FILE.html", help="Also write a report with pictures, as one file."),
    ] = None,
    pictures: Annotated[
        str | None,
        typer.Option("--pictures", metavar="FOLDER", help="Also draw the pictures into this folder, as SVG."),
    ] = None,
    format_: ReportFormat = "text",
    knowledge: KnowledgeFolder = None,
    debug: Debug = False,
) -> None:
    """Calibrate the published coefficients on the log.

    For every alloy, media, grade range and cell that was tried: how much more or less comes off, how
    rough it is left, how long the media lasts. Changes nothing by itself.
    """
    from advisor.cli.lessons import check_places, show_lesson

    form = one_of("--format", format_, REPORT_FORMATS)
    check_places(output, report, pictures)
    show_lesson(log, knowledge, form, output, report, pictures)


@trial.command()
def propose(
    log: LogFolder = None,
    apply: Annotated[
        str | None,
        typer.Option(
            "--apply", metavar="ID", help="Write the change of this proposal into the knowledge folder."
        ),
    ] = None,
    quick: Annotated[
        bool, typer.Option("--quick", help="Leave out the checks and the impact on the worked jobs.")
    ] = False,
    format_: ReportFormat = "text",
    knowledge: KnowledgeOnDisk = None,
    debug: Debug = False,
) -> None:
    """Propose changes of the knowledge that the log supports.

    Coefficients to move, exceptions for an alloy, shape or media, rules to trust less or more, drafts of
    new ones. Each with its trials, how strong they are, what the check says and what it does to the worked
    jobs. Nothing changes until one is accepted with --apply.
    """
    from advisor.cli.proposing import apply_proposal, show_proposals

    form = one_of("--format", format_, REPORT_FORMATS)
    if apply is not None:
        apply_proposal(apply, log, knowledge)
    else:
        show_proposals(log, knowledge, form, quick)
