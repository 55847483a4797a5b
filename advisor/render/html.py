"""The sheet for a tablet, a screen or the printer: one file that needs nothing else, with pictures."""

from __future__ import annotations

import re
from base64 import b64encode
from functools import cache
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from advisor.render import lines, not_taken, particulars, steps, sums, trail, words
from advisor.render.compiled import TEMPLATES, compiled
from advisor.render.speech import Speech
from advisor.sheet.model import Sheet
from advisor.units import System

if TYPE_CHECKING:
    from jinja2 import Environment


def to_html(sheet: Sheet, units: System = "si") -> str:
    """The process sheet as one HTML file, in SI with US units in brackets or the other way round.

    It says what the Markdown sheet says, in the same words, and adds pictures, each with the same in
    words. Nothing is fetched and no script is in it. Text that came from a job is escaped, and a policy
    in the page forbids scripts, foreign styles and any request even if some slipped through.
    """
    from advisor.render.figures.gallery import galleries, total_picture  # loads matplotlib when it draws

    speech = Speech(sheet, units)
    return page(
        "sheet.html.jinja",
        ("page.css", "figures.css"),
        lines.foot(speech),
        kind="sheet",
        sheet=sheet,
        speech=speech,
        steps=steps,
        particulars=particulars,
        trail=trail,
        lines=lines,
        not_taken=not_taken,
        sums=sums,
        galleries=galleries(speech),
        tornado=total_picture(speech),
    )


def page(template: str, styles: tuple[str, ...], foot: str, **values: Any) -> str:
    """A whole page from a template that extends `page.html.jinja`; `styles` lie beside it."""
    style = _style(styles)
    mark = b64encode(sha256(style.encode()).digest()).decode()
    text = _environment().get_template(template).render(style=style, style_hash=mark, foot=foot, **values)
    return re.sub(r"\s*\n\s*", "\n", text).strip() + "\n"


def _shown(text: object) -> object:
    """What a page shows of a value: words from a job lose control characters; escaping comes after."""
    if hasattr(text, "__html__"):
        return text
    return words.one_line(text) if isinstance(text, str) else text


@cache
def _style(files: tuple[str, ...]) -> str:
    """The style of the page as it stands in it, without comments, so that its fingerprint holds."""
    whole = "".join((TEMPLATES / file).read_text(encoding="utf-8") for file in files)
    bare = re.sub(r"/\*.*?\*/", "", whole, flags=re.DOTALL)
    return re.sub(r"\s*\n\s*", "\n", bare).strip()


@cache
def _environment() -> Environment:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined  # slow to import, needed only here

    environment = Environment(
        bytecode_cache=compiled(),
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        finalize=_shown,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["sentence"] = words.sentence
    return environment
