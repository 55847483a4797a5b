"""A small knowledge base with just enough rows to read jobs against."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import pytest

from advisor.knowledge.cell import Cell, parse_cell
from advisor.knowledge.reference import Alloy, Defect, Designation, Finish, Media
from advisor.knowledge.strict_yaml import load

CELL = """
key: bench
name: a robot and a stand
source: [own-estimate]
operator: robot
handling: [part-in-hand]
wet: false
media_history: clean
dust: {collector: dry, shared_with: []}
stations:
  - name: belts
    takes: [belt]
    power: 3 kW
    speed: [600 rpm, 3600 rpm]
    wheel_diameter: 250 mm
    wheel_hardness: [60, 30, 40]
    wheel_width: [25 mm, 50 mm]
    wheel_face: plain
    wheel_cover: [rubber]
    marked_speed: 40 m/s
    min_diameter: 200 mm
compliance: {stroke: 25 mm, force: [8 N, 220 N]}
changeover: {belt: 90 s, wheel: 240 s}
rates: {hour: 55, currency: EUR}
"""


def alloy(key: str, name: str, group: str, also: tuple[str, ...], en: str | None = None) -> Alloy:
    family = {"copper": "brass", "aluminium": "wrought-aluminium", "stainless": "austenitic-stainless"}[group]
    return Alloy(
        key=key,
        name=name,
        source=("x",),
        also=also,
        uns=key.upper(),
        en=en,
        family=family,
        group=group,
        cast=False,
        hardness_hv=100,
        density=8,
        conductivity=15,
        specific_heat=500,
        heat_limit_c=200,
        heat_limit_why="It tints.",
        lead=None,
        beryllium=None,
        nickel=None,
        cobalt=None,
        chromium=None,
        dust="low",
    )


def media(key: str, handling: tuple[Any, ...]) -> Media:
    return Media(
        key=key,
        name=key,
        source=("x",),
        form="belt",
        abrasive="coated",
        scale="P",
        stages=("clear",),
        handling=handling,
        shapes=("flat",),
        lays=("linear",),
        blends=False,
        contact_wheel=True,
        grains=("a",),
        grades=("P80",),
        lubricants=("dry",),
        directions=("free",),
        width_mm=(10, 100),
        usual_width_mm=50,
        speed_m_s=(10, 30),
        force_n_mm=(0.5, 2),
        feed_mm_s=(10, 60),
        overlap_percent=(20, 50),
        passes=(1, 10),
        smallest_access_mm=10,
        removal_factor=1,
        roughness_factor=1,
        life_minutes=(10, 30),
        price=5,
    )


def finish(key: str, texture: Any, lay: Any, low: float, high: float) -> Finish:
    return Finish(
        key=key, name=key.replace("-", " "), source=("f",), texture=texture, lay=lay, ra_um=(low, high)
    )


def defect(key: str, kind: Any, typical: float, worst: float, ra: float) -> Defect:
    felt = {"no": (0.02, 0.05), "catches": (0.05, 0.2), "steps": (0.2, 0.6)} if kind == "proud" else {}
    return Defect(
        key=key,
        name=key.replace("-", " "),
        source=("x",),
        kind=kind,
        local=kind == "proud",
        depth_mm=(typical, worst),
        ra_um=ra,
        felt=felt,
        find_out="Measure it.",
    )


@dataclass(frozen=True)
class Small:
    """The same shape as the real knowledge base, as far as a job needs it."""

    tables: Mapping[str, Mapping[str, Any]]


def keyed(*rows: Any) -> dict[str, Any]:
    return {row.key: row for row in rows}


def build() -> Small:
    all_media = keyed(media("belt", ("part-in-hand",)), media("orbital-disc", ("tool-in-hand",)))
    cell: Cell = parse_cell(load(CELL, "cells.yaml"), "cells.yaml", all_media, row=True)
    return Small(
        {
            "alloys": keyed(
                alloy("s31603", "stainless steel 316L", "stainless", ("316L", "18/10 marine"), "1.4404"),
                alloy("s31000", "stainless steel 310", "stainless", ("310",), "1.4310"),
                alloy("a96061", "aluminium 6061", "aluminium", ("6061", "6061-T6")),
                alloy("c36000", "free-cutting brass", "copper", ("free-cutting brass", "brass")),
                alloy("c26000", "cartridge brass", "copper", ("brass", "70/30 brass")),
                alloy(
                    "unidentified-copper-alloy",
                    "copper alloy, not identified",
                    "copper",
                    ("unknown copper alloy",),
                ),
            ),
            "defects": keyed(
                defect("parting-line", "proud", 0.25, 0.6, 3.2),
                defect("gate-stub", "proud", 1.0, 3.0, 6.3),
                defect("heat-tint", "film", 0.003, 0.01, 0.8),
                defect("paint", "film", 0.08, 0.2, 1.6),
            ),
            "finishes": keyed(
                finish("satin-coarse", "satin", "linear", 0.7, 1.5),
                finish("satin-medium", "satin", "linear", 0.4, 0.8),
                finish("satin-fine", "satin", "linear", 0.25, 0.5),
                finish("satin-crossed", "satin", "crossed", 0.3, 0.9),
                finish("mirror", "mirror", "any", 0.0, 0.05),
            ),
            "designations": keyed(
                Designation(
                    key="en-10088-2-2k",
                    name="EN 10088-2 finish 2K",
                    also=("2K", "1K/2K"),
                    source=("d",),
                    standard="EN 10088-2",
                    groups=("stainless",),
                    finish="satin-fine",
                    ra_um=(0.1, 0.5),
                    says="Satin with Ra below 0.5 um.",
                ),
                Designation(
                    key="bhma-630",
                    name="BHMA 630",
                    also=("US32D",),
                    source=("d",),
                    standard="A156.18",
                    groups=("stainless",),
                    finish="satin-medium",
                    says="Satin stainless steel.",
                ),
                Designation(
                    key="aa-m32",
                    name="AA-M32",
                    also=("M32",),
                    source=("d",),
                    standard="AA",
                    groups=("aluminium",),
                    finish="satin-medium",
                    grades=("180", "220"),
                    grade_scale="CAMI",
                    grain="aluminium-oxide",
                    says="Medium satin, 180 to 220 grit.",
                ),
                Designation(
                    key="naamm-m32",
                    name="NAAMM M32",
                    also=("M32",),
                    source=("d",),
                    standard="NAAMM",
                    groups=("copper",),
                    finish="satin-coarse",
                    grades=("120", "180"),
                    grade_scale="CAMI",
                    says="Medium satin, 120 to 180 grit.",
                ),
                Designation(
                    key="a480-no-4",
                    name="ASTM A480 No. 4",
                    also=("A480 No. 4", "No. 4"),
                    source=("d",),
                    standard="ASTM A480",
                    groups=(),
                    finish="satin-medium",
                    says="General purpose polish.",
                ),
                Designation(
                    key="3-a",
                    name="3-A sanitary",
                    also=("3-A",),
                    source=("d",),
                    standard="3-A",
                    groups=("stainless",),
                    finish="satin-fine",
                    ra_um=(0.0, 0.8),
                    says="Ra at most 0.8 um.",
                ),
            ),
            "media": all_media,
            "cells": {"bench": cell},
        }
    )


@pytest.fixture(scope="session")
def knowledge() -> Small:
    return build()


JOB = """\
name: rail-bracket
alloy: s31603
part:
  mass: 0.9 kg
  size: 180 mm
  wall: 4 mm
  contour: high
start:
  defect: parting-line
  also: [heat-tint]
  depth: 0.25 mm
  roughness: 6.3 um
  felt: catches
features:
  - name: outer sweep
    shape: convex
    radius: 18 mm
    cross_radius: 60 mm
    width: 30 mm
    area: 40 cm2
    access: 45 mm
    visible: A
    joint: none
    edges: break
    edge_radius: 0.5 mm
    max_stock: 0.3 mm
  - name: stub
    shape: flat
    start: {defect: gate-stub, depth: 1 mm}
    finish: satin-coarse
finish: satin-fine
environment: coastal
after: none
cell: bench
batch: 400
"""


@pytest.fixture
def job_text() -> str:
    return JOB
