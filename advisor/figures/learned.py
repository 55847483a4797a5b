"""What a shop's own trials made of the published coefficients, and how a set-up finds what holds for it."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from advisor.knowledge.reference import Alloy, Band, Coefficient, Frozen, Grade, Media
from advisor.units import round_sig

#: What trials calibrate: the depth a step takes off, the roughness a grade leaves, the parts a media does.
Taught = Literal["removal", "roughness-floor", "wear"]
TAUGHT: tuple[Taught, ...] = ("removal", "roughness-floor", "wear")
#: Settings this many times beyond what was tried are an extrapolation, and the sheet says so.
STRETCH = 1.5
SETTINGS: Mapping[str, tuple[str, str]] = {
    "line_load": ("force per width", "N/mm"),
    "speed": ("surface speed", "m/s"),
    "feed": ("feed", "mm/s"),
    "grain": ("grain", "um"),
    "diameter": ("wheel", "mm"),
}

#: A factor is kept to the digits that a sheet writes, so that a sheet is made again from what it carries.
_DIGITS = 6
Kept = Annotated[float, AfterValidator(lambda value: round_sig(value, _DIGITS))]
KeptBand = Annotated[
    Band,
    AfterValidator(
        lambda band: Band(**{name: round_sig(value, _DIGITS) for name, value in band.model_dump().items()})
    ),
]
KeptWindow = tuple[Kept, Kept]

_COATED_RANGES = (
    (250.0, "P60 and coarser"), (120.0, "P80 to P120"), (58.0, "P150 to P240"), (25.0, "P280 to P600"),
    (0.0, "P800 and finer"),
)  # fmt: skip
_WEB_RANGES = ((150.0, "web, coarse"), (45.0, "web, medium to fine"), (0.0, "web, very fine"))
#: Of two scopes that fit, the one that names the earlier of these; the whole combination comes first.
_NARROWEST = ("alloy", "media", "family", "cell", "grades", "grain")
#: The coefficient that a learned factor moves, by the kind of abrasive; those that go with it stand still.
_DEPTH = {
    "coated": "specific_energy_80",
    "web": "web_depth_um",
    "compound": "buff_depth_um",
    "wire": "wire_depth_um",
}
_STILL: Mapping[Taught, tuple[str, ...]] = {
    "removal": ("force_ratio_80", "size_effect_exponent"),
    "roughness-floor": ("roughness_c", "pressure_exponent", "web_ra_um", "buff_ra_um"),
    "wear": ("usable_layer_share", "belt_length_m", "end_of_life_share"),
}


class LearnedFactor(Frozen):
    """What trials say of one coefficient in one scope: measured over predicted by the published one.

    `factor` with its 95 % band `low` to `high` is what the trials of the scope showed, on fresh media
    and the usual wheel; `prior_factor` what the next wider scope alone would have said. `next` is the
    5th, 50th and 95th percentile for the next part in the scope, which its sheet uses: wider, because
    parts differ and a new set-up may too. `tried` holds the lowest and highest settings that were
    tried; `latest` are ids of the newest trials.
    """

    coefficient: Taught
    scope: dict[str, str]
    trials: int
    factor: Kept
    low: Kept
    high: Kept
    prior_factor: Kept
    next: KeptBand
    tried: dict[str, KeptWindow] = Field(default_factory=dict)
    latest: tuple[str, ...] = ()

    def beyond(self, settings: Mapping[str, float]) -> tuple[str, ...]:
        """The settings more than 1.5 times beyond what was tried, in words.

        >>> row = LearnedFactor(coefficient="removal", scope={}, trials=3, factor=1.2, low=1, high=1.5,
        ...     prior_factor=1, next=Band(low=0.9, expected=1.2, high=1.6), tried={"speed": (20, 22)})
        >>> row.beyond({"speed": 30.0}), row.beyond({"speed": 34.0})
        ((), ('surface speed 34 m/s, tried 20 to 22',))
        """
        found = []
        for name, value in settings.items():
            low, high = self.tried.get(name, (value, value))
            if value > STRETCH * high or value < low / STRETCH:
                title, unit = SETTINGS[name]
                window = f"{low:.3g}" if f"{low:.3g}" == f"{high:.3g}" else f"{low:.3g} to {high:.3g}"
                found.append(f"{title} {value:.3g} {unit}, tried {window}")
        return tuple(found)

    @property
    def where(self) -> str:
        """The scope in words.

        >>> LearnedFactor(coefficient="wear", scope={"alloy": "s30400", "media": "belt"}, trials=3, factor=1,
        ...     low=1, high=1, prior_factor=1, next=Band(low=1, expected=1, high=1)).where
        'alloy s30400, media belt'
        """
        return ", ".join(f"{name} {value}" for name, value in self.scope.items()) or "all trials"


class Learned(Frozen):
    """All that a log taught, on top of one knowledge base."""

    knowledge: str
    trials: int
    factors: tuple[LearnedFactor, ...] = ()

    def fingerprint(self) -> str:
        """SHA-256 of the canonical JSON: one that was edited is noticed even where it touches no figure."""
        text = json.dumps(self.model_dump(mode="json"), sort_keys=True, ensure_ascii=False, separators=(",", ":"))
        return "sha256:" + hashlib.sha256(text.encode()).hexdigest()

    def fitting(self, scope: Mapping[str, str]) -> dict[Taught, LearnedFactor]:
        """For each coefficient what holds in a scope: the narrowest scope that fits."""
        found: dict[Taught, LearnedFactor] = {}
        for row in self.factors:
            if all(scope.get(name) == value for name, value in row.scope.items()):
                standing = found.get(row.coefficient)
                if standing is None or _narrowness(row) > _narrowness(standing):
                    found[row.coefficient] = row
        return found


def _narrowness(row: LearnedFactor) -> tuple[int, tuple[bool, ...]]:
    return len(row.scope), tuple(name in row.scope for name in _NARROWEST)


def scope_of_set_up(
    alloy: Alloy, media: Media, grain: str | None, grade: Grade | None, cell: str | None
) -> dict[str, str]:
    """What a learned factor's scope may name, for one set-up."""
    scope = {"family": alloy.family, "alloy": alloy.key, "media": media.key}
    if grain:
        scope["grain"] = grain
    if grade:
        scope["grades"] = grade_range(grade)
    if cell:
        scope["cell"] = cell
    return scope


