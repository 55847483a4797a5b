"""The sheet a technician prints: cautions first, then the answer, then what to set, then why."""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING, Any

from advisor.render import lines, not_taken, steps, sums, trail, words
from advisor.render.compiled import TEMPLATES, compiled
from advisor.render.steps import Speech
from advisor.sheet.model import Sheet
from advisor.units import System

if TYPE_CHECKING:
    from jinja2 import Environment


def to_markdown(sheet: Sheet, units: System = "si") -> str:
    """The process sheet as Markdown, in SI with US units in brackets or the other way round.

    Text that came from a job is escaped: it can neither break a table nor bring in markup.
    """
    return document(
        "sheet.md.jinja",
        sheet=sheet,
        speech=Speech(sheet, units),
        steps=steps,
        trail=trail,
        lines=lines,
        not_taken=not_taken,
        sums=sums,
    )


def document(template: str, **values: Any) -> str:
    """A whole document from a template, without trailing blanks and double empty lines."""
    text = _environment().get_template(template).render(**values)
    return re.sub(r"\n{3,}", "\n\n", re.sub(r"[ \t]+$", "", text, flags=re.MULTILINE)).strip() + "\n"


@cache
def _environment() -> Environment:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined  # slow to import, needed only here

    environment = Environment(
        bytecode_cache=compiled(),
        loader=FileSystemLoader(TEMPLATES),
        finalize=words.escape,  # everything printed is escaped unless it is Ready
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        autoescape=False,  # Markdown, not HTML: finalize escapes
    )
    environment.filters["sentence"] = words.sentence
    environment.filters["drawn"] = lambda table: words.table(*table)
    return environment
