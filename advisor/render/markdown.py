"""The sheet a technician prints: cautions first, then the answer, then what to set, then why."""

from __future__ import annotations

import os
import re
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from advisor.knowledge.cache import cache_folder
from advisor.render import lines, steps, trail, words
from advisor.render.steps import Speech
from advisor.sheet.model import Sheet
from advisor.units import System
from advisor.version import VERSION

if TYPE_CHECKING:
    from jinja2 import BytecodeCache, Template

_TEMPLATES = Path(__file__).parent / "templates"


def to_markdown(sheet: Sheet, units: System = "si") -> str:
    """The process sheet as Markdown, in SI with US units in brackets or the other way round.

    Text that came from a job is escaped: it can neither break a table nor bring in markup.
    """
    speech = Speech(sheet, units)
    text = _template().render(
        sheet=sheet,
        speech=speech,
        steps=steps,
        trail=trail,
        lines=lines,
    )
    return re.sub(r"\n{3,}", "\n\n", re.sub(r"[ \t]+$", "", text, flags=re.MULTILINE)).strip() + "\n"


@cache
def _template() -> Template:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined  # slow to import, needed only here

    environment = Environment(
        bytecode_cache=_compiled(),
        loader=FileSystemLoader(_TEMPLATES),
        finalize=words.escape,  # everything printed is escaped unless it is Ready
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        autoescape=False,  # Markdown, not HTML: finalize escapes
    )
    environment.filters["sentence"] = words.sentence
    environment.filters["drawn"] = lambda table: words.table(*table)
    return environment.get_template("sheet.md.jinja")


def _compiled() -> BytecodeCache | None:
    """Templates compiled by an earlier run: compiling takes longer than rendering a sheet."""
    from jinja2 import FileSystemBytecodeCache

    folder = cache_folder() / f"templates-{VERSION}"
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError:
        return None
    return FileSystemBytecodeCache(str(folder)) if os.access(folder, os.W_OK) else None
