"""What a serrated wheel changes: the same force rests on less rubber, and the lands give way by themselves."""

from __future__ import annotations

from advisor.process.real import Real, mostly, smaller

FEW_LANDS = "The contact is shorter than one land and its groove, so the pressure swings as the lands pass."


def land_pressure(pressure: Real, land_ratio: Real) -> Real:
    """The mean pressure (Pa) on the lands of a serrated wheel: p / phi.

    phi is the land over land and groove, above 0 and at most 1. The same force rests on less rubber,
    so a serrated wheel cuts harder than a plain one. Source: statics.

    >>> land_pressure(66.5e3, 0.5)
    133000.0
    """
    return pressure / land_ratio


def serrated_modulus(
    young: Real, shape_constant: Real, land_width: Real, groove_depth: Real, land_ratio: Real
) -> Real:
    """The modulus (Pa) with which a serrated face gives way, smeared over lands and grooves.

    phi (4/3) E0 (1 + k S^2) with the shape factor S = land width / (2 groove depth) of a long strip
    (m over m) and the shape constant k of the rubber (0.85 at 40 to 0.53 at 70 IRHD). It acts over
    the depth of the groove, in series with the solid cover below. Source: Gent and Lindley 1959,
    from memory.

    >>> round(serrated_modulus(2.20e6, 0.73, 0.010, 0.008, 0.5) / 1e6, 4)
    1.8849
    """
    shape = land_width / (2.0 * groove_depth)
    return land_ratio * (4.0 / 3.0) * young * (1.0 + shape_constant * shape * shape)


def grooved_share(shape_constant: Real, land_width: Real, groove_depth: Real, land_ratio: Real) -> Real:
    """The plane modulus of lands and grooves over that of the solid rubber: phi (1 + k S^2), at most 1.

    A land between its grooves gives way as (4/3) E0 (1 + k S^2), a solid cover as E* = (4/3) E0, so this is
    `serrated_modulus` over E*. Arguments as there. Wide low lands of a large share would come out above the
    solid cover, which they cannot: `land_flags`. Source: Gent and Lindley 1959, from memory.

    >>> round(grooved_share(0.73, 0.010, 0.008, 0.5), 4)
    0.6426
    """
    shape = land_width / (2.0 * groove_depth)
    return smaller(land_ratio * (1.0 + shape_constant * shape * shape), 1.0 + 0.0 * land_ratio)


def grooved_cover(share: Real, groove_depth: Real, cover_thickness: Real) -> Real:
    """The plane modulus of a grooved cover over that of a solid one of the same rubber (0 to 1).

    Lands and the solid rubber below them are springs one behind the other:
    1 / (1 + (d / h) (1 / g - 1)) with the groove depth d, the whole cover's thickness h (m, at least d) and
    g of `grooved_share`. Raises ValueError for a groove deeper than the cover. Source: statics.

    8 mm grooves in a 20 mm cover:

    >>> round(grooved_cover(0.6426, 0.008, 0.020), 3)
    0.818
    """
    if mostly(groove_depth > cover_thickness):
        raise ValueError(f"a groove of {groove_depth} m does not fit into a cover of {cover_thickness} m")
    return 1.0 / (1.0 + groove_depth / cover_thickness * (1.0 / share - 1.0))


def land_flags(half_width: Real, width: Real, land_width: Real, land_ratio: Real) -> tuple[str, ...]:
    """The doubt about a pressure spread evenly over lands where the contact holds less than one and its groove.

    The contact of `half_width` by `width` (m) meets grooves laid at 45 degrees, the usual angle, every
    land_width / land_ratio (m) along either side. `land_ratio` above 0 and at most 1, otherwise ValueError.

    >>> land_flags(2e-3, 5e-3, 10e-3, 0.5) == (FEW_LANDS,), land_flags(7.5e-3, 50e-3, 10e-3, 0.5)
    (True, ())
    """
    if mostly(land_ratio <= 0.0) or mostly(land_ratio > 1.0):
        raise ValueError(f"lands take a share above 0 and at most 1 of the face, given {land_ratio}")
    return (FEW_LANDS,) if mostly(2.0 * half_width + width < land_width / land_ratio) else ()
