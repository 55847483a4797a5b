"""A bar on standard error for what takes a while: drawn again and again on a screen, left out in a log."""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass, field

from advisor.cli.streams import prompt, say

_WIDTH = 30


@dataclass(slots=True)
class Bar:
    """How far a piece of work is; called with what is done and how much there is."""

    began: float = field(default_factory=time.monotonic)
    drawn: bool = False

    @property
    def seconds(self) -> float:
        """The time gone since the work began."""
        return time.monotonic() - self.began

    def __call__(self, done: int, of: int) -> None:
        """Draw the bar over its last state."""
        if sys.stderr is not None and sys.stderr.isatty():
            sys.stderr.write("\r")  # `prompt` shows control characters instead of sending them
            prompt(bar_line(done, of, self.seconds))
            self.drawn = True

    def end(self) -> None:
        """Leave the last state standing and go on below it."""
        if self.drawn:
            say("")


def bar_line(done: int, of: int, seconds: float) -> str:
    """The bar with the count, the time gone, and the time it will take yet.

    >>> bar_line(50, 200, 10.0)
    '[#######-----------------------] 50 of 200, 10 s, about 30 s to go'
    """
    filled = _WIDTH * done // of if of else _WIDTH
    left = f", about {seconds * (of - done) / done:.0f} s to go" if 0 < done < of else " " * 20
    return f"[{'#' * filled}{'-' * (_WIDTH - filled)}] {done:,} of {of:,}, {seconds:.0f} s{left}"
