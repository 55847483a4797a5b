"""Writes a card as Markdown, and as one HTML file to print and write on."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from advisor.render import words
from advisor.render.cards.card import Card, Cell, Grid, Group
from advisor.render.cards.operator import operator_card
from advisor.render.cards.quote import quote
from advisor.render.cards.trial import trial_card
from advisor.render.speech import Speech
from advisor.sheet.model import Sheet
from advisor.units import System

#: The cards by the names of `--view`.
CARDS: Mapping[str, Callable[[Speech], Card]] = {
    "trial-card": trial_card,
    "operator-card": operator_card,
    "quote": quote,
}
_BLANK = "........"


def card_markdown(sheet: Sheet, view: str, units: System = "si") -> str:
    """A card as Markdown. Text that came from a job is escaped."""
    from advisor.render.markdown import document

    card = CARDS[view](Speech(sheet, units))
    return document("card.md.jinja", card=card, filled=filled, drawn=_drawn)


def card_html(sheet: Sheet, view: str, units: System = "si") -> str:
    """A card as one HTML file that needs nothing else. Text that came from a job is escaped."""
    from advisor.render.html import page

    card = CARDS[view](Speech(sheet, units))
    return page("card.html.jinja", ("page.css", "card.css"), card.foot, kind=f"card {card.kind}", card=card)


def filled(cell: Cell) -> str:
    """A cell as text; a place to write in is a line, after what is planned.

    >>> from advisor.render.cards.card import Fill
    >>> filled("belts"), filled(Fill("45 N")), filled(Fill())
    ('belts', '45 N: ........', '........')
    """
    if isinstance(cell, str):
        return cell
    return f"{cell.planned}: {_BLANK}" if cell.planned else _BLANK


def _drawn(grid: Grid) -> words.Ready:
    rows = []
    for row in grid.rows:
        cells = [row.title] if isinstance(row, Group) else [filled(cell) for cell in row]
        rows.append([*cells, *([""] * (len(grid.head) - len(cells)))])
    return words.table(list(grid.head), rows)
