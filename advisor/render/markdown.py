"""The sheet a technician prints: cautions first, then the answer, then what to set, then why."""

from __future__ import annotations

import os
import re
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from advisor.knowledge.cache import cache_folder
from advisor.render import steps, trail, words
from advisor.render.quantities import band_text
from advisor.render.steps import Speech
from advisor.sheet.model import Band, Blocked, Sheet
from advisor.units import System, figure
from advisor.version import VERSION

if TYPE_CHECKING:
    from jinja2 import BytecodeCache, Template

_TEMPLATES = Path(__file__).parent / "templates"
_FINGERPRINT = 12  # characters shown, enough to tell two knowledge bases apart


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
        name=sheet.job.get("name") or "unnamed job",
        chains=_chains(speech),
        expected=_expected(speech),
        fingerprint=sheet.knowledge.fingerprint.removeprefix("sha256:")[:_FINGERPRINT],
        grade_line=_grade_line(speech),
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
    environment.filters["lost_on"] = words.lost_on
    environment.filters["band"] = band_text
    environment.globals["blocked_text"] = _blocked_text
    environment.globals["cost_text"] = _cost_text
    environment.globals["source_text"] = trail.source_text
    environment.globals["where"] = _where
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


def _chains(speech: Speech) -> list[tuple[str, str | None]]:
    """Each feature with its chain of steps in a few words, None where there is no plan."""
    return [
        (feature.name, ", then ".join(speech.media(step) for step in feature.steps) or None)
        for feature in speech.sheet.features
    ]


def _expected(speech: Speech) -> str | None:
    totals = speech.sheet.totals
    said = []
    if totals.time_s is not None:
        said.append(f"{band_text(totals.time_s, 's')} a part")
    if totals.cost is not None:
        said.append(_cost_text(totals.cost, totals.currency))
    if not said or not totals.steps:
        return None
    return f"The whole plan has {totals.steps} {'step' if totals.steps == 1 else 'steps'}: {', '.join(said)}"


def _cost_text(cost: Band | float, currency: str | None) -> str:
    unit = f" {currency}" if currency else ""
    if isinstance(cost, Band):
        return f"about {figure(cost.expected)}{unit} ({figure(cost.low)} to {figure(cost.high)}{unit})"
    return f"{figure(cost)}{unit}"


def _blocked_text(blocked: Blocked) -> str | None:
    """The numbers of a broken limit, or None where there are none."""
    if blocked.limit is None or blocked.value is None:
        return None

    def plain(value: object) -> str:
        return figure(value) if isinstance(value, float) else str(value)

    unit = f" {blocked.unit}" if blocked.unit and blocked.unit != "1" else ""
    allowed = blocked.allowed
    limit = " to ".join(plain(each) for each in allowed) if isinstance(allowed, tuple) else plain(allowed)
    ending = "" if allowed is None else f", allowed {limit}{unit}"
    return f"{blocked.limit}: {plain(blocked.value)}{unit}{ending}"


def _where(item: object) -> str:
    """Feature, step and decision an entry is about, as the start of its line; empty for the whole job."""
    feature, step, decision = (getattr(item, key, None) for key in ("feature", "step", "decision"))
    said = [str(feature)] if feature else []
    said += [f"step {step}"] if step is not None else []
    said += [words.name(decision, {})] if decision else []
    return ", ".join(said)


def _grade_line(speech: Speech) -> str | None:
    """One line on scales for a reader of US units, where any P grade is on the sheet."""
    if speech.system != "us" or not speech.sheet.ansi:
        return None
    return "P grades are of the FEPA scale; ANSI is the nearest grade of the ANSI coated scale, not an equal."
