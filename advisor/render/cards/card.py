"""A card as data: what its pages say, so that Markdown and HTML say the same."""

from __future__ import annotations

from dataclasses import dataclass, field

from advisor.render.lines import Line


@dataclass(frozen=True)
class Fill:
    """A place to write in by hand, with what is planned or expected there."""

    planned: str = ""


Cell = str | Fill


@dataclass(frozen=True)
class Group:
    """A row of a grid that only says what the rows below it are about."""

    title: str


@dataclass(frozen=True)
class Grid:
    """A table; a row is a group of its own or has a cell for each column."""

    name: str
    head: tuple[str, ...]
    rows: tuple[tuple[Cell, ...] | Group, ...]


@dataclass(frozen=True)
class Section:
    """A heading with sentences, things to tick off, and a table; what is empty is left out."""

    title: str
    lines: tuple[str, ...] = ()
    checks: tuple[str, ...] = ()
    grids: tuple[Grid, ...] = ()
    stop: bool = False


@dataclass(frozen=True)
class Page:
    """One page that can be handed over alone: it carries its own head and its own cautions."""

    title: str
    head: tuple[tuple[str, Cell], ...]
    cautions: tuple[Line, ...]
    sections: tuple[Section, ...] = field(default=())


@dataclass(frozen=True)
class Card:
    """All pages of a view. `kind` is its name on the command line."""

    kind: str
    title: str
    pages: tuple[Page, ...]
    foot: str
