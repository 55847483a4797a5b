"""`advisor coverage`: for which combinations there is a plan."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from advisor.cli.choices import one_of
from advisor.cli.options import Debug, KnowledgeFolder, Output


def coverage(
    cell: Annotated[
        list[str] | None,
        typer.Option("--cell", metavar="KEY", help="Only this cell; may be given again. All without."),
    ] = None,
    sample: Annotated[
        int | None,
        typer.Option("--sample", metavar="N", help="Only so many combinations, the same in every run."),
    ] = None,
    format_: Annotated[
        str, typer.Option("--format", metavar="text|json|markdown", help="The form of the report.")
    ] = "text",
    picture: Annotated[
        str | None, typer.Option("--picture", metavar="FILE.svg", help="Also draw heat maps into this file.")
    ] = None,
    output: Output = None,
    knowledge: KnowledgeFolder = None,
    debug: Debug = False,
) -> None:
    """Show for which combinations there is a plan.

    Sweeps alloy family, defect, shape and finish, and says how many rules spoke and how much rests on
    memory. Takes a minute or two without --sample. Ends with 1 where a combination ends in an error.
    """
    from advisor.cli.covering import SWEEP_FORMATS, check_wanted, run_sweep, show
    from advisor.knowledge.load import load_knowledge

    form = one_of("--format", format_, SWEEP_FORMATS)
    base = load_knowledge(None if knowledge is None else Path(knowledge))
    check_wanted(cell or (), sample, (picture, output), base)
    found = run_sweep(base, knowledge, cell or (), sample)
    show(found, form, output, picture)
    if found.faults:
        raise typer.Exit(1)
