"""What each trial says of a coefficient: the logarithm of measured over predicted, with where it holds."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from advisor.figures.learned import Taught, moved, scope_of_set_up
from advisor.figures.media_life import media_life
from advisor.learning.bench import Bench, Rig
from advisor.process import roughness, timing
from advisor.trials.model import Trial

MICRON = 1e-6
#: Of the scratch found, at most this share may be left, or the reading says nothing of the floor.
MOST_LEFT = 0.3


@dataclass(frozen=True, slots=True)
class Reading:
    """One measured figure against its prediction (um, or parts of one media).

    `scope` names alloy, family, media, grain, grades and cell. `age` is the share of its life that the
    media had behind it, `diameter` the logarithm of the wheel over the cell's own; both are 0 where
    nobody wrote them down (`age_known` False). `settings` may not be stretched too far. `row` is the key
    of the coefficient's row that would have to move.
    """

    coefficient: Taught
    trial: str
    when: tuple[str, str, str]
    measured: float
    predicted: float
    scope: Mapping[str, str]
    settings: Mapping[str, float]
    age: float = 0.0
    age_known: bool = False
    diameter: float = 0.0
    row: str | None = None

    @property
    def log_ratio(self) -> float:
        """The logarithm of measured over predicted."""
        return math.log(self.measured / self.predicted)


@dataclass(frozen=True, slots=True)
class Unread:
    """A measured figure that says nothing of its coefficient, and why."""

    coefficient: Taught
    trial: str
    why: str


@dataclass(frozen=True, slots=True)
class Readings:
    """Everything that a log says of the coefficients, and what was measured in vain."""

    readings: tuple[Reading, ...]
    unread: tuple[Unread, ...]

    def of(self, coefficient: Taught) -> tuple[Reading, ...]:
        """The readings of one coefficient, in the order of the log."""
        return tuple(item for item in self.readings if item.coefficient == coefficient)


Measured = tuple[float, float] | str  # measured and predicted, or why there is nothing to compare


def read(trials: Iterable[Trial], bench: Bench) -> Readings:
    """The readings of some trials, in the order given."""
    found: list[Reading] = []
    unread: list[Unread] = []
    for trial in trials:
        for coefficient, outcome, rig in _of_trial(trial, bench):
            if isinstance(outcome, str) or rig is None:
                unread.append(Unread(coefficient, trial.id, str(outcome)))
            else:
                found.append(_reading(coefficient, trial, rig, outcome, bench))
    return Readings(tuple(found), tuple(unread))


def _of_trial(trial: Trial, bench: Bench) -> Iterator[tuple[Taught, Measured, Rig | None]]:
    measured = trial.measured
    if measured.removal_um is None and measured.ra_um is None and measured.parts_per_media is None:
        return
    rig = bench.rig(trial)
    unknown = "the tables hold no such set-up: media, grain and grade do not go together"
    absent = [name for name in ("media", "grain", "grade") if getattr(trial.used, name) is None]
    if rig is None and absent:
        unknown = f"not written down under 'used': {', '.join(absent)}"
    if measured.removal_um is not None:
        yield "removal", _removal(trial, rig, bench, measured.removal_um) if rig else unknown, rig
    if measured.ra_um is not None:
        yield "roughness-floor", _floor(trial, rig, bench, measured.ra_um) if rig else unknown, rig
    if measured.parts_per_media is not None:
        yield "wear", _parts(trial, rig, bench, measured.parts_per_media) if rig else unknown, rig


def _removal(trial: Trial, rig: Rig, bench: Bench, measured: float) -> Measured:
    predicted = predicted_removal(trial, rig, bench)
    if predicted is None and _is_strip(trial, rig, bench):
        return "a strip that the advisor would level with other media: there is no plan to hold it against"
    if predicted is None:
        return "force, speed, feed or number of passes was not written down, so the depth cannot be predicted"
    if predicted <= 0:
        return "at this force the grain should only have rubbed: there is no depth to compare with"
    if measured <= 0:
        return "nothing came off: no factor can be drawn from that"
    return measured, predicted


def predicted_removal(trial: Trial, rig: Rig, bench: Bench) -> float | None:
    """The depth (um) that the published coefficients foresee for the settings used; None where one lacks.

    A strip that stands proud is held against the advisor's own plan for it, carried to the force,
    speed, feed and passes that were used; everything else is calculated from the set-up.
    """
    used, setup = trial.used, rig.setup
    if used.passes is None or ("force_n" in rig.completed and rig.effect.fixed_depth is None):
        return None
    if _is_strip(trial, rig, bench):
        step = bench.planned(trial)
        if step is None or not step.local:
            return None
        drive = setup.force * setup.speed / setup.feed
        planned = step.candidate.setup.force * step.candidate.setup.speed / step.feed
        fair = rig.depth / float(rig.effect.depth(setup.feed))
        return step.removal / MICRON * used.passes / step.passes * drive / planned * fair
    if "feed_mm_s" in rig.completed or "surface_speed_m_s" in rig.completed:
        return None
    return (
        used.passes * rig.depth / (1.0 - setup.overlap) / MICRON
    )  # overlapping strokes meet a spot more often


def _is_strip(trial: Trial, rig: Rig, bench: Bench) -> bool:
    """Whether the step levels something that stands proud of the face."""
    row = bench.knowledge.tables.defects[trial.incoming.defect or trial.face.start.defect]
    return rig.facts.get("stage") == "clear" and row.local and row.kind == "proud"


def _floor(trial: Trial, rig: Rig, bench: Bench, measured: float) -> Measured:
    """The floor that a measured roughness means, against the predicted one."""
    if rig.floor_ra is None:
        return "this media leaves the scratch as it finds it, so its roughness says nothing of the media"
    if trial.roughness.direction == "along":
        return "measured along the lay, where every surface is smooth: measure across"
    floor = rig.floor_ra / MICRON
    if not rig.media.blends or rig.facts.get("stage") == "clear":
        return measured, floor
    found = _before(trial, bench)
    depth = trial.measured.removal_um or predicted_removal(trial, rig, bench)
    if found is None or not depth:
        return "the roughness found, or the depth taken, is not known: the scratch of before may still show"
    valley = float(rig.values["rt_over_ra"]) * found
    left = math.exp(-depth / float(roughness.decay_depth(valley, rig.values["decay_kappa"])))
    own = (measured - found * left) / (1.0 - left)
    if left > MOST_LEFT or own <= 0:
        return "too little came off to reach the media's own roughness"
    return own, floor


def _before(trial: Trial, bench: Bench) -> float | None:
    """The roughness (um) that the step found: measured, or as the advisor's own plan foresees."""
    if trial.incoming.ra_um is not None:
        return trial.incoming.ra_um
    step = bench.planned(trial)
    return None if step is None else step.before.ra / MICRON


