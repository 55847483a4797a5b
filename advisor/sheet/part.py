"""What every piece of a sheet is made of: the base model, the band, and the short types."""

from __future__ import annotations

from typing import Self

from pydantic import BaseModel, ConfigDict, model_validator

Window = tuple[float, float]
Ids = tuple[str, ...]


class Part(BaseModel):
    """A piece of a sheet: frozen, complete, without keys nobody declared and without NaN."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True, allow_inf_nan=False)


class Band(Part):
    """A predicted quantity: 5th, 50th and 95th percentile."""

    low: float
    expected: float
    high: float

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if not self.low <= self.expected <= self.high:
            raise ValueError(f"a band must rise, given {self.low}, {self.expected}, {self.high}")
        return self
