"""Numbers of a step as chains of formulas, down to settings, coefficients with their bands, and sources."""

from __future__ import annotations

from advisor.explain.link import Link
from advisor.explain.origins import Origins
from advisor.explain.point import Place
from advisor.sheet.model import Sheet


def number_links(place: Place, decision: str, sheet: Sheet, origins: Origins) -> list[Link]:
    """The formulas behind a number of a step; empty where the value is no number that is calculated."""
    return []
