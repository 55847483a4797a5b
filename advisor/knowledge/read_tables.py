"""Reads the reference tables: rows become models, and names in rows are resolved."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, TypeVar

from pydantic import ValidationError

from advisor.errors import InputError
from advisor.knowledge.base import ROW_MODELS, Source, Tables, Word
from advisor.knowledge.cell import Cell, parse_cell
from advisor.knowledge.fields import SOURCE_MISSING, TWICE, Faults, fields
from advisor.knowledge.reference import Frozen, Media, Row
from advisor.knowledge.strict_yaml import Node, plain

#: Columns that hold keys of other tables.
LINKS: Mapping[str, Mapping[str, str]] = {
    "media": {
        "grains": "grains",
        "grades": "grades",
        "builds": "builds",
        "coats": "coats",
        "top_coats": "top_coats",
        "backings": "backings",
        "covers": "covers",
        "faces": "faces",
        "lubricants": "lubricants",
    },
    "finishes": {"grades": "grades"},
    "designations": {"finish": "finishes", "grain": "grains"},
    "symptoms": {"media": "media"},
}

Model = TypeVar("Model", bound=Frozen)
Places = dict[tuple[str, str], Node]


def read_table(table: str, node: Node, faults: Faults, places: Places) -> dict[str, Row]:
    """The rows of one table by key; two rows of one key are a fault."""
    rows: dict[str, Row] = {}
    top = faults.mapping(node, f"the table {table}", [table])
    for item in faults.items(top[table], table) if table in top else ():
        row = read_row(ROW_MODELS[table], item, faults)
        if row is None:
            continue
        if row.key in rows:
            faults.add(fields(item)["key"], f"a second row of {table} with the same key", kind=TWICE)
        rows[row.key] = row
        places[table, row.key] = item
    return rows


def read_cells(
    node: Node, media: Mapping[str, Media], sources: Iterable[str], faults: Faults
) -> dict[str, Cell]:
    """The cells by key; a row has the same fields as the cell of a job, and sources that exist."""
    known = list(sources)
    cells: dict[str, Cell] = {}
    top = faults.mapping(node, "the table cells", ["cells"])
    for item in faults.items(top["cells"], "cells") if "cells" in top else ():
        try:
            cell = parse_cell(item, faults.file, media, row=True)
        except InputError as error:
            faults.found += error.problems
            continue
        if cell.key in cells:
            faults.add(fields(item)["key"], "a second row of cells with the same key", kind=TWICE)
        for name in cell.source:
            if name not in known:
                faults.at(_at(item, "source", faults), "unknown source", known, name, kind=SOURCE_MISSING)
        cells[str(cell.key)] = cell
    return cells


def read_row(model: type[Model], node: Node, faults: Faults) -> Model | None:
    """One row; every field that does not fit is a fault at its own place."""
    if not isinstance(node.value, dict):
        faults.add(node, "a row is not a mapping")
        return None
    try:
        return model.model_validate(plain(node))
    except ValidationError as error:
        for detail in error.errors(include_url=False):
            _report(detail["loc"], detail["type"], detail["msg"], node, model, faults)
        return None


def _report(
    loc: tuple[int | str, ...], kind: str, message: str, node: Node, model: Any, faults: Faults
) -> None:
    at = node
    for step in loc:
        in_mapping = isinstance(at.value, dict) and step in at.value
        in_list = isinstance(at.value, list) and isinstance(step, int) and step < len(at.value)
        if in_mapping or in_list:
            at = at.value[step]
    field = ".".join(str(step) for step in loc)
    if kind == "extra_forbidden":
        faults.at(at.place(faults.file), "unknown column", list(model.model_fields), str(loc[-1]))
    elif kind == "missing":
        faults.at(at.place(faults.file), f"the row has no '{field}'", None, None)
    else:
        faults.add(at, f"{field}: {message[0].lower()}{message[1:]}")


def read_sources(node: Node, faults: Faults) -> dict[str, Source]:
    """The sources by key."""
    return _keyed(Source, node, "sources", faults)


def read_words(node: Node, faults: Faults) -> tuple[Word, ...]:
    """The glossary."""
    top = faults.mapping(node, "the glossary", ["words"])
    items = faults.items(top["words"], "words") if "words" in top else []
    return tuple(word for item in items if (word := read_row(Word, item, faults)) is not None)


def _keyed(model: type[Source], node: Node, name: str, faults: Faults) -> dict[str, Source]:
    rows: dict[str, Source] = {}
    top = faults.mapping(node, name, [name])
    for item in faults.items(top[name], name) if name in top else ():
        row = read_row(model, item, faults)
        if row is not None and row.key in rows:
            faults.add(fields(item)["key"], f"a second row of {name} with the same key", kind=TWICE)
        if row is not None:
            rows[row.key] = row
    return rows


def resolve_rows(
    rows: Mapping[str, Mapping[str, Row]],
    sources: Iterable[str],
    places: Places,
    faults: Mapping[str, Faults],
) -> None:
    """Every key that a row names must exist in the table it points to, and every source be listed."""
    known = list(sources)
    for table, entries in rows.items():
        for key, row in entries.items():
            node = places[table, key]
            for name in row.source:
                if name not in known:
                    place = _at(node, "source", faults[table])
                    faults[table].at(place, "unknown source", known, name, kind=SOURCE_MISSING)
            for column, target in LINKS.get(table, {}).items():
                given = getattr(row, column)
                for name in (given,) if isinstance(given, str) else given or ():
                    if name not in rows[target]:
                        place = _at(node, column, faults[table])
                        faults[table].at(place, f"unknown key of {target} in {column}", rows[target], name)


def _at(node: Node, column: str, faults: Faults) -> str:
    return fields(node).get(column, node).place(faults.file)


def build_tables(rows: Mapping[str, Mapping[str, Row]], cells: Mapping[str, Cell]) -> Tables:
    """All tables as one frozen model."""
    tables: dict[str, Any] = {table: dict(entries) for table, entries in rows.items()}
    return Tables.model_construct(None, cells=dict(cells), **tables)
