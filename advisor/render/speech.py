"""How one sheet speaks to its reader: its names, its scales, and the reader's own units first."""

from __future__ import annotations

from dataclasses import dataclass

from advisor.render import words
from advisor.render.quantities import at_most, both, in_both_units
from advisor.sheet.model import Sheet, Step
from advisor.units import System


@dataclass(frozen=True)
class Speech:
    """How one sheet speaks to its reader: its names, its scales, and the reader's units."""

    sheet: Sheet
    system: System

    def name(self, key: str | None) -> str:
        """The plain name of a key."""
        return words.name(key, self.sheet.names)

    def grade(self, key: str | None, scale: str | None = None) -> str:
        """A grade with its scale, and the ANSI grade beside it for a reader of US units."""
        return words.grade(key, self.sheet.ansi, self.system == "us", scale)

    def prose(self, text: str) -> str:
        """A sentence with quantities in both systems and, with US units, ANSI grades beside P grades."""
        told = in_both_units(text, self.system)
        return words.with_ansi(told, self.sheet.ansi) if self.system == "us" else told

    def both(self, value: float, unit: str) -> str:
        """A value with its unit, in both systems."""
        return both(value, unit, self.system)

    def at_most(self, value: float, unit: str) -> str:
        """A limit with its unit, in both systems, rounded down."""
        return at_most(value, unit, self.system)

    def option(self, decision: str, key: str) -> str:
        """The plain name of an option of a decision; a grade comes with its scale."""
        return self.grade(key) if decision == "grade" else self.name(key)

    def media(self, step: Step) -> str:
        """What a step runs, short enough for a chain: grade and media."""
        return f"{self.grade(step.grade, step.grade_scale)} {self.name(step.media)}".removeprefix("- ")
