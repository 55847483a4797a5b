"""What a replay found: that a stored sheet follows from its job and knowledge, or where it does not."""

from __future__ import annotations

from pydantic import JsonValue

from advisor.knowledge.reference import Frozen


class Mismatch(Frozen):
    """One place of a sheet where what is stored is not what comes out now.

    `path` leads through the sheet (`features[0].steps[1].force_n`). `stored` and `now` are the two
    values; where a side has none, `in_stored` or `in_now` is False and its value None.
    """

    path: str
    stored: JsonValue = None
    now: JsonValue = None
    in_stored: bool = True
    in_now: bool = True


class Replay(Frozen):
    """The outcome of a replay.

    `values` is how many single values were compared. `written_by` and `replayed_by` are versions of
    the program, `knowledge` is the fingerprint that the sheet names, `used` the one it was replayed with.
    """

    name: str
    values: int
    written_by: str
    replayed_by: str
    knowledge: str
    used: str
    mismatches: tuple[Mismatch, ...] = ()

    @property
    def follows(self) -> bool:
        """Whether every value of the stored sheet comes out again."""
        return not self.mismatches
