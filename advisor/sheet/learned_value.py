"""One predicted value of a sheet that the shop's own trials have moved: published and learned side by side."""

from __future__ import annotations

from typing import Literal

from advisor.sheet.part import Band, Part


class LearnedValue(Part):
    """A value of a step under the learned factor, and what it would be under the published coefficients.

    `scope` is where the factor holds and `trials` how many it rests on; `low` to `high` its 95 % band,
    `prior_factor` what the wider scope alone says. `beyond` are settings more than 1.5 times outside what
    was tried: there the learned value is an extrapolation.
    """

    feature: str
    step: int
    field: Literal["removal_um", "ra_um", "wear"]
    coefficient: str
    scope: dict[str, str]
    trials: int
    factor: float
    low: float
    high: float
    prior_factor: float
    published: Band
    learned: Band
    latest: tuple[str, ...] = ()
    beyond: tuple[str, ...] = ()

    @property
    def sentence(self) -> str:
        """The reason that stands at the value."""
        scope = ", ".join(f"{name} {value}" for name, value in self.scope.items()) or "all of them"
        said = (
            f"{self.trials} trial{'s' if self.trials != 1 else ''} here ({scope}) showed {self.factor:.2f} times "
            f"the published {self.coefficient} (95 % {self.low:.2f} to {self.high:.2f}); "
            f"the newest are {', '.join(self.latest)}."
        )
        low, expected, high = self.published.low, self.published.expected, self.published.high
        unit = "parts" if self.field == "wear" else "um"
        said += f" Published coefficients would say {low:.3g} to {high:.3g}, expected {expected:.3g} {unit}."
        if self.beyond:
            said += f" This goes beyond what was tried ({'; '.join(self.beyond)}): an extrapolation."
        return said
