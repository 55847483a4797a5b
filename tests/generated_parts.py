"""Parts of the documents that are written from the program itself: commands, tables, fields of the sheet."""

from __future__ import annotations

import types
import typing
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Literal, get_args, get_origin

import typer
from pydantic import BaseModel
from typer.testing import CliRunner

from advisor.cli.app import app
from advisor.knowledge.base import Knowledge
from advisor.knowledge.load import load_knowledge
from advisor.sheet.model import Sheet
from advisor.unit_table import DIMENSIONS, UNITS


def commands() -> dict[str, typer.core.TyperCommand]:
    """The commands of the program by name, in its own order; a command of a group by both words."""
    group: Any = typer.main.get_command(app)
    found: dict[str, Any] = {}
    for name, command in group.commands.items():
        found[name] = command
        found |= {f"{name} {inner}": each for inner, each in getattr(command, "commands", {}).items()}
    return found


def command_table() -> str:
    """One row a command: how it is called, and the first sentence of its help."""
    rows = (
        (f"`{_call(name)}`", (command.help or "").strip().split("\n\n")[0])
        for name, command in commands().items()
    )
    return _table(("command", "does"), rows)


def _call(name: str) -> str:
    arguments = [each for each in commands()[name].params if each.param_type_name == "argument"]
    return " ".join(["advisor", name, *(_metavar(each) for each in arguments)])


def _metavar(argument: Any) -> str:
    return str(argument.metavar or argument.name.upper())


def help_pages() -> str:
    """The help of the program and of each command, as it prints it."""
    parts = [f"## advisor\n\n```text\n{help_of()}\n```"]
    parts += [f"## advisor {name}\n\n```text\n{help_of(*name.split())}\n```" for name in commands()]
    return "\n\n".join(parts)


def help_of(*names: str) -> str:
    """What `advisor [COMMAND] --help` prints."""
    outcome = CliRunner(env={"COLUMNS": "90", "NO_COLOR": "1"}).invoke(
        app, [*names, "--help"], prog_name="advisor", terminal_width=90
    )
    assert outcome.exit_code == 0, outcome.output
    return "\n".join(line.rstrip() for line in outcome.output.strip().splitlines())


def table(name: str) -> str:
    """A reference table as the documents show it."""
    knowledge = load_knowledge()
    makers = {"defects": _defects, "finishes": _finishes, "cells": _cells, "alloys": _alloys}
    return _units() if name == "units" else makers[name](knowledge)


def _defects(knowledge: Knowledge) -> str:
    rows = (
        (f"`{row.key}`", row.name, f"{row.depth_mm[0]:g}, at worst {row.depth_mm[1]:g}", f"{row.ra_um:g}")
        for row in knowledge.tables.defects.values()
    )
    return _table(("key", "is", "usual depth, mm", "usual Ra, um"), rows)


def _finishes(knowledge: Knowledge) -> str:
    rows = (
        (f"`{row.key}`", row.name, row.texture, row.lay, f"{row.ra_um[0]:g} to {row.ra_um[1]:g}")
        for row in knowledge.tables.finishes.values()
    )
    known = ", ".join(f"`{key}`" for key in knowledge.tables.designations)
    return _table(("key", "is", "texture", "lay", "Ra, um"), rows) + f"\n\nDesignations: {known}."


def _cells(knowledge: Knowledge) -> str:
    rows = (
        (f"`{key}`", cell.operator, ", ".join(cell.handling), ", ".join(each.name for each in cell.stations))
        for key, cell in knowledge.tables.cells.items()
    )
    return _table(("key", "operator", "handling", "stations"), rows)


def _alloys(knowledge: Knowledge) -> str:
    rows = (
        (f"`{row.key}`", row.name, row.uns or "", row.en or "", ", ".join(row.also))
        for row in knowledge.tables.alloys.values()
    )
    return _table(("key", "is", "UNS", "EN", "also called"), rows)


def _units() -> str:
    rows = (
        (
            row.article.removeprefix("a ").removeprefix("an "),
            ", ".join(f"`{name}`" for name, unit in UNITS.items() if unit.kind == row.kind),
            f"`{row.base}`",
        )
        for row in DIMENSIONS.values()
    )
    return _table(("quantity", "units", "kept in"), rows)


def sheet_models() -> str:
    """One table for each part of the sheet, from its models."""
    return "\n\n".join(_model(model) for model in _models(Sheet, []))


def _models(model: type[BaseModel], seen: list[type[BaseModel]]) -> list[type[BaseModel]]:
    if model not in seen:
        seen.append(model)
        for info in model.model_fields.values():
            for inner in _inner(info.annotation):
                _models(inner, seen)
    return seen


def _inner(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for each in get_args(annotation):
        yield from _inner(each)


def _model(model: type[BaseModel]) -> str:
    means = " ".join((model.__doc__ or "").split()).replace("`", "")
    rows = ((f"`{name}`", _typed(info.annotation)) for name, info in model.model_fields.items())
    return f"### {model.__name__}\n\n{means}\n\n{_table(('key', 'value'), rows)}"


def _typed(annotation: Any) -> str:
    """A type in a reader's words."""
    origin, inner = get_origin(annotation), get_args(annotation)
    if annotation is type(None):
        return "null"
    if origin is Literal:
        return ", ".join(f"`{value}`" for value in inner)
    if origin in (typing.Union, types.UnionType):
        return " or ".join(dict.fromkeys(_typed(each) for each in inner))
    if origin is tuple:
        if inner[-1] is Ellipsis:
            return f"list of {_typed(inner[0])}"
        return f"[{', '.join(_typed(each) for each in inner)}]"
    if origin is dict:
        return f"mapping of {_typed(inner[1])}"
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return f"[{annotation.__name__}](#{annotation.__name__.lower()})"
    names = {str: "text", int: "whole number", float: "number", bool: "true or false"}
    return names.get(annotation, "any JSON")


def _table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    lines = [heads, ["---"] * len(heads), *rows]
    return "\n".join(f"| {' | '.join(_escaped(cell) for cell in line)} |" for line in lines)


def _escaped(cell: str) -> str:
    return str(cell).replace("|", "\\|")
