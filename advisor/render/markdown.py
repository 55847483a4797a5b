"""The sheet a technician prints: cautions first, then the answer, then what to set, then why."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache
from typing import TYPE_CHECKING, Any

from advisor.render import front, lines, not_taken, steps, sums, trail, words
from advisor.render.compiled import TEMPLATES, compiled
from advisor.render.speech import Speech
from advisor.render.words import Ready, escape
from advisor.sheet.model import Sheet
from advisor.units import System

if TYPE_CHECKING:
    from jinja2 import Environment


def to_markdown(sheet: Sheet, units: System = "si") -> str:
    """The process sheet as Markdown, in SI with US units in brackets or the other way round.

    Text that came from a job is escaped: it can neither break a table nor bring in markup.
    """
    speech = Speech(sheet, units)
    return document(
        "sheet.md.jinja",
        sheet=sheet,
        speech=speech,
        front=front.Front(speech),
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


def _told(found: Sequence[front.Line]) -> Ready:
    """Sentences as a list, each led by its steps."""
    lead = (f"**{escape(line.at)}:** " if line.at else "" for line in found)
    return Ready("".join(f"- {at}{escape(line.text)}\n" for at, line in zip(lead, found, strict=True)))


def _led(found: Sequence[front.Line]) -> Ready:
    """Sentences in a row, each led by its steps."""
    return Ready(" ".join(f"**{escape(line.at)}:** {escape(line.text)}" for line in found))


def _inline(found: Sequence[front.Line], between: str) -> Ready:
    """Sentences in a row, each with its steps behind it."""
    return Ready(between.join(f"{escape(line.text)} ({escape(line.at)})" for line in found))


def _refs(ids: Sequence[str]) -> Ready:
    """The reasons behind what was said, in brackets; nothing where there are none."""
    return Ready(f" ({', '.join(ids)})" if ids else "")


def _behind(line: lines.Line) -> Ready:
    """For which faces a note is, and the reasons behind it, or its rule where it has none."""
    return Ready(f"{escape(line.faces)}{_refs(line.ids)}".strip()) if line.ids else escape(line.aside)


@cache
def _environment() -> Environment:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined  # slow to import, needed only here

    environment = Environment(
        bytecode_cache=compiled(),
        loader=FileSystemLoader(TEMPLATES),
        finalize=escape,  # everything printed is escaped unless it is Ready
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        autoescape=False,  # Markdown, not HTML: finalize escapes
    )
    environment.filters |= {"sentence": words.sentence, "upper_first": words.upper}
    environment.filters["drawn"] = lambda table: words.table(*table)
    environment.filters |= {"told": _told, "led": _led, "inline": _inline, "refs": _refs, "behind": _behind}
    return environment
