"""Faces curved both ways, crowned wheels and grooved ones: what of the wheel touches, and with how much force."""

from __future__ import annotations

from dataclasses import replace

from advisor.figures.coefficients import Values
from advisor.figures.pressing import pressing
from advisor.figures.setup import Lands, Setup
from advisor.job.model import Feature
from advisor.knowledge.reference import WheelFace
from advisor.process.contact import relative_radius
from advisor.process.elliptic import touching_width

#: The curve across is taken the same way as the curve along: a dome is round both ways, a cup hollow both ways.
_FLAT_WHEEL = float("inf")


def lands_of(face: WheelFace) -> Lands | None:
    """The lands of a wheel's face in SI; None where it is plain or nobody knows them."""
    if face.land_share is None or face.land_width_mm is None or face.groove_depth_mm is None:
        return None
    return Lands(face.land_share, face.land_width_mm / 1e3, face.groove_depth_mm / 1e3)


def radius_across(feature: Feature, crown_mm: float | None) -> float | None:
    """The relative radius (m) of face and wheel in the plane of the axle; None where the wheel lies flat there.

    None too in a cup that the wheel's width spans: it touches on its borders, and no law here holds for that.
    """
    curve = feature.cross_radius_mm if feature.shape in ("convex", "concave") else None
    if crown_mm is None:
        return curve / 1e3 if curve is not None and feature.shape == "convex" else None
    radius = float(relative_radius(crown_mm / 1e3, curve / 1e3 if curve else None, feature.shape))
    return None if radius == _FLAT_WHEEL else radius


def on_a_spot(setup: Setup, across: float, values: Values, least: float, most: float) -> Setup:
    """The set-up with the width that really touches, where that is less than the wheel's.

    The force per touching width stays as decided, so the force falls with the width; it is raised to what the
    compliant tool holds at least (`least`, N) as far as the window of the force per width goes (`most`, N/m).
    """
    wheel = pressing(setup, values)
    if wheel is None or wheel.radius == float("inf"):
        return setup
    width = float(touching_width(setup.line_load, wheel.radius, across, wheel.modulus))
    if width >= setup.contact_width:
        return setup
    force = setup.line_load * width  # grows with the power of 1.5 of the force per width
    load = setup.line_load
    if force < least:
        load = min(max(most, load), load * (least / force) ** (2.0 / 3.0))
        width = float(touching_width(load, wheel.radius, across, wheel.modulus))
        if width >= setup.contact_width:
            return setup
    return replace(setup, across=across, contact_width=width, line_load=load)
