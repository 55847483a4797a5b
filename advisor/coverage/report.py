"""A sweep in words: a summary for the terminal, a page in Markdown, or everything as JSON."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Sequence

from advisor.coverage.answers import AXES, Answer, Coverage, Gap, Tally, along, gaps, nearest_obstacle, tally
from advisor.coverage.grid import FACES

WANTED_SHARE = 0.97
MOST_SHOWN = 12


def percent(share: float | None) -> str:
    """A share as it is printed; never rounded up to all of it, nor down to none of it.

    >>> percent(0.9996), percent(1.0), percent(None), percent(0.0004)
    ('99.9 %', '100 %', '-', '0.1 %')
    """
    if share is None:
        return "-"
    shown = round(share * 100, 1)
    if share < 1.0:
        shown = min(shown, 99.9)
    if share > 0.0:
        shown = max(shown, 0.1)
    return f"{shown:g} %"


def summary(coverage: Coverage) -> str:
    """What was found, in one sentence for each thing that counts."""
    every = coverage.answers
    sums = tally(every)
    swept = "Every one of" if coverage.whole else "A sample of"
    odd, odd_planned = sums.combinations - sums.sensible, sums.planned_of_all - sums.planned
    count, cells = f"{sums.combinations:,}", _cells(coverage)
    lines = [
        f"{swept} {count} combinations of alloy family, defect, shape and finish was asked for in {cells}.",
        f"{sums.sensible:,} are sensible; {sums.planned:,} of these have a plan ({percent(sums.share)}).",
        f"{_widened(every):,} of these plans set a lower concern aside or use the whole Ra band.",
        f"Of the {odd:,} that nobody asks for, {odd_planned:,} have one as well.",
    ]
    if sums.rules is not None:
        lines.append(
            f"A plan rests on {sums.rules:g} rules (median); {percent(sums.memory)} of them on memory or own "
            f"judgement only."
        )
    if coverage.faults:
        lines.append(f"{len(coverage.faults):,} ended in an error.")
    elif sums.planned_of_all < sums.combinations:
        lines.append("The others have a refusal that names its limit; none ended in an error.")
    else:
        lines.append("None is refused, and none ended in an error.")
    return "\n".join(lines)


def _widened(answers: Iterable[Answer]) -> int:
    return sum(answer.widened for answer in answers if answer.planned and answer.unusual is None)


def _cells(coverage: Coverage) -> str:
    cells = coverage.grid.cells
    return (
        f"the cell {cells[0]}" if len(cells) == 1 else f"{len(cells)} cells, the first with a plan counting"
    )


def to_text(coverage: Coverage) -> str:
    """The summary, the families, and what has no plan and why."""
    parts = [summary(coverage), ""]
    parts += _columns(("family", *_HEADS), _rows(along(coverage.answers, "family")))
    found = gaps(coverage.answers)
    if found:
        parts += ["", "Without a plan, though sensible:"]
        parts += [f"  {gap.count:,} {_gap(gap)}" for gap in found[:MOST_SHOWN]]
    if coverage.faults:
        parts += ["", "Ended in an error:"]
        parts += [f"  {answer.combination}: {answer.fault}" for answer in coverage.faults[:MOST_SHOWN]]
    return "\n".join(parts) + "\n"


def _gap(gap: Gap) -> str:
    return (
        f"to {gap.stage}, {gap.limit}; such as {gap.example.combination}: "
        f"{nearest_obstacle(gap.example).text}"
    )


_HEADS = ("sensible", "with a plan", "share", "rules", "on memory")


def _rows(tallies: dict[str, Tally]) -> list[tuple[str, ...]]:
    return [(key, *_cells_of(sums)) for key, sums in tallies.items()]


def _cells_of(sums: Tally) -> tuple[str, ...]:
    rules = "-" if sums.rules is None else f"{sums.rules:g}"
    return f"{sums.sensible:,}", f"{sums.planned:,}", percent(sums.share), rules, percent(sums.memory)


def _columns(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    widths = [max(len(row[column]) for row in (heads, *rows)) for column in range(len(heads))]
    return [
        "  ".join(
            [row[0].ljust(widths[0])]
            + [cell.rjust(width) for cell, width in zip(row[1:], widths[1:], strict=True)]
        ).rstrip()
        for row in (heads, *rows)
    ]


def to_markdown(coverage: Coverage) -> str:
    """The summary, a table for each axis, the cells that gave the plans, and what has none and why."""
    parts = [summary(coverage).replace("\n", " "), "", f"Made with the knowledge `{coverage.fingerprint}`.", ""]
    for axis in AXES:
        parts += [
            f"### By {axis}",
            "",
            _table((axis, *_HEADS), _coded(_rows(along(coverage.answers, axis)))),
            "",
        ]
    parts += ["### Which cell gave the plan", "", _table(("cell", "plans"), _by_cell(coverage.answers)), ""]
    parts += ["### Without a plan, though sensible", "", _gap_table(gaps(coverage.answers)), ""]
    parts += ["### Faces that stand for the shapes", "", _faces(), ""]
    return "\n".join(parts)


def _coded(rows: Iterable[tuple[str, ...]]) -> list[tuple[str, ...]]:
    return [(f"`{row[0]}`", *row[1:]) for row in rows]


def _by_cell(answers: Iterable[Answer]) -> list[tuple[str, str]]:
    counted = Counter(answer.cell for answer in answers if answer.cell is not None)
    return [(f"`{cell}`", f"{count:,}") for cell, count in counted.most_common()]


def _gap_table(found: Sequence[Gap]) -> str:
    if not found:
        return "None."
    rows = [
        (
            f"{gap.count:,}",
            gap.stage,
            gap.limit,
            str(gap.example.combination),
            nearest_obstacle(gap.example).text,
        )
        for gap in found
    ]
    return _table(("combinations", "stage", "what stands in the way", "such as", "which says"), rows)


def _faces() -> str:
    sizes = {"radius_mm": "radius {:g} mm", "width_mm": "{:g} mm wide", "area_cm2": "{:g} cm2"}
    rows = [
        (shape, ", ".join(sizes[key].format(value) for key, value in face.items()))
        for shape, face in FACES.items()
    ]
    return _table(("shape", "face"), rows)


def _table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    lines = [heads, ["---"] * len(heads), *rows]
    return "\n".join(f"| {' | '.join(cell.replace('|', '/') for cell in line)} |" for line in lines)


def to_json(coverage: Coverage) -> str:
    """Everything: the grid, the sums, and each answer, one a line."""
    grid, sums = coverage.grid, tally(coverage.answers)
    head = {
        "knowledge": coverage.fingerprint,
        "whole": coverage.whole,
        "alloys": dict(grid.families),
        "cells": list(grid.cells),
        "faces": {shape: dict(face) for shape, face in FACES.items()},
        "sums": _sums(sums),
        "by": {
            axis: {key: _sums(each) for key, each in along(coverage.answers, axis).items()} for axis in AXES
        },
    }
    opening = json.dumps(head, ensure_ascii=False, indent=1).removesuffix("\n}")
    lines = ",\n".join(f"  {json.dumps(_answer(answer), ensure_ascii=False)}" for answer in coverage.answers)
    return f'{opening},\n "answers": [\n{lines}\n ]\n}}\n'


def _sums(sums: Tally) -> dict[str, float | int | None]:
    return {
        "combinations": sums.combinations,
        "sensible": sums.sensible,
        "planned": sums.planned,
        "planned_of_all": sums.planned_of_all,
        "share": sums.share,
        "rules": sums.rules,
        "memory": None if sums.memory is None else round(sums.memory, 4),
    }


def _answer(answer: Answer) -> dict[str, object]:
    square = answer.combination
    told: dict[str, object] = {axis: key(square) for axis, key in AXES.items()}
    told |= {"unusual": answer.unusual, "cell": answer.cell}
    if answer.planned:
        told |= {
            "steps": answer.steps,
            "widened": answer.widened,
            "rules": answer.rules,
            "memory": round(answer.memory, 4),
        }
    elif answer.fault:
        told["fault"] = answer.fault
    else:
        told["refused"] = [
            {"cell": cell, "stage": item.stage, "limit": item.limit, "text": item.text}
            for cell, item in answer.obstacles
        ]
    return told
