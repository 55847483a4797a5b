"""A simulated shop: its metal and its media behave by numbers of its own, which the advisor never sees.

The laws are those of the model's written form, set down here once more from that form and not taken from the
advisor's code; the coefficients are the shop's own, up to twice or half the published ones.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from advisor.job.model import Job
from advisor.sheet.model import Step

# Typed from the written model: grain sizes (FEPA P, um), alloy factors, specific energy (J/mm3), force ratio,
# hardness, roughness (um) and depth a pass (um) of webs on austenitic stainless steel.
GRAIN_UM = {
    "P24": 764, "P30": 642, "P36": 538, "P40": 425, "P50": 336, "P60": 269, "P80": 201, "P100": 162, "P120": 125,
    "P150": 100, "P180": 82, "P220": 68, "P240": 58.5, "P280": 52.2, "P320": 46.2, "P360": 40.5, "P400": 35,
    "P500": 30.2, "P600": 25.8, "P800": 21.8, "P1000": 18.3, "P1200": 15.3, "P1500": 12.6, "P2000": 10.3, "P2500": 8.4,
}  # fmt: skip
METALS = {  # alloy factor, u80, mu80, HV
    "s31603": (1.0, 32.0, 0.40, 160.0),
    "s30400": (1.0, 32.0, 0.40, 170.0),
    "g10180": (1.1, 18.0, 0.45, 130.0),
    "a96061": (1.4, 7.0, 0.42, 107.0),
    "c26000": (1.25, 8.0, 0.40, 110.0),
    "r56400": (0.9, 45.0, 0.35, 340.0),
}
WEB_RA = {
    "coarse": 0.9,
    "medium": 0.5,
    "fine": 0.28,
    "very-fine": 0.18,
    "ultra-fine": 0.12,
    "extra-coarse": 1.4,
}
WEB_DEPTH = {
    "coarse": 0.8,
    "medium": 0.45,
    "fine": 0.25,
    "very-fine": 0.18,
    "ultra-fine": 0.12,
    "extra-coarse": 1.2,
}
WEBS = (
    "nonwoven-belt", "surface-conditioning-belt", "nonwoven-flap-wheel", "interleaved-flap-wheel", "unitized-wheel",
    "convolute-wheel", "surface-conditioning-disc",
)  # fmt: skip


@dataclass(frozen=True)
class Truth:
    """The shop's own numbers: factors on the published ones, and its exponents."""

    roughness: float
    energy: float
    web_roughness: float
    web_depth: float
    grain_exponent: float
    load_exponent: float

    @classmethod
    def drawn(cls, dice: random.Random, most: float = 2.0) -> Truth:
        """Factors anywhere between half and double; exponents within their published bands."""

        def factor() -> float:
            return math.exp(dice.uniform(-math.log(most), math.log(most)))

        return cls(factor(), factor(), factor(), factor(), dice.uniform(0.94, 1.3), dice.uniform(0.15, 0.45))


@dataclass(frozen=True)
class Set:
    """What is set at the machine for one step."""

    media: str
    grade: str | None
    hardness: float | None
    diameter_mm: float
    width_mm: float
    force_n: float
    speed: float
    feed: float
    passes: int
    overlap: float
    until_clean: bool = False

    @classmethod
    def of(cls, step: Step, contact_mm: float, overlap: float) -> Set:
        """As the sheet says."""
        assert step.wheel is not None and step.force_n is not None
        assert step.surface_speed_m_s is not None and step.feed_mm_s is not None and step.passes is not None
        return cls(
            step.media, step.grade, step.wheel.hardness_shore_a, step.wheel.diameter_mm or 200.0, contact_mm,
            step.force_n, step.surface_speed_m_s, step.feed_mm_s, step.passes, overlap,
        )  # fmt: skip


