"""The command `compare`: two stored sheets side by side."""

from __future__ import annotations

from typing import Annotated

import typer

from advisor.cli.choices import REPORT_FORMATS, one_of
from advisor.cli.options import Debug, KnowledgeFolder, Output
from advisor.cli.replaying import MOST_BYTES
from advisor.cli.streams import DASH, check_output, read_words, write_whole
from advisor.errors import InputError, Problem


def compare(
    first: Annotated[str, typer.Argument(metavar="SHEET", help="A sheet stored as JSON; - is standard input.")],
    second: Annotated[str, typer.Argument(metavar="SHEET", help="Another one, of the same job or of another.")],
    format_: Annotated[
        str, typer.Option("--format", metavar="|".join(REPORT_FORMATS), help="The form of the report.")
    ] = "text",
    output: Output = None,
    knowledge: KnowledgeFolder = None,
    debug: Debug = False,
) -> None:
    """Lay two stored sheets side by side.

    Steps that answer each other stand side by side. Below them stands what differs, with the rules, facts
    and formulas that make the difference: < is the first sheet, > the second, = both. Both are taken as
    they are stored; `advisor replay` proves them.
    """
    from advisor.comparison.compare import compare as compared
    from advisor.comparison.show import to_json, to_text
    from advisor.render.json import from_json

    form = one_of("--format", format_, REPORT_FORMATS)
    check_output(output, (first, second))
    if first == second == DASH:
        raise InputError(Problem("advisor compare", "only one of the two can come from standard input"))
    (one, one_name), (two, two_name) = read_words(first, MOST_BYTES), read_words(second, MOST_BYTES)
    found = compared(from_json(one, one_name), from_json(two, two_name), (one_name, two_name))
    write_whole(output, to_json(found) if form == "json" else to_text(found))