def _parts(trial: Trial, rig: Rig, bench: Bench, measured: float) -> Measured:
    predicted = predicted_parts(trial, rig, bench)
    return (measured, predicted) if predicted else "what a part uses up of the media cannot be told"


def predicted_parts(trial: Trial, rig: Rig, bench: Bench) -> float | None:
    """How many parts one media should do: its life over what a part uses up of it."""
    setup, used = rig.setup, trial.used
    desk = bench.feature_desk(trial.job, trial.face)
    step, area = bench.planned(trial), desk.area_cm2 / 1e4
    if used.passes is None:
        return None
    depth = predicted_removal(trial, rig, bench)
    if step is not None:
        seconds = step.cutting * used.passes / step.passes * step.feed / setup.feed
        volume = step.volume
        if not step.local and depth is not None:
            volume *= depth * MICRON / step.removal
    elif depth is not None:
        seconds = float(timing.area_time(area, setup.step_over, setup.feed, used.passes))
        volume = area * depth * MICRON
    else:
        return None
    life = media_life(setup, rig.effect, rig.values, desk.economy(rig.media))
    share = float(life.used(volume, seconds))
    return 1.0 / share if share > 0 else None


def _reading(
    coefficient: Taught, trial: Trial, rig: Rig, outcome: tuple[float, float], bench: Bench
) -> Reading:
    setup, job = rig.setup, trial.job
    age = trial.used.media_age_parts
    life = predicted_parts(trial, rig, bench) if age else None
    own = next(iter(job.cell.stations_for(setup.media.key)), job.cell.stations[0]).wheel_diameter_mm
    picked = bench.feature_desk(job, trial.face).picked(setup.media, trial.used.grain, setup.grade)
    symbol = moved(coefficient, setup.media, picked)
    settings = {
        "line_load": setup.line_load / 1e3,
        "speed": setup.speed,
        "feed": setup.feed * 1e3,
        "diameter": setup.diameter * 1e3,
    }
    if setup.grade is not None:
        settings["grain"] = setup.grade.um
    return Reading(
        coefficient,
        trial.id,
        trial.when,
        *outcome,
        scope=scope_of_set_up(setup.alloy, setup.media, trial.used.grain, setup.grade, cell_name(trial)),
        settings=settings,
        age=min(2.0, age / life) if age and life else 0.0,
        age_known=age is not None,
        diameter=math.log(setup.diameter * 1e3 / own),
        row=picked[symbol].key if symbol else None,
    )


def cell_name(trial: Trial) -> str | None:
    """What a cell is known by: its key in the table, or the name in the job."""
    return trial.job.cell.key or trial.job.cell.name
