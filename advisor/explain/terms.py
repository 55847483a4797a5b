"""A number with the formula it comes from, down to settings, table values and coefficients with their bands.

Everything is in the units of the sheet, so that a reader can work each line again with a pocket calculator:
the equation is arithmetic in the symbols of the inputs.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from advisor.explain.link import Link, Spread
from advisor.figures.coefficients import Draws, is_fixed
from advisor.knowledge.reference import Coefficient
from advisor.process.real import Real
from advisor.reasons import join_sources
from advisor.sheet.explain import Explainer
from advisor.units import figure

Compute = Callable[..., Real]
#: Where the equations come from, by their keys.
SOURCES: Mapping[str, tuple[str, ...]] = {
    "surface_speed": ("common-practice",),
    "line_contact": ("gent-1958", "johnson-contact"),
    "depth_per_pass": ("preston-1927", "hammann-1998", "kalpakjian-table"),
    "strip": ("own-estimate",),
    "web_depth": ("own-estimate",),
    "floor_ra": ("sanitary-chart", "pharma-factsheet", "from-memory"),
    "ra_after": ("from-memory",),
    "stock_to_erase": ("from-memory", "own-estimate"),
    "cutting_power": ("kalpakjian-table",),
    "step_time": ("own-estimate",),
}


@dataclass(frozen=True, slots=True)
class Term:
    """One number: given, looked up, a coefficient, or worked out from others by an equation."""

    name: str
    symbol: str
    unit: str
    value: float
    text: str = ""
    formula: str | None = None
    equation: str | None = None
    compute: Compute | None = None
    inputs: tuple[Term, ...] = ()
    coefficient: Coefficient | None = None
    sources: tuple[str, ...] = ()

    def draw(self, drawn: Draws, memo: dict[int, Real] | None = None) -> Real:
        """The number under every draw of the coefficients it rests on."""
        seen = {} if memo is None else memo
        if id(self) not in seen:
            if self.coefficient is not None and not is_fixed(self.coefficient):
                scale = self.value / self.coefficient.band.expected
                seen[id(self)] = drawn.one(self.coefficient) * scale
            elif self.compute is None:
                seen[id(self)] = self.value
            else:
                seen[id(self)] = self.compute(*(each.draw(drawn, seen) for each in self.inputs))
        return seen[id(self)]

    def coefficients(self) -> dict[str, Coefficient]:
        """Every coefficient that the number rests on, by key."""
        found = {} if self.coefficient is None else {self.coefficient.key: self.coefficient}
        for each in self.inputs:
            found.update(each.coefficients())
        return found


@dataclass(slots=True)
class Terms:
    """Makes terms, and links of them, for one step."""

    explain: Explainer
    coefficients: Mapping[str, Coefficient]
    _made: dict[str, Term] = field(default_factory=dict)

    @staticmethod
    def given(name: str, symbol: str, unit: str, value: float, text: str = "") -> Term:
        """A setting or something that is known of the face and the cell."""
        return Term(name, symbol, unit, float(value), text)

    @staticmethod
    def table(
        name: str, symbol: str, unit: str, value: float, sources: tuple[str, ...], text: str = ""
    ) -> Term:
        """A number of a row of a table."""
        return Term(name, symbol, unit, float(value), text, sources=sources)

    def coefficient(self, row_symbol: str, symbol: str) -> Term:
        """The coefficient that holds for this step."""
        row = self.coefficients[row_symbol]
        return Term(row.name, symbol, row.unit, row.band.expected, coefficient=row, sources=row.source)

    @staticmethod
    def formula(
        key: str,
        name: str,
        symbol: str,
        unit: str,
        equation: str,
        compute: Compute,
        inputs: tuple[Term, ...],
        text: str,
        sources: tuple[str, ...] = (),
    ) -> Term:
        """A number worked out from others; `compute` takes them in their order."""
        value = float(compute(*(each.value for each in inputs)))
        return Term(name, symbol, unit, value, text, key, equation, compute, inputs, None, sources)

    # ------------------------------------------------------------------ links
    def link(self, term: Term) -> Link:
        """A term as a link of the chain."""
        unit = "" if term.unit == "1" else f" {term.unit}"
        shown = f"{figure(term.value, 4)}{unit}"
        kinds = self.explain.kind_of(term.sources)
        if term.coefficient is not None:
            return self._of_coefficient(term, shown, unit)
        if term.equation is None:
            return Link(
                what=f"{term.name}: {shown}",
                text=term.text or f"{term.name}: {shown}.",
                kind="known" if term.sources else "value",
                value=term.value,
                unit=term.unit,
                symbol=term.symbol,
                source=join_sources(term.sources),
                source_words=kinds,
            )
        return Link(
            what=f"{term.name}: {shown}",
            text=term.text,
            kind="derived",
            value=term.value,
            unit=term.unit,
            symbol=term.symbol,
            formula=term.formula,
            equation=f"{term.symbol} = {term.equation}",
            source=join_sources(term.sources),
            source_words=kinds,
            because=tuple(self.link(each) for each in term.inputs),
        )

    def _of_coefficient(self, term: Term, shown: str, unit: str) -> Link:
        row = term.coefficient
        assert row is not None
        band = Spread(low=row.band.low, expected=row.band.expected, high=row.band.high)
        valid = f"; good for {row.valid}" if row.valid else ""
        spread = (
            "" if is_fixed(row) else f", between {figure(band.low)} and {figure(band.high)} in 9 cases of 10"
        )
        return Link(
            what=f"{term.name}: {shown}",
            text=f"Coefficient {row.key}: {figure(band.expected, 4)}{unit}{spread}{valid}.",
            kind="coefficient",
            value=term.value,
            unit=term.unit,
            symbol=term.symbol,
            band=band,
            source=join_sources(row.source),
            source_words=self.explain.kind_of(row.source),
        )
