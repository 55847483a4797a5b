"""How media come on to a face and leave it: run-up to the feed, ramp of the force, order of touching down."""

from __future__ import annotations

from advisor.process.real import Real


def run_up(feed: Real, acceleration: Real) -> Real:
    """The path (m) in which a robot reaches its `feed` (m/s) from rest: v^2 / (2 a).

    `acceleration` a (m/s2, above zero) is that of the path under load. The media must not touch before
    the feed is reached, since a slow contact cuts deeper: depth goes with one over the feed. The same
    path is needed to stop. Source: mechanics.

    100 mm/s at 1 m/s2:

    >>> round(run_up(0.100, 1.0), 6)
    0.005
    """
    return feed * feed / (2.0 * acceleration)


def lead_length(run_up: Real, half_contact: Real, clearance: Real) -> Real:
    """How far off the face (m) a stroke begins or ends: run-up, half the contact, and a `clearance` (m).

    `half_contact` is half the length of the contact along the stroke (m): the media touches that much
    ahead of its own middle, which the path is written for. Source: geometry.

    >>> round(lead_length(0.005, 0.007, 0.005), 6)
    0.017
    """
    return run_up + half_contact + clearance


def ramp_length(feed: Real, ramp_time: Real) -> Real:
    """The path (m) on which the force goes from touching to its set-point, or back: v t.

    `ramp_time` t (s) is what a force-controlled tool needs to build the force up without overshoot.
    Neighbouring strokes should not ramp in the same place. Source: kinematics.

    >>> round(ramp_length(0.100, 0.2), 6)
    0.02
    """
    return feed * ramp_time
