"""Which combinations a shop does not meet, and why; whatever no row names counts as sensible."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from advisor.coverage.grid import Combination
from advisor.knowledge.locate import shared_table

TABLE = "sensible_combinations.csv"


@dataclass(frozen=True, slots=True)
class Unusual:
    """A block of combinations that nobody asks for; an empty axis means any."""

    families: frozenset[str]
    defects: frozenset[str]
    shapes: frozenset[str]
    finishes: frozenset[str]
    reason: str

    def holds(self, combination: Combination) -> bool:
        """Whether a combination lies in the block.

        >>> edge = Unusual(frozenset(), frozenset(), frozenset({"edge"}), frozenset({"mirror"}), "Too narrow.")
        >>> edge.holds(Combination("brass", "burr", "edge", "mirror"))
        True
        >>> edge.holds(Combination("brass", "burr", "flat", "mirror"))
        False
        """
        pairs = (
            (self.families, combination.family),
            (self.defects, combination.defect),
            (self.shapes, combination.shape),
            (self.finishes, combination.finish),
        )
        return all(not named or own in named for named, own in pairs)


def read_unusual(path: Path | None = None) -> tuple[Unusual, ...]:
    """The rows of the packaged table, or of another one of the same form.

    >>> all(row.reason.endswith(".") for row in read_unusual())
    True
    """
    text = (path or shared_table(TABLE)).read_text(encoding="utf-8")
    rows = csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))
    return tuple(
        Unusual(
            _keys(row["families"]),
            _keys(row["defects"]),
            _keys(row["shapes"]),
            _keys(row["finishes"]),
            row["reason"],
        )
        for row in rows
    )


def _keys(field: str) -> frozenset[str]:
    return frozenset(field.split("|")) if field else frozenset()


def why_unusual(combination: Combination, unusual: Iterable[Unusual]) -> str | None:
    """The reason why nobody asks for a combination; None where it is sensible."""
    return next((row.reason for row in unusual if row.holds(combination)), None)