def grade_range(grade: Grade) -> str:
    """The range of grades that one grade is learned together with.

    >>> grade_range(Grade(key="P180", name="P180", source=("fepa",), scale="P", um=82))
    'P150 to P240'
    """
    if grade.scale == "compound":
        return f"{grade.key} compound"
    ranges = _COATED_RANGES if grade.scale == "P" else _WEB_RANGES
    return next(name for least, name in ranges if grade.um >= least)


def calibrated(
    picked: Mapping[str, Coefficient], media: Media, factors: Mapping[Taught, LearnedFactor]
) -> dict[str, Coefficient]:
    """Coefficients by symbol with what was learned put in.

    A factor was measured with all its companions at their expected values, so its spread stands for
    theirs too and they stand still. Removal is learned on the specific energy (the force ratio
    cannot be told from it by depths alone), roughness on the factor of the alloy.
    """
    found = dict(picked)
    for taught, factor in factors.items():
        symbol = moved(taught, media, picked)
        if symbol is None:
            continue
        for still in _STILL[taught]:
            if still in found and still != symbol:
                row = found[still]
                found[still] = _with_band(row, (row.band.expected,) * 3, f"{row.key}, held")
        row, band = found[symbol], factor.next
        times = (band.low, band.expected, band.high)
        if symbol == "specific_energy_80":  # more energy for the same metal is less depth
            times = (1.0 / band.high, 1.0 / band.expected, 1.0 / band.low)
        low, expected, high = (row.band.expected * each for each in times)
        found[symbol] = _with_band(row, (low, expected, high), f"{row.key}, learned for {factor.where}")
    return found


def moved(taught: Taught, media: Media, picked: Mapping[str, Coefficient]) -> str | None:
    """The symbol that a learned factor moves for a media; None where its formula has none."""
    if taught == "removal":
        symbol = _DEPTH.get(media.abrasive, "specific_energy_80")
    elif taught == "roughness-floor":
        symbol = "alloy_roughness_factor"
    else:
        symbol = next((name for name in ("wheel_wear_ratio", "g_ratio", "life_spread") if name in picked), "")
        if symbol == "g_ratio" and (media.form, media.abrasive) != ("belt", "coated"):
            symbol = "life_spread"
    return symbol if symbol in picked else None


def _with_band(row: Coefficient, band: tuple[float, float, float], key: str) -> Coefficient:
    low, expected, high = band
    return row.model_copy(update={"band": Band(low=low, expected=expected, high=high), "key": key})
