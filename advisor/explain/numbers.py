"""Numbers of a step as chains of formulas, down to settings, coefficients with their bands, and sources."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from advisor.explain import running
from advisor.explain.link import Link, Spread
from advisor.explain.origins import Origins
from advisor.explain.point import Place, field_on_sheet
from advisor.explain.results import Results
from advisor.explain.terms import Term
from advisor.figures.coefficients import DRAWS, is_fixed
from advisor.reasons import join_sources
from advisor.sheet.model import Band
from advisor.units import figure

_MADE: Mapping[str, Callable[[Results], Term | None]] = {
    "rpm": lambda results: results.cutting.rpm(),
    "force": lambda results: results.cutting.force(),
    "overlap": lambda results: results.cutting.step_over(),
    "step_over": lambda results: None if results.step.local else results.cutting.step_over(),
    "removal": lambda results: results.removal(),
    "remaining": lambda results: results.remaining(),
    "ra": lambda results: results.ra(),
    "rz": lambda results: results.rz(),
    "time": lambda results: results.time(),
    "power": lambda results: results.cutting.power(),
    "passes": running.passes,
    "feed": running.feed,
}


def results_of(place: Place, origins: Origins) -> Results:
    """The terms of a step of the sheet."""
    return Results(place.plan.desk, place.plan.path, place.step.number - 1, origins.explain)


def number_terms(place: Place, decision: str, origins: Origins) -> list[Term]:
    """The terms behind a number of a step; empty where the value is no number of ours."""
    results = results_of(place, origins)
    if decision == "contact":
        return list(results.cutting.contact())
    made = _MADE.get(decision)
    term = made(results) if made is not None else None
    return [term] if term is not None else []


def number_links(place: Place, decision: str, origins: Origins) -> list[Link]:
    """The formulas behind a number of a step; empty where the value is no number that is calculated here."""
    field = field_on_sheet(decision)
    band = getattr(place.step, field) if field is not None else None
    links = []
    for term in number_terms(place, decision, origins):
        link = results_of(place, origins).terms.link(term)
        if isinstance(band, Band):
            links.append(_spread(term, band, origins))
            link = link.model_copy(update={"what": f"{link.what}, with every coefficient as expected"})
        links.append(link)
    return links


def _spread(term: Term, band: Band, origins: Origins) -> Link:
    """How the band of a number comes about, with every coefficient that spreads it."""
    rows = [row for row in term.coefficients().values() if not is_fixed(row)]
    sources = tuple(source for row in rows for source in row.source)
    names = ", ".join(row.name for row in rows)
    text = (
        f"{DRAWS} times each coefficient is drawn from its band ({names}), seeded by the job, and the chain below is "
        f"worked again: in 9 cases of 10 the result lies between {figure(band.low)} and {figure(band.high)} "
        f"{term.unit}, in half of them below {figure(band.expected)} {term.unit}."
        if rows
        else "No coefficient with a band goes into it."
    )
    return Link(
        what="the band",
        text=text,
        kind="spread",
        band=Spread(low=band.low, expected=band.expected, high=band.high),
        unit=term.unit,
        source=join_sources(sources),
        source_words=origins.explain.kind_of(sources),
    )
