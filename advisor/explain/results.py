"""What a step does to the face, as terms that start from what the step before has left."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from advisor.explain.cutting import Cutting
from advisor.explain.terms import SOURCES, Term, Terms
from advisor.figures.effect import rougher
from advisor.numbers.path_draws import LONGEST
from advisor.process import roughness
from advisor.process.real import Real, positive_part, power, smaller
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.surface import PlannedStep
from advisor.sheet.explain import Explainer


@dataclass(frozen=True, slots=True)
class Results:
    """The terms of one step of a path, with those of the steps before it."""

    desk: FeatureDesk
    path: Sequence[PlannedStep]
    row: int
    explain: Explainer

    @property
    def step(self) -> PlannedStep:
        """The planned step."""
        return self.path[self.row]

    @property
    def terms(self) -> Terms:
        """Makes the terms, with the coefficients that hold for the step."""
        candidate = self.step.candidate
        return Terms(self.explain, self.desk.picked(candidate.tool.media, candidate.grain, candidate.grade))

    @property
    def cutting(self) -> Cutting:
        """The terms that follow from the set-up alone."""
        return Cutting(self.step, self.terms)

    def _before(self) -> Results | None:
        return Results(self.desk, self.path, self.row - 1, self.explain) if self.row else None

    # ------------------------------------------------------------------ depth
    def passes(self) -> Term:
        """How often each spot is gone over."""
        return Terms.given("passes", "N", "1", self.step.passes)

    def removal(self) -> Term:
        """The depth that the planned passes take."""
        step, cutting = self.step, self.cutting
        depth = cutting.depth(cutting.feed())
        if step.local:
            planned = Terms.given(
                "depth of a pass as planned", "y", "um", depth.value, "With every coefficient as expected."
            )
            taken = Terms.given(
                "what the passes level of the strip", "Y", "um", step.removal * 1e6,
                f"{step.passes} passes draw the burr of {step.before.remaining * 1e3:.3g} mm off its edge."
                if self.on_edge
                else f"{step.passes} passes bring the strip from {step.before.remaining * 1e3:.3g} mm down, the wheel "
                "sharing its force between strip and face once it touches the face.",
            )  # fmt: skip
            return Terms.formula(
                "strip_removal", "removal", "h", "um", "Y * z / y", lambda t, z, y: t * z / y, (taken, depth, planned),
                "What is levelled goes with the depth of a pass.", SOURCES["strip"],
            )  # fmt: skip
        return Terms.formula(
            "removal", "removal", "h", "um", "N * z * x", lambda n, z, x: n * z * x,
            (self.passes(), depth, cutting.lap()),
            "Passes times the depth of one, times how often a pass meets each spot.", SOURCES["depth_per_pass"],
        )  # fmt: skip

    def remaining(self) -> Term | None:
        """What is left of the defect; None for a step that clears none."""
        if self.step.kind != "clear":
            return None
        before = Terms.given("depth of the defect before", "Z", "um", self.step.before.remaining * 1e6)
        return Terms.formula(
            "remaining", "left of the defect", "L", "um", "max(0, Z - h)", lambda z, h: positive_part(z - h),
            (before, self.removal()), "What the passes do not take is left.", SOURCES["depth_per_pass"],
        )  # fmt: skip

    # ------------------------------------------------------------------ roughness
    def ra(self) -> Term:
        """The roughness after the step."""
        floor = self.cutting.floor()
        if floor is None:
            return self._found()
        if self.step.kind != "blend":
            return floor
        found, valley = self._found(), self._valley()
        decay = Terms.formula(
            "decay_depth", "depth of the decay", "j", "um", "K * V", lambda k, v: k * v,
            (self.terms.coefficient("decay_kappa", "K"), valley),
            "Over this depth the difference to the floor falls to about a third.", ("from-memory",),
        )  # fmt: skip
        return Terms.formula(
            "ra_after", "Ra", "Ra", "um", "Rf + (Rb - Rf) * exp(-h / j)",
            lambda f, b, h, j: f + (b - f) * power(math.e, -h / j), (floor, found, self.removal(), decay),
            "The roughness falls from what was found toward the floor of the media as depth comes off.",
            SOURCES["ra_after"],
        )  # fmt: skip

    def rz(self) -> Term:
        """The mean height of the roughness after the step."""
        ra = self.ra()
        return Terms.formula(
            "rz", "Rz", "Rz", "um", f"i * {ra.symbol}", lambda i, r: i * r,
            (self.terms.coefficient("rz_over_ra", "i"), ra), "No fixed relation exists; a ratio stands for it.",
            ("common-practice",),
        )  # fmt: skip

    def _found(self) -> Term:
        """The roughness that the step finds."""
        before = self._before()
        if before is None:
            return Terms.given(
                "Ra found", "Rb", "um", self.step.before.ra * 1e6, "The surface as it arrives."
            )
        if before.on_edge:
            return before._found()
        left = before.ra()
        if before.beside:
            beside = before._found()
            return Terms.formula(
                "rougher", "Ra found", "Rb", "um", f"max({left.symbol}, {beside.symbol})", rougher, (left, beside),
                "Beside the track that was cleared the face is as it was; the rougher of both counts.",
                ("own-estimate",),
            )  # fmt: skip
        return Terms.formula(
            "found", "Ra found", "Rb", "um", left.symbol, lambda r: r, (left,),
            f"What step {self.row} has left.", ("own-estimate",),
        )  # fmt: skip

    def _valley(self) -> Term:
        """Peak to valley of the scratch that the step finds."""
        before = self._before()
        if before is None:
            return Terms.given("height of the scratch found", "V", "um", self.step.before.rt * 1e6)
        if before.on_edge:
            return before._valley()
        left = before.ra()
        own = Terms.formula(
            "peak_to_valley", "height of the scratch found", "V", "um", f"r * {left.symbol}", lambda r, a: r * a,
            (before.terms.coefficient("rt_over_ra", "r"), left), "The deepest scratch is several times Ra.",
            ("common-practice",),
        )  # fmt: skip
        if not before.beside:
            return own
        beside = before._valley()
        return Terms.formula(
            "rougher", "height of the scratch found", "V", "um", "max(V1, V2)", rougher,
            (_named(own, "V1"), _named(beside, "V2")), "The rougher of track and face counts.", ("own-estimate",),
        )  # fmt: skip

    @property
    def on_edge(self) -> bool:
        """Whether only a burr was drawn off its edge: the face behind is as it was."""
        return self.step.candidate.setup.on_edge

    @property
    def beside(self) -> bool:
        """Whether the face beside a track was left as it was."""
        step = self.step
        return (
            step.defect is not None
            and self.desk.knowledge.tables.defects[step.defect].local
            and step.after.remaining == 0.0
        )

    # ------------------------------------------------------------------ time
    def time(self) -> Term:
        """The time of the step for one part."""
        fixed = self.terms.coefficient("step_seconds", "t")
        return Terms.formula(
            "step_time", "time", "T", "s", "t + tc * s", lambda t, c, s: t + c * s,
            (fixed, self._cutting(), self._stretch()),
            "A fixed time for approach, turning and a look, and the time on the metal.", SOURCES["step_time"],
        )  # fmt: skip

    def _cutting(self) -> Term:
        step, cutting = self.step, self.cutting
        local = step.defect is not None and self.desk.knowledge.tables.defects[step.defect].local
        if step.kind == "clear" and local:
            text = f"{step.passes} passes along the {str(step.defect).replace('-', ' ')} at {step.feed * 1e3:.3g} mm/s."
            return Terms.given("time on the metal as planned", "tc", "s", step.cutting, text)
        area = Terms.given("area", "A", "cm2", self.desk.area_cm2)
        return Terms.formula(
            "area_time", "time on the metal as planned", "tc", "s", "100 * N * A / (a * f)",
            lambda n, a, o, f: 100 * n * a / (o * f), (self.passes(), area, cutting.step_over(), cutting.feed()),
            "Passes over the area, a step over and a feed at a time.", SOURCES["step_time"],
        )  # fmt: skip

    def _stretch(self) -> Term:
        """How much longer than planned the step may need, where metal is harder to cut than expected."""
        step = self.step
        if step.kind == "blend":
            return Terms.given("longer than planned", "s", "1", 1.0, "A blend takes its passes and no more.")
        least = (
            max(1.0, step.received["passes"].low)
            / step.passes
            * step.feed
            / step.candidate.setup.fastest_feed
        )
        fewest = Terms.given(
            "shortest share of the plan", "s0", "1", least, "As few passes and as fast a feed as both may go."
        )
        return Terms.formula(
            "stretch", "longer than planned", "s", "1", f"max(s0, min({LONGEST:g}, G / h))", _longer,
            (fewest, self.need(), self.removal()),
            "Where the passes take less than they must, more are needed; more than four times is another plan.",
            ("own-estimate",),
        )  # fmt: skip

    def need(self) -> Term:
        """The depth that has to come off."""
        step, terms = self.step, self.terms
        floor = self.cutting.floor()
        if step.kind != "erase" or floor is None:
            return Terms.given("stock that has to come off", "G", "um", step.need * 1e6)
        mirror = self.desk.feature.finish.texture == "mirror"
        own = Terms.formula(
            "peak_to_valley", "height of its own scratch", "v", "um", f"r * {floor.symbol}", lambda r, a: r * a,
            (terms.coefficient("rt_over_ra", "r"), floor), "The deepest scratch is several times Ra.",
            ("common-practice",),
        )  # fmt: skip
        valley = self._valley()
        layer = (
            Terms.formula(
                "disturbed_layer", "disturbed layer", "Q", "um", "y * V", lambda y, v: y * v,
                (terms.coefficient("disturbed_layer_factor", "y"), valley), "Before a mirror it has to go as well.",
                ("own-estimate",),
            )
            if mirror
            else Terms.given("disturbed layer", "Q", "um", 0.0, "It only matters before a mirror.")
        )  # fmt: skip
        left = Terms.given("left standing by the step before", "J", "um", step.before.left * 1e6)
        return Terms.formula(
            "stock_to_erase", "stock that has to come off", "G", "um", "max(M * (V - v) + Q, W * v, J)",
            lambda m, big, small, q, w, j: rougher(roughness.stock_to_erase(big, small, m, q, w), j),
            (
                terms.coefficient("erase_multiple_mirror" if mirror else "erase_multiple", "M"), valley, own, layer,
                terms.coefficient("own_share", "W"), left,
            ),
            "The scratch found has to go, and the step has to lay its own.", SOURCES["stock_to_erase"],
        )  # fmt: skip


def _longer(fewest: Real, need: Real, removal: Real) -> Real:
    share = smaller(need / (removal + (removal <= 0)), LONGEST + 0.0 * removal)
    return share + positive_part(fewest - share)


def _named(term: Term, symbol: str) -> Term:
    return Term(
        term.name, symbol, term.unit, term.value, term.text, term.formula, term.equation, term.compute, term.inputs,
        term.coefficient, term.sources,
    )  # fmt: skip
