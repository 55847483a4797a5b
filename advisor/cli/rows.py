"""A row of a reference table in sentences."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import singledispatch

from advisor.catalogue.sentences import listed, sources_text
from advisor.knowledge.base import Knowledge
from advisor.knowledge.cell import Cell
from advisor.knowledge.reference import (
    Alloy,
    Coefficient,
    Defect,
    Designation,
    Finish,
    Grade,
    Grain,
    Media,
    Option,
    Symptom,
    Window,
)
from advisor.units import figure, plain_number

#: Each table that can be looked up, and what one of its rows is called.
ROW_KINDS: Mapping[str, str] = {
    "alloys": "alloy",
    "defects": "defect",
    "finishes": "finish",
    "designations": "designation of a finish",
    "grains": "grain",
    "grades": "grade",
    "media": "form of media",
    "backings": "backing",
    "covers": "wheel cover",
    "faces": "wheel face",
    "builds": "build",
    "coats": "coat",
    "top_coats": "top coat",
    "lubricants": "lubricant",
    "symptoms": "symptom",
    "cells": "cell",
    "coefficients": "coefficient",
}
_DUST = {
    "explosible": "The dust can explode.",
    "fire": "The dust and the sparks can start a fire.",
    "low": "The dust burns little.",
}
_FLAGS = ("lead", "beryllium", "nickel", "cobalt", "chromium")
_FELT = {"no": "slides over it", "catches": "catches in it", "steps": "climbs a step"}


def row_lines(row: object, knowledge: Knowledge) -> Iterator[str]:
    """The sentences about a row, with its note and the kind of its sources at the end."""
    yield from _told(row)
    also = getattr(row, "also", ())
    if also:
        yield f"Also: {', '.join(also)}."
    note = getattr(row, "note", None)
    if note:
        yield note
    kinds = sources_text(getattr(row, "source", ()), knowledge)
    if kinds:
        yield f"From: {kinds}."


@singledispatch
def _told(row: object) -> Iterator[str]:
    yield from ()


@_told.register
def _alloy(row: Alloy) -> Iterator[str]:
    numbers = ", ".join(filter(None, (row.uns and f"UNS {row.uns}", row.en and f"EN {row.en}")))
    if numbers:
        yield f"{numbers}."
    made = "Cast" if row.cast else "Wrought"
    yield f"{made}, family {_plain(row.family)}, group {row.group}, about {row.hardness_hv:g} HV."
    yield (
        f"Density {row.density:g} g/cm3, conductivity {row.conductivity:g} W/(m K), "
        f"specific heat {row.specific_heat:g} J/(kg K)."
    )
    yield f"Its skin should stay below {row.heat_limit_c:g} C. {row.heat_limit_why}"
    holds = [name for name in _FLAGS if getattr(row, name)]
    unsure = [name for name in _FLAGS if getattr(row, name) is None]
    if holds:
        yield f"It holds {listed(holds, 'and')}."
    if unsure:
        yield f"Not known whether it holds {listed(unsure)}."
    yield _DUST[row.dust]


@_told.register
def _defect(row: Defect) -> Iterator[str]:
    where = "a narrow strip or spot" if row.local else "the whole face"
    yield f"Kind: {row.kind}; on {where}. Usually {_window(row.depth_mm)} mm, with Ra {figure(row.ra_um)} um."
    felt = [f"{_FELT.get(key, key)} at {_window(depth)} mm" for key, depth in row.felt.items()]
    if felt:
        yield f"A fingernail {', '.join(felt)}."
    yield f"To find out: {row.find_out}"


@_told.register
def _finish(row: Finish) -> Iterator[str]:
    yield f"Texture {row.texture}, lay {row.lay}, Ra {_window(row.ra_um)} um across the lay."
    if row.grades:
        yield f"Usual last grades: {', '.join(row.grades)}."


@_told.register
def _designation(row: Designation) -> Iterator[str]:
    yield f"{row.standard}: {row.says}"
    groups = f" for {listed(row.groups)}" if row.groups else ""
    band = f", Ra {_window(row.ra_um)} um" if row.ra_um else ""
    yield f"Here the finish {row.finish}{groups}{band}."


@_told.register
def _grain(row: Grain) -> Iterator[str]:
    yield "Tough: it needs load to stay sharp." if row.tough else "It breaks down readily."
    if row.knoop or row.mohs:
        told = [f"Knoop {row.knoop:g}" if row.knoop else "", f"Mohs {row.mohs:g}" if row.mohs else ""]
        yield f"Hardness {', '.join(filter(None, told))}."
    if row.contains_iron:
        yield "It contains iron."


@_told.register
def _grade(row: Grade) -> Iterator[str]:
    scale = {"P": "the FEPA P scale", "web": "the scale of non-woven webs", "compound": "compounds"}[
        row.scale
    ]
    size = "only used for ordering, equivalent to" if row.equivalent else "mean grain size"
    yield f"On {scale}; {size} {figure(row.um)} um."
    if row.cami:
        yield f"Nearest grade of the ANSI coated scale: {row.cami}."


@_told.register
def _media(row: Media) -> Iterator[str]:
    shapes = listed(row.shapes, "and")
    yield f"A {_plain(row.form)}, {row.abrasive}; used to {listed(row.stages)} on {shapes}."
    yield f"Grains: {', '.join(row.grains) or 'none'}."
    if row.grades:
        yield f"Grades: {row.grades[0]} to {row.grades[-1]}."
    if row.backings:
        yield f"Backings, the usual one first: {', '.join(row.backings)}."
    yield f"Surface speed {_window(row.speed_m_s)} m/s, force {_window(row.force_n_mm)} N per mm of width."


@_told.register
def _option(row: Option) -> Iterator[str]:
    yield from ()


@_told.register
def _symptom(row: Symptom) -> Iterator[str]:
    yield f"Seen on the {row.seen_on}. {row.looks_like}"


@_told.register
def _cell(row: Cell) -> Iterator[str]:
    wet = "wet or dry" if row.wet else "dry"
    yield f"Run by a {row.operator}; {listed(map(_plain, row.handling))}; {wet}."
    for station in row.stations:
        low, high = station.speed_rpm
        turns = f"{low:g} to {high:g} rpm, {station.wheel_diameter_mm:g} mm"
        yield f"{station.name}: {', '.join(station.takes)}; {turns}."


@_told.register
def _coefficient(row: Coefficient) -> Iterator[str]:
    unit = "" if row.unit == "1" else f" {row.unit}"
    scope = ", ".join(f"{key} {value}" for key, value in row.scope.items())
    low, high = figure(row.band.low), figure(row.band.high)
    yield f"{figure(row.band.expected)}{unit}, from {low} to {high}{unit} in nine trials of ten."
    yield f"Holds for {scope or 'everything'}{f'; {row.valid}' if row.valid else ''}."


def _window(window: Window) -> str:
    low, high = map(plain_number, window)
    return low if low == high else f"{low} to {high}"


def _plain(key: str) -> str:
    return key.replace("-", " ")
