"""`advisor why`: why this value, why not that option."""

from __future__ import annotations

from typing import Annotated

import typer

from advisor.cli.choices import REPORT_FORMATS, one_of
from advisor.cli.options import Debug, KnowledgeFolder
from advisor.cli.streams import emit


def why(
    job: Annotated[
        str,
        typer.Argument(metavar="JOB", help="The job file, or a stored JSON sheet; - is standard input."),
    ],
    feature: Annotated[
        str | None, typer.Option("--feature", metavar="F", help="Only this feature, by its name in the job.")
    ] = None,
    step: Annotated[
        int | None, typer.Option("--step", metavar="N", help="Only this step, by its number on the sheet.")
    ] = None,
    decision: Annotated[
        str | None,
        typer.Option(
            "--decision", metavar="D", help="What is asked about: media, backing, force, ra, time ..."
        ),
    ] = None,
    option: Annotated[
        str | None, typer.Option("--not", metavar="OPTION", help="Why not this option instead.")
    ] = None,
    search: Annotated[
        bool, typer.Option("--search/--no-search", help="Look for the smallest changes, at most 5 s.")
    ] = True,
    depth: Annotated[
        int | None,
        typer.Option("--depth", metavar="N", min=0, max=30, help="How many links below the value are told."),
    ] = None,
    format_: Annotated[
        str, typer.Option("--format", metavar="|".join(REPORT_FORMATS), help="The form of the answer.")
    ] = "text",
    knowledge: KnowledgeFolder = None,
    debug: Debug = False,
) -> None:
    """Say why a value stands on the sheet, or why an option does not.

    Tells the chain from the value back to what was asked and to the sources, in sentences and as a tree.
    With --not: what spoke for and against the option, what it would have cost, and the smallest changes
    that would make it win. Without options: the values of the job that matter most.
    """
    from advisor.cli.explaining import answer
    from advisor.explain.point import Question

    form = one_of("--format", format_, REPORT_FORMATS)
    emit(answer(job, knowledge, Question(feature, step, decision, option), depth, form, search))
