"""Works out what a robot's program needs from the planned steps and the order of their set-ups."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.figures.coefficients import pick
from advisor.job.model import Feature, Job
from advisor.knowledge.reference import Coefficient
from advisor.process.approach import lead_length, ramp_length, run_up
from advisor.process.shrinking import marked_rpm, rpm_schedule
from advisor.process.timing import strokes_across
from advisor.reasons import Reason, Trail
from advisor.sequence.joint import Visit
from advisor.sequence.plan import FeaturePlan
from advisor.sequence.surface import PlannedStep
from advisor.sheet.explain import Explainer
from advisor.sheet.inputs import coefficient
from advisor.sheet.load import WearPoint
from advisor.sheet.robot import Move, Robot

#: To what share of its diameter the rpm of a dressed wheel is tabulated, and in how many rows.
DRESSED_TO, ROWS = 0.9, 5
_STAGES = ("clear", "refine", "prepare", "finish")
_SYMBOLS = {
    "path_acceleration": "path acceleration",
    "approach_clearance": "clearance",
    "force_ramp_time": "ramp time",
    "touch_off_speed": "touch-off speed",
    "touch_off_force": "touch-off force",
}


def robot_program(
    job: Job, plans: Sequence[FeaturePlan], set_ups: Sequence[Visit], explain: Explainer, trail: Trail
) -> Robot | None:
    """The order of the moves and their lengths; None where a person works or nothing is planned."""
    if job.cell.operator != "robot" or not set_ups:
        return None
    rows = pick(explain.knowledge.tables.coefficients.values(), {})
    moves = tuple(_move(plans[row], step, rows) for visit in in_program_order(plans, set_ups) for row, step in visit)
    compliance = job.cell.compliance
    lowest = compliance.force_n[0] if compliance is not None and compliance.force_n is not None else None
    force = rows["touch_off_force"].band.expected
    return Robot(
        moves=moves,
        touch_off_force_n=force if lowest is None else max(force, lowest),
        touch_off_speed_mm_s=rows["touch_off_speed"].band.expected,
        reasons=trail.refer_all(_reasons(rows, lowest, explain)),
    )


def in_program_order(
    plans: Sequence[FeaturePlan], set_ups: Sequence[Visit]
) -> list[list[tuple[int, int]]]:
    """The steps of each set-up (feature, step), the set-ups in the order in which a program runs them.

    Stage after stage; within one, inner faces before open ones, narrow wheels before wide ones, so that
    what the narrow wheel touches beside an inner face is worked afterwards. A set-up stays whole, and no
    step comes before the one that it follows.
    """
    waiting = list(enumerate(set_ups))
    done = dict.fromkeys(range(len(plans)), 0)
    ordered = []

    def rank(entry: tuple[int, Visit]) -> tuple[int, bool, float, int]:
        number, visit = entry
        stage = min(_STAGES.index(plans[row].path[step].candidate.stage) for row, step in visit.serves)
        inside = any(is_inner(plans[row].feature) for row, _ in visit.serves)
        width = visit.step.candidate.values.get("wheel_width")
        return stage, not inside, width if isinstance(width, float) else 0.0, number

    while waiting:
        ready = [entry for entry in waiting if _ready(entry[1], done)]
        taken = min(ready or waiting[:1], key=rank)
        waiting.remove(taken)
        serves = sorted(taken[1].serves, key=lambda one: (not is_inner(plans[one[0]].feature), one))
        for row, step in serves:
            done[row] = max(done[row], step + 1)
        ordered.append(serves)
    return ordered


def _ready(visit: Visit, done: dict[int, int]) -> bool:
    """Whether every step before those of a set-up is done, or belongs to the same set-up."""
    own = set(visit.serves)
    return all(
        (row, before) in own for row, step in visit.serves for before in range(done[row], step)
    )


def is_inner(feature: Feature) -> bool:
    """Whether a face is a hollow, or has something standing beside it."""
    return feature.shape == "concave" or feature.access_mm is not None


def _move(plan: FeaturePlan, number: int, rows: dict[str, Coefficient]) -> Move:
    step = plan.path[number]
    setup, contact = step.candidate.setup, step.candidate.effect.contact
    up = run_up(step.feed, rows["path_acceleration"].band.expected)
    half = float(contact.half_width) if contact is not None else 0.0
    lead = float(lead_length(up, half, rows["approach_clearance"].band.expected / 1e3)) * 1e3
    ramp = float(ramp_length(step.feed, rows["force_ramp_time"].band.expected)) * 1e3
    grade, width = step.candidate.grade, plan.feature.width_mm
    across = None if step.local or width is None else strokes_across(width / 1e3, setup.step_over)
    highest = _highest_rpm(step)
    return Move(
        serves=f"{plan.feature.name}/{number + 1}",
        inner=is_inner(plan.feature),
        lead_in_mm=lead,
        lead_out_mm=lead,
        contact_known=contact is not None,
        engage_ramp_mm=ramp,
        retract_ramp_mm=ramp,
        against_feed=None if grade is None else grade.against_feed,
        strokes=across,
        highest_rpm=int(highest),
        diameters=_dressed(step, highest),
    )


def _highest_rpm(step: PlannedStep) -> float:
    """The lower of the spindle's highest rpm and the one that belongs to the marked speed, where it is known."""
    station, media = step.candidate.tool.station, step.candidate.tool.media
    marked = (station.marked_speed_m_s, media.marked_speed_m_s)
    new = step.candidate.setup.diameter
    limits = [float(marked_rpm(speed, new)) for speed in marked if speed is not None]
    return min([station.speed_rpm[1], *limits])


