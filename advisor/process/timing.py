"""How long a step takes, and how whole passes and the feed are trimmed to the stock that must go."""

from __future__ import annotations

import math

from advisor.process.real import Real


def step_over(wheel_width: Real, overlap: Real) -> Real:
    """The shift (m) from one stroke to the next for a wheel width (m) and an overlap (share, 0 to below 1).

    >>> step_over(0.05, 0.5)
    0.025
    """
    return wheel_width * (1.0 - overlap)


def strokes_across(width: float, step_over: float) -> int:
    """How many whole strokes cover a face of `width` (m) at a `step_over` (m, above zero); at least one.

    >>> strokes_across(0.120, 0.025), strokes_across(0.1, 0.025)
    (5, 4)
    """
    return max(1, math.ceil(width / step_over - 1e-9))


def stroke_length(length: Real, run_in: Real, run_out: Real) -> Real:
    """The path (m) of one stroke over a feature of `length` (m) with the run on and off it (m).

    Without a run the media dwells on the ends and dishes them.

    >>> round(stroke_length(0.200, 0.030, 0.030), 6)
    0.26
    """
    return length + run_in + run_out


def area_time(area: Real, step_over: Real, feed: Real, passes: Real) -> Real:
    """The cutting time (s) for `passes` over an area (m2): passes A / (step-over feed), m and m/s.

    Turning at the ends and the approach are the fixed time of `step_time`. Source: geometry.

    300 cm2, 25 mm step-over, 60 mm/s, four passes:

    >>> round(area_time(0.03, 0.025, 0.060, 4), 6)
    80.0
    """
    return passes * area / (step_over * feed)


def strip_time(length: Real, feed: Real, passes: Real) -> Real:
    """The cutting time (s) for `passes` along a strip of `length` (m) at a feed (m/s). Source: geometry.

    >>> strip_time(0.3, 0.030, 5)
    50.0
    """
    return passes * length / feed


def step_time(cutting_time: Real, fixed_time: Real) -> Real:
    """The time (s) of a step for one part: cutting plus what every step costs (approach, turn, inspect).

    The fixed time is a coefficient, about 8 s (our own estimate); without it steps look free.

    >>> step_time(80.0, 8.0)
    88.0
    """
    return cutting_time + fixed_time


def whole_passes(need: float, depth: float) -> int:
    """The whole passes that take off at least `need` (m) at `depth` (m) a pass; none where nothing is needed.

    Raises ValueError where the depth is not above zero, because no number of passes would do.

    >>> whole_passes(30e-6, 11e-6), whole_passes(0.0, 11e-6)
    (3, 0)
    """
    if need <= 0:
        return 0
    if not depth > 0:
        raise ValueError(f"a pass must remove something, depth {depth} m")
    return math.ceil(need / depth - 1e-9)


def trimmed_feed(feed: Real, passes: Real, depth: Real, need: Real) -> Real:
    """The feed (m/s) at which whole `passes` take off exactly `need`: feed passes depth / need.

    `depth` (m) is that of one pass at the given `feed`; depth goes with one over the feed. The
    caller holds the result against the cell's window. Source: the removal law.

    >>> round(trimmed_feed(0.040, 3, 11e-6, 30e-6), 6)
    0.044
    """
    return feed * passes * depth / need
