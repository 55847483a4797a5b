"""The tries of one step together: each set up again, and what they tell of this job's own numbers."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

from advisor.figures.coefficients import Values
from advisor.figures.effect import whole_valley
from advisor.process import roughness
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.surface import PlannedStep
from advisor.trials.bench import Bench
from advisor.trials.cloud import SLIP, Cloud, Surface
from advisor.trials.log import Log
from advisor.trials.model import Trial
from advisor.trials.run import Barred, Run, SetUp, run
from advisor.trials.setting_up import asked_of

MICRON = 1e-6
#: Less than this share of the depth that had to go is too little. Own estimate.
ENOUGH = 0.9
#: Readings of so many tries count beside that of the trial itself. More say nothing new of the shop of today,
#: and the belt, the wheel and the gauge of long ago were others.
MOST_HEARD = 30


@dataclass(frozen=True)
class Case:
    """A trial, the other tries of the same step of the same job (oldest first), and the base of the next try."""

    bench: Bench
    tries: tuple[Trial, ...]

    @property
    def trial(self) -> Trial:
        """The trial that is asked about."""
        return self.bench.trial

    @property
    def desk(self) -> FeatureDesk:
        """What stays the same while the feature is planned."""
        return self.bench.plan.desk

    @cached_property
    def step(self) -> PlannedStep:
        """The planned step, on the surface that this part really came with."""
        return _as_it_came(self.bench.step, self.trial, self.desk)

    def ran(self, trial: Trial) -> Run | Barred:
        """A try of this step set up again."""
        if trial.id not in self._ran:
            self._ran[trial.id] = self.run_of(self.asked(trial), trial)
        return self._ran[trial.id]

    def asked(self, trial: Trial) -> SetUp:
        """What a try of this step set, by decision."""
        return asked_of(trial, self.bench.step, self.desk)

    @cached_property
    def _ran(self) -> dict[str, Run | Barred]:
        return {}

    @property
    def base(self) -> Run | Barred:
        """The trial itself set up again: what the next try starts from."""
        return self.ran(self.trial)

    def run_of(self, asked: SetUp, trial: Trial | None = None) -> Run | Barred:
        """A set-up on the wheel as it is today."""
        return run(self.desk, self.step, asked, (trial or self.trial).used.wheel_diameter_mm)

    def values(self, one: Run) -> Values:
        """The expected coefficients of a set-up."""
        return self.desk.expected(one.tool.media, one.grain, one.grade)

    def need_um(self, one: Run) -> float | None:
        """The depth (um) that must come off in the step.

        None where the step lays a texture over what it finds, and for a step of one's own before the first:
        nobody planned how much of the defect it should take.
        """
        if self.trial.extra and self.bench.place == 0:
            return None
        step, values = self.step, self.values(one)
        if step.kind == "clear":
            return step.need / MICRON
        if one.tool.media.blends or one.effect.floor_ra is None:
            return None
        mirror = self.desk.feature.finish.texture == "mirror"
        multiple = values["erase_multiple_mirror" if mirror else "erase_multiple"]
        disturbed = (
            roughness.disturbed_layer(step.before.rt, values["disturbed_layer_factor"]) if mirror else 0.0
        )
        own = whole_valley(one.effect.floor_ra, values)
        stock = roughness.stock_to_erase(step.before.rt, own, multiple, disturbed, values["own_share"])
        return max(float(stock), step.before.left) / MICRON

    @cached_property
    def cloud(self) -> Cloud:
        """The shops that could be this one, weighed by the readings of the tries."""
        cloud = Cloud(self.desk, self.step)
        for trial in self._heard():
            one = self.ran(trial)
            if isinstance(one, Barred):
                continue
            values, measured = self.values(one), trial.measured
            if measured.ra_um:
                rough = cloud.ra(one, self._found(cloud, trial.incoming.grade, trial.incoming.ra_um))
                if rough is not None:
                    cloud.learn(rough, measured.ra_um, float(values["ra_reading_spread"]))
            if measured.removal_um:
                cloud.learn(cloud.removal(one), measured.removal_um, float(values["removal_reading_spread"]))
        return cloud

    def _heard(self) -> tuple[Trial, ...]:
        """The tries whose readings count: the newest, and the one that is asked about."""
        newest = [trial for trial in self.tries if trial.id != self.trial.id][-MOST_HEARD:]
        return (*newest, self.trial)

    def _found(self, cloud: Cloud, grade: str | None, ra_um: float | None) -> Surface:
        """What a try found: as it was measured, as another grade left it, or as the plan says."""
        if (grade, ra_um) not in self._surfaces:
            path = self.bench.plan.path[: self.bench.place]
            other = self.before_with(grade) if grade is not None else None
            if ra_um is not None:
                surface = cloud.measured(ra_um, self.step)
            elif isinstance(other, PlannedStep):
                surface = cloud.found([*path[:-1], other], until_clean=True)
            elif path:
                surface = cloud.found(path)
            else:
                surface = cloud.measured(self.step.before.ra / MICRON, self.step)
            self._surfaces[grade, ra_um] = surface
        return self._surfaces[grade, ra_um]

    @cached_property
    def _surfaces(self) -> dict[tuple[str | None, float | None], Surface]:
        return {}

    def before_with(self, grade: str) -> PlannedStep | Barred | None:
        """The step before with another grade, where there is one and the rules and limits let it."""
        before = self.bench.before
        if before is None or before.candidate.grade is None:
            return None
        asked = {key: value for key, value in before.candidate.values.items() if value is not None}
        for key in ("handling", "pressure", "accepts", "jump"):
            asked.pop(key, None)
        one = run(self.desk, before, {**asked, "grade": grade, "passes": float(before.passes)})
        if isinstance(one, Barred) or one.obstacles:
            return Barred(one.obstacles)
        candidate = replace(
            before.candidate, grade=one.grade, grain=one.grain, setup=one.setup, effect=one.effect
        )
        return replace(before, candidate=candidate)

    def expected_ra(self, one: Run, before: str | None = None) -> tuple[float, float] | None:
        """The roughness (um) expected of a set-up after all tries, and the spread of its logarithm.

        `before` is another grade of the step before than this trial found.
        """
        incoming = self.trial.incoming
        grade, ra = (before, None) if before is not None else (incoming.grade, incoming.ra_um)
        modelled = self.cloud.ra(one, self._found(self.cloud, grade, ra))
        return None if modelled is None else self.cloud.outlook(modelled)

    def expected_removal(self, one: Run) -> tuple[float, float]:
        """The depth (um) expected of a set-up after all tries, and the spread of its logarithm."""
        return self.cloud.outlook(self.cloud.removal(one))

    def slips(self, one: Run) -> Iterator[tuple[Literal["roughness", "removal"], float, float]]:
        """Readings (um) of this trial that cannot be of this set-up, with what was expected instead.

        They lie farther off than what is expected and the error of a reading allow together.
        """
        values, measured = self.values(one), self.trial.measured
        for what, reading, expected, noise in (
            ("roughness", measured.ra_um, self.expected_ra(one), values["ra_reading_spread"]),
            ("removal", measured.removal_um, self.expected_removal(one), values["removal_reading_spread"]),
        ):
            if not reading or expected is None or expected[0] <= 0:
                continue
            spread = math.hypot(expected[1], float(noise))
            if abs(math.log(reading / expected[0])) > SLIP * spread:
                yield ("roughness" if what == "roughness" else "removal"), reading, expected[0]


def open_case(bench: Bench, log: Log) -> Case:
    """The trial with every standing try of its step; the trial itself counts even where it was corrected."""
    others = [trial for trial in log.standing if same_work(trial, bench.trial) and trial.id != bench.trial.id]
    return Case(bench, tuple(sorted([*others, bench.trial], key=lambda trial: trial.when)))


def same_work(one: Trial, other: Trial) -> bool:
    """Whether two trials tried the same step of the same face of the same job."""
    if (one.job.name, one.job.alloy, one.feature, one.step, one.extra) != (
        other.job.name, other.job.alloy, other.feature, other.step, other.extra
    ):  # fmt: skip
        return False
    first, second = one.face, other.face
    return (first.shape, first.radius_mm, first.finish) == (second.shape, second.radius_mm, second.finish)


def _as_it_came(step: PlannedStep, trial: Trial, desk: FeatureDesk) -> PlannedStep:
    """The step on the surface that was really found: its depth where it clears, its roughness everywhere."""
    incoming, candidate = trial.incoming, step.candidate
    if incoming.ra_um is not None:
        values = desk.expected(candidate.tool.media, candidate.grain, candidate.grade)
        ra = incoming.ra_um * MICRON
        step = replace(step, before=replace(step.before, ra=ra, rt=float(whole_valley(ra, values))))
    if incoming.depth_mm is not None and step.kind == "clear" and step.before.stage == "start":
        more = incoming.depth_mm / 1e3 - step.before.remaining
        need = max(step.need + more, step.need * 0.1)
        step = replace(step, need=need)
    return step