def _dressed(step: PlannedStep, highest: float) -> tuple[WearPoint, ...]:
    """The rpm for a contact wheel as it is dressed smaller; nothing for media that shrink by themselves."""
    candidate = step.candidate
    if candidate.values.get("wheel_cover") is None:
        return ()
    new = candidate.setup.diameter
    smallest = candidate.tool.station.min_diameter_mm
    last = max(new * DRESSED_TO, (smallest or 0.0) / 1e3)
    if not last < new:
        return ()
    states = rpm_schedule(new, last, candidate.setup.speed, highest, 1.0, ROWS)
    return tuple(
        WearPoint(
            diameter_mm=state.diameter * 1e3,
            rpm=min(int(state.rpm + 0.5), int(highest)),
            index_mm=(new - state.diameter) / 2 * 1e3,
            surface_speed_m_s=state.speed,
        )
        for state in states
    )


def _reasons(
    rows: dict[str, Coefficient], lowest: float | None, explain: Explainer
) -> dict[str, tuple[Reason, ...]]:
    def derived(text: str, formula: str, *symbols: str) -> tuple[Reason, ...]:
        inputs = {_SYMBOLS[symbol]: coefficient(rows[symbol]) for symbol in symbols}
        sources = [source for symbol in symbols for source in rows[symbol].source]
        return (explain.derived(text, formula, inputs, None, sources),)

    lead = derived(
        "Run-up to the feed, half the contact and a clearance: the media reach the face at full feed.",
        "lead_length", "path_acceleration", "approach_clearance",
    )  # fmt: skip
    ramp = derived(
        "The way travelled while the force builds up, so that no end of a stroke is dug or left thin.",
        "ramp_length", "force_ramp_time",
    )  # fmt: skip
    touch = derived(
        "The lowest force at which the tool feels the fixed point safely.", "touch_off", "touch_off_force"
    )
    if lowest is not None:
        touch += (Reason(kind="limited", text=f"The compliant tool holds no force below {lowest:g} N."),)
    order = explain.known(
        "Stage after stage, inner faces with the narrow wheel before open ones with the wide wheel: what the "
        "narrow one touches beside its face is worked afterwards.",
        ("common-practice",),
    )
    sense = explain.known(
        "A cut buff works against the feed and a colour buff with it; for other media it is not decided.",
        ("common-practice",),
    )
    return {
        "moves": (order,),
        "lead_in_mm": lead,
        "lead_out_mm": lead,
        "engage_ramp_mm": ramp,
        "retract_ramp_mm": ramp,
        "against_feed": (sense,),
        "touch_off_force_n": touch,
        "touch_off_speed_mm_s": derived(
            "Slow enough that the tool stops before it presses.", "touch_off", "touch_off_speed"
        ),
    }
