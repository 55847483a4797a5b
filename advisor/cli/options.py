"""The options that several commands share, each declared once."""

from __future__ import annotations

from typing import Annotated

import typer

from advisor.cli.choices import FORMATS, UNITS, VIEWS


def _inherited(ctx: typer.Context, value: str | None) -> str | None:
    """A knowledge folder named before the command counts for the command too."""
    root = ctx.find_root()
    return root.params.get("knowledge") if value is None and root is not ctx else value


KnowledgeFolder = Annotated[
    str | None,
    typer.Option(
        "--knowledge",
        metavar="FOLDER",
        callback=_inherited,
        help="Use the knowledge in this folder, or in a git revision of it (FOLDER@REVISION).",
    ),
]
KnowledgeArgument = Annotated[
    str | None,
    typer.Argument(metavar="[FOLDER]", help="The knowledge folder, or FOLDER@REVISION; the packaged one without."),
]
OldKnowledge = Annotated[
    str, typer.Option("--old", metavar="FOLDER", help="The knowledge as it was: a folder, or FOLDER@REVISION.")
]
#: Where files are written or copied, a committed revision will not do.
KnowledgeOnDisk = Annotated[
    str | None,
    typer.Option("--knowledge", metavar="FOLDER", callback=_inherited, help="Use the knowledge in this folder."),
]
Debug = Annotated[
    bool, typer.Option("--debug", help="Show the traceback of a fault (also: ADVISOR_DEBUG=1).")
]
SheetFormat = Annotated[
    str | None,
    typer.Option(
        "--format",
        metavar="|".join(FORMATS),
        help="The form of the sheet; CSV is for a robot's program.",
        show_default="markdown; csv for a program",
    ),
]
Units = Annotated[
    str,
    typer.Option("--units", metavar="|".join(UNITS), help="Units that stand first."),
]
View = Annotated[str, typer.Option("--view", metavar="|".join(VIEWS), help="What is shown of the sheet.")]
Output = Annotated[
    str | None,
    typer.Option(
        "--output", metavar="FILE", help="Write to this file, whole or not at all; - is standard output."
    ),
]
Record = Annotated[
    str | None,
    typer.Option(
        "--record", metavar="FOLDER", help="Also keep sheet, job and knowledge here, for `advisor replay`."
    ),
]
Robustness = Annotated[
    bool,
    typer.Option(
        "--robustness/--no-robustness",
        help="Say how far the quantities of the job may be off before the first choice changes.",
    ),
]
