"""Why there is no plan for a feature: the smallest set of requirements in the way, and what opens it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from advisor.choices.model import Conflict
from advisor.reasons import Trail
from advisor.sequence.candidates import StageField
from advisor.sequence.limits import Unmet
from advisor.sequence.offers import NotOffered
from advisor.sequence.paths import PathFinder, Scope, steps_of, target_window
from advisor.sequence.plan import FeaturePlan
from advisor.sequence.requirements import Requirement
from advisor.sequence.walls import WALL_SHARE
from advisor.sheet.explain import Explainer
from advisor.sheet.in_the_way import in_the_way
from advisor.sheet.model import Blocked
from advisor.sheet.nearest import Opening
from advisor.units import figure

MOST = 6
_ANY_RA = (0.0, 1.0)
#: Requirements that stand in the way through what the rules say.
_THROUGH_RULES = ("handling", "wet", "dust", "media history")


def blocked(plan: FeaturePlan, explain: Explainer, trail: Trail) -> tuple[Blocked, ...]:
    """What is in the way, with the changes that were tried and open it."""
    if plan.path:
        return ()
    named = in_the_way(plan)
    if not named:
        return _told(plan, explain, trail)
    teller = _Teller(plan, explain, trail)
    found = [entry for each in named for entry in teller.entries(*each)]
    unique = {(entry.text, entry.limit): entry for entry in found}
    return tuple(unique.values())[:MOST]


class _Teller:
    """Puts requirements in the way into words, with the numbers of the limits met on the way."""

    def __init__(self, plan: FeaturePlan, explain: Explainer, trail: Trail) -> None:
        self._plan, self._explain, self._trail = plan, explain, trail
        self._met = _limits_met(plan, explain)

    def entries(self, requirement: Requirement, found: Sequence[Opening], more: int) -> Iterator[Blocked]:
        """What stands in the way for one requirement."""
        words = "; or ".join(each.words for each in found)
        opens = f"{words}; together with {more} more named here" if words and more else words or None
        if requirement.key in _THROUGH_RULES:
            told = list(self._through_rules())
            if told:
                yield from (entry.model_copy(update={"opens": opens}) for entry in told)
                return
        yield self._entry(requirement.key, found).model_copy(update={"opens": opens})

    def _through_rules(self) -> Iterator[Blocked]:
        for field in _stuck(self._plan)[:1]:
            told = {tuple(rule.id for rule in conflict.rules): conflict for conflict in field.conflicts}
            for conflict in told.values():
                yield _contradiction(conflict, field, self._explain, self._trail)

    def _entry(self, key: str, found: Sequence[Opening]) -> Blocked:
        if key in ("wall", "stock", "depth"):
            return self._of_depth(key)
        if key == "roughness":
            return self._of_roughness()
        met = [item for item in self._met if item.limit == key]
        if key == "station" and found:
            met = [item for item in met if item.media == found[0].media] or met
        if key in ("hollow", "reach"):
            of_hollow = [item for item in self._met if item.limit == "reach"]
            met = [item for item in of_hollow if (key == "reach") == (item.value != self._radius)]
        if met:
            nearest = min(met, key=_missed_by)
            entry = _unmet(nearest) if isinstance(nearest, Unmet) else _not_offered(nearest)
            return entry.model_copy(update={"limit": "reach" if key == "hollow" else key})
        return self._plainly(key)

    @property
    def _radius(self) -> float | None:
        return self._plan.feature.radius_mm

    def _of_depth(self, key: str) -> Blocked:
        feature, part = self._plan.feature, self._plan.desk.job.part
        depth, row = feature.start.depth_mm[0], self._plan.desk.knowledge.tables.defects[feature.start.defect]
        name = row.name.capitalize()
        if key == "wall" and part.wall_mm is not None:
            allowed = part.wall_mm if row.kind == "proud" else WALL_SHARE * part.wall_mm
            text = (
                f"{name} of {figure(depth)} mm would have to come off a wall of {figure(part.wall_mm)} mm; no more "
                f"than {figure(allowed)} mm may go."
            )
            return Blocked(text=text, limit="wall", value=depth, allowed=allowed, unit="mm", source="own-estimate")
        if key == "stock" and feature.max_stock_mm is not None:
            text = f"The {row.name} is {figure(depth)} mm deep and only {figure(feature.max_stock_mm)} mm may come off."
            return Blocked(text=text, limit="stock", value=depth, allowed=feature.max_stock_mm, unit="mm")
        high = "high" if row.kind == "proud" else "deep"
        text = f"The {row.name} is {figure(depth)} mm {high}, and all of it has to go."
        return Blocked(text=text, limit="depth", value=depth, unit="mm")

    def _of_roughness(self) -> Blocked:
        low, high = self._plan.feature.finish.ra_um
        finder = PathFinder(self._plan.desk, self._plan.desk.job.batch) if self._plan.desk.tools else None
        found = finder.search(Scope(0, _ANY_RA)) if finder else ()
        if not found:
            text = f"Ra {figure(low)} to {figure(high)} um is asked for."
            return Blocked(text=text, limit="roughness", allowed=(low, high), unit="um")
        ends = (steps_of(label)[-1].after.ra * 1e6 for label in found)
        reached = min(ends, key=lambda ra: _off(ra, low, high))
        text = f"What comes through ends at Ra {figure(reached, 2)} um, not {figure(low)} to {figure(high)} um."
        return Blocked(text=text, limit="roughness", value=float(f"{reached:.3g}"), allowed=(low, high), unit="um")

    def _plainly(self, key: str) -> Blocked:
        """A requirement in words where no single limit of its kind was met."""
        job, feature = self._plan.desk.job, self._plan.feature
        cell, held = job.cell, job.cell.compliance
        force = f"{figure(held.force_n[0])} to {figure(held.force_n[1])} N" if held and held.force_n else ""
        stroke = figure(held.stroke_mm) if held and held.stroke_mm is not None else ""
        powers = " and ".join(f"{each.name} {figure(each.power_kw)} kW" for each in cell.stations if each.power_kw)
        speeds = " and ".join(
            f"{each.name} {figure(each.speed_rpm[0])} to {figure(each.speed_rpm[1])} rpm" for each in cell.stations
        )
        wheels = " and ".join(f"{each.name} {figure(each.wheel_diameter_mm)} mm" for each in cell.stations)
        texts: Mapping[str, str] = {
            "station": f"The stations of this cell take {', '.join(cell.takes)}, and none of these does it.",
            "handling": f"This cell works with the {cell.handling[0].replace('-', ' ')} only.",
            "wet": "This cell works dry.",
            "dust": "The collector of this cell is shared with other metals, or nobody said what it serves.",
            "media history": "The media of this cell may have touched steel.",
            "heat": f"{self._plan.desk.alloy.name} stands no more than {figure(self._plan.desk.alloy.heat_limit_c)} C.",
            "lay": f"A {feature.finish.lay} lay is asked for.",
            "start roughness": f"The face comes with Ra {figure(feature.start.roughness_um)} um.",
            "access": f"Only {figure(feature.access_mm or 0.0)} mm are free beside the face.",
            "hollow": f"The hollow has a radius of {figure(feature.radius_mm or 0.0)} mm.",
            "reach": f"The wheels of this cell are large for a hollow: {wheels}.",
            "surface speed": f"The stations turn at set speeds: {speeds}.",
            "force": f"The compliant tool holds {force}.",
            "stroke": f"The compliant tool has a stroke of {stroke} mm.",
            "power": f"The stations have little power: {powers}.",
        }
        return Blocked(text=texts[key], limit=key)


def _off(ra: float, low: float, high: float) -> float:
    return max(math.log(max(low, 1e-6) / ra), math.log(ra / high), 0.0)


def _missed_by(item: NotOffered | Unmet) -> float:
    """How far a limit is missed; what is not there at all comes last."""
    value, allowed = item.value, item.allowed
    if isinstance(value, (int, float)) and isinstance(allowed, (int, float)) and value > 0 and allowed > 0:
        return abs(math.log(value / allowed))
    return math.inf


def _stuck(plan: FeaturePlan) -> list[StageField]:
    return [field for field in plan.fields if field.stage in ("clear", "finish") and not field.candidates]


def _limits_met(plan: FeaturePlan, explain: Explainer) -> list[NotOffered | Unmet]:
    """Every limit met on the way, those of the media that some rule speaks for first."""
    found: list[NotOffered | Unmet] = []
    for field in _stuck(plan) or plan.fields:
        wanted = _spoken_for(field, plan, explain)
        found += field.unmet
        found += [item for item in (*field.not_offered, *plan.not_runnable) if item.media in wanted]
    found += _in_whole_steps(plan)
    return [*found, *plan.not_runnable]


def _told(plan: FeaturePlan, explain: Explainer, trail: Trail) -> tuple[Blocked, ...]:
    """What is in the way where no change of job or cell opens it: what the rules and the media say."""
    if not plan.desk.tools:
        return tuple(_not_offered(item) for item in plan.not_runnable[:MOST])
    found: list[Blocked] = []
    for field in _stuck(plan)[:1]:
        found += _stuck_stage(field, plan, explain, trail)
    if not found:
        found.append(
            Blocked(
                text="No step that is left takes the defect off in the passes allowed without spoiling the face.",
                limit="passes",
            )
        )
    unique = {entry.text: entry for entry in found}
    return tuple(unique.values())[:MOST]


def _stuck_stage(field: StageField, plan: FeaturePlan, explain: Explainer, trail: Trail) -> Iterator[Blocked]:
    """A stage for which nothing is left: conflicts of rules, limits in the numbers, media not to be had."""
    for conflict in field.conflicts:
        yield _contradiction(conflict, field, explain, trail)
    for unmet in field.unmet:
        yield _unmet(unmet)
    wanted = _spoken_for(field, plan, explain)
    for item in (*field.not_offered, *plan.not_runnable):
        if item.media in wanted:
            yield _not_offered(item)
    if not field.conflicts and not field.unmet and not wanted:
        yield Blocked(text=f"No rule names a media to {field.stage} here, and silence is not suitability.")


def _contradiction(conflict: Conflict, field: StageField, explain: Explainer, trail: Trail) -> Blocked:
    """What the rules leave nothing for; a single rule also says where it does not hold."""
    reasons = tuple(explain.ruled(rule, field.situation) for rule in conflict.rules)
    text = f"To {field.stage}: {conflict.what}."
    if len(conflict.rules) == 1:
        text += f" The rule is not for: {conflict.rules[0].not_for}"
    return Blocked(
        text=text, rule=conflict.rules[0].id if conflict.rules else None, reasons=trail.refer(*reasons)
    )


def _spoken_for(field: StageField, plan: FeaturePlan, explain: Explainer) -> set[str]:
    """Every media that some rule speaks for at this stage, to be had here or not."""
    engine = plan.desk.decider.engine
    rules = engine.rules("media", engine.signature("media", field.situation))
    return {
        option
        for rule in rules
        for advice in rule.advice()
        if advice.decision == "media" and advice.strength in ("must", "should", "may")
        for option in advice.options
    }


def _unmet(item: Unmet) -> Blocked:
    return Blocked(
        text=item.text,
        limit=item.limit,
        value=float(f"{item.value:.4g}"),
        allowed=float(f"{item.allowed:.4g}"),
        unit=item.unit,
        source=item.source,
    )


def _not_offered(item: NotOffered) -> Blocked:
    return Blocked(
        text=item.text,
        limit=item.limit,
        value=item.value,
        allowed=item.allowed,
        unit=item.unit,
    )


def _in_whole_steps(plan: FeaturePlan) -> Iterator[Unmet]:
    """The limits of heat and stroke that the cheapest chain breaks, where only they are in the way."""
    if not plan.desk.tools:
        return
    feature = plan.feature
    free = PathFinder(plan.desk, plan.desk.job.batch, limited=False)
    window = target_window(feature.finish.ra_low_um, feature.finish.ra_high_um, False)
    for concerns in (7, 0):
        found = free.search(Scope(concerns, window))
        if found:
            for step in steps_of(found[0]):
                yield from free.step_limits.unmet(step)
            return