class Shop:
    """Works a face by its own truth and reads its gauges with an error."""

    def __init__(self, job: Job, truth: Truth, dice: random.Random, noise: float = 0.2) -> None:
        self.metal = METALS[job.alloy]
        self.face = job.features[0]
        self.truth, self.dice, self.noise = truth, dice, noise

    def finished(self, chain: Sequence[Set], ra_um: float) -> tuple[float, float]:
        """The true roughness after a chain of steps, and the true depth that the last of them took (um)."""
        depth = 0.0
        for each in chain:
            ra_um, depth = self._step(each, ra_um)
        return ra_um, depth

    def read(self, true: float) -> float:
        """A reading that is off by at most the noise either way."""
        return true * math.exp(self.dice.uniform(-1.0, 1.0) * math.log(1.0 + self.noise))

    def _step(self, each: Set, ra: float) -> tuple[float, float]:
        if each.media in WEBS:
            floor = WEB_RA[str(each.grade)] * self.metal[0] * self.truth.web_roughness
            depth = WEB_DEPTH[str(each.grade)] * math.sqrt(180.0 / self.metal[3]) * self.truth.web_depth
            taken = depth * each.passes / (1.0 - each.overlap)
            return floor + (ra - floor) * math.exp(-taken / (0.4 * 10.0 * ra)), taken
        grain = GRAIN_UM[str(each.grade)]
        pressure = self._pressure_kpa(each)
        floor = 0.0057 * grain**1.1 * (grain / 82.0) ** (self.truth.grain_exponent - 1.1) * self.metal[0]
        floor *= self.truth.roughness * (pressure / 80.0) ** self.truth.load_exponent
        energy = self.metal[1] * self.truth.energy * (201.0 / grain) ** 0.5
        ratio = self.metal[2] * (grain / 201.0) ** 0.15
        line = each.force_n / each.width_mm
        depth = 1000.0 * ratio * line * each.speed / (energy * each.feed)
        if each.media != "belt":
            floor, depth = 0.7 * floor, 0.35 * depth
        taken = depth * each.passes / (1.0 - each.overlap)
        need = max(0.8 * 10.0 * (ra - floor), 0.5 * 10.0 * floor)
        taken = max(taken, need) if each.until_clean else taken
        return floor + max(0.0, ra - floor) * math.exp(-3.0 * taken / need), taken

    def _pressure_kpa(self, each: Set) -> float:
        """Mean pressure of a rubber wheel on the face: Gent's modulus and the line contact of Hertz."""
        if each.hardness is None or each.media != "belt":
            return 80.0
        modulus = (
            0.0981 * (56.0 + 7.62336 * each.hardness) / (0.137505 * (254.0 - 2.54 * each.hardness)) / 0.75
        )
        curved = {"convex": 1.0, "concave": -1.0}.get(self.face.shape, 0.0)
        sharp = 2.0 / each.diameter_mm + (curved / self.face.radius_mm if self.face.radius_mm else 0.0)
        line = each.force_n / each.width_mm
        half = math.sqrt(4.0 * line / (math.pi * modulus * sharp))
        return 1000.0 * line / (2.0 * half)


def generated_job(dice: random.Random) -> dict[str, Any]:
    """An invented part with one face, to be satin or ground; the ends of its band lie a factor of 1.6 to 2 apart."""
    low = math.exp(dice.uniform(math.log(0.25), math.log(0.9)))
    high = low * dice.uniform(1.6, 2.0)
    shape = dice.choice(["flat", "convex"])
    face: dict[str, Any] = {
        "name": "face",
        "shape": shape,
        "width": f"{dice.choice([30, 40, 60])} mm",
        "area": f"{dice.choice([30, 60, 120])} cm2",
    }
    if shape == "convex":
        face["radius"] = f"{dice.choice([20, 40, 90])} mm"
    return {
        "name": f"part-{dice.randrange(10**9)}",
        "alloy": dice.choice(list(METALS)),
        "start": {
            "defect": dice.choice(["machining-marks", "previous-grinding", "mill-surface"]),
            "depth": "0.02 mm",
            "roughness": f"{dice.choice([1.6, 2.5, 3.2])} um",
        },
        "features": [face],
        "finish": {
            "texture": dice.choice(["satin", "satin", "ground"]),
            "lay": "linear",
            "ra": [f"{low:.4f} um", f"{high:.4f} um"],
        },
        "cell": "robot-floor-stand",
        "batch": 50,
    }
