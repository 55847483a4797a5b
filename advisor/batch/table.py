"""The table of a batch, as CSV for a spreadsheet and as Markdown for people."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterator, Sequence

from advisor.batch.task import Line, Status
from advisor.sheet.part import Band
from advisor.units import figure

COLUMNS = (
    "source", "name", "status", "alloy", "features", "steps", "time_s", "time_s_low", "time_s_high",
    "cost", "cost_low", "cost_high", "currency", "sheet", "reason",
)  # fmt: skip
_STATUSES: tuple[Status, ...] = ("done", "no process", "wrong", "failed")
#: A cell that begins with one of these would be read as a formula by a spreadsheet.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def to_csv(lines: Sequence[Line]) -> str:
    """One line a job, comma-separated, with a head; times in s and costs per part."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(COLUMNS)
    for line in lines:
        row = {**line.model_dump(), **_band("time_s", line.time_s), **_band("cost", line.cost)}
        writer.writerow([_cell(row[column]) for column in COLUMNS])
    return stream.getvalue()


def to_markdown(lines: Sequence[Line]) -> str:
    """The counts, then the table, then what stood in the way of the jobs without a sheet to work from."""
    counts = Counter(line.status for line in lines)
    told = ", ".join(f"{counts[status]} {status}" for status in _STATUSES if counts[status])
    note = "Times and costs are per part; the cautions stand on the sheets."
    text = [f"# Batch of {len(lines)} jobs", "", f"{told or 'nothing'}. {note}", ""]
    text += ["| job | from | status | metal | steps | time, s | cost | sheet |", "|---|---|---|---|---|---|---|---|"]
    text += [_row(line) for line in lines]
    why = list(_reasons(lines))
    if why:
        text += ["", "## What stood in the way", "", *why]
    return "\n".join(text) + "\n"


def _row(line: Line) -> str:
    sheet = f"[sheet]({line.sheet})" if line.sheet else ""
    cost = "" if line.cost is None else f"{_span(line.cost)} {line.currency or ''}".strip()
    cells = (
        _plain(line.name or ""),
        _plain(line.source),
        line.status,
        _plain(line.alloy or ""),
        "" if line.steps is None else str(line.steps),
        "" if line.time_s is None else _span(line.time_s),
        _plain(cost),
        sheet,
    )
    return f"| {' | '.join(cells)} |"


def _reasons(lines: Sequence[Line]) -> Iterator[str]:
    for line in lines:
        if line.reason:
            yield f"- {_plain(line.name or line.source)} ({line.status}): {_plain(line.reason)}"


def _span(band: Band) -> str:
    return f"{figure(band.expected)} ({figure(band.low)} to {figure(band.high)})"


def _band(name: str, band: Band | None) -> dict[str, float | None]:
    if band is None:
        return {name: None, f"{name}_low": None, f"{name}_high": None}
    return {name: band.expected, f"{name}_low": band.low, f"{name}_high": band.high}


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:.6g}"
    text = str(value)
    return f"'{text}" if text.startswith(_FORMULA) else text


def _plain(text: str) -> str:
    """Text that cannot break out of a Markdown table or bring markup of its own."""
    line = " ".join(text.split())
    for letter in ("\\", "|", "`", "*", "_", "<", ">", "[", "]"):
        line = line.replace(letter, f"\\{letter}" if letter not in "<>" else {"<": "&lt;", ">": "&gt;"}[letter])
    return line
