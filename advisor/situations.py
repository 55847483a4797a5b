"""From a job and the tables to situations: flat, total mappings that the rules are matched against."""

from __future__ import annotations

from collections.abc import Mapping

from advisor.job.model import Assumed, Feature, Job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.cell import Cell
from advisor.knowledge.reference import Alloy
from advisor.knowledge.vocabulary import Value

Facts = dict[str, Value | None]
_OLD_COATINGS = ("lacquer", "paint", "plating")


def job_situation(job: Job, knowledge: Knowledge) -> Facts:
    """What holds for the whole job. Everything declared is there; None is not known."""
    alloy: Alloy = knowledge.tables.alloys[job.alloy]
    facts: Facts = dict.fromkeys(knowledge.vocabulary.testable)
    facts.update(_alloy_facts(alloy))
    facts.update(_cell_facts(job.cell, alloy))
    facts.update(
        {
            "part.mass_kg": job.part.mass_kg,
            "part.size_mm": job.part.size_mm,
            "part.wall_mm": job.part.wall_mm,
            "part.contour": job.part.contour,
            "batch": float(job.batch),
            "environment": job.environment,
            "after": job.after,
        }
    )
    return facts


def feature_situation(job: Job, feature: Feature, knowledge: Knowledge) -> Facts:
    """What holds for one feature, before any stage is entered."""
    facts = job_situation(job, knowledge)
    facts.update(
        {
            "feature.shape": feature.shape,
            "feature.radius_mm": feature.radius_mm,
            "feature.cross_radius_mm": feature.cross_radius_mm,
            "feature.width_mm": feature.width_mm,
            "feature.area_cm2": feature.area_cm2,
            "feature.access_mm": feature.access_mm,
            "feature.visible": feature.visible,
            "feature.joint": feature.joint,
            "feature.edges": feature.edges,
            "feature.edge_radius_mm": feature.edge_radius_mm,
            "feature.max_stock_mm": feature.max_stock_mm,
            "incoming_ra_um": feature.start.roughness_um,
            "finish.key": feature.finish.finish,
            "finish.designation": feature.finish.designation,
            "finish.texture": feature.finish.texture,
            "finish.lay": feature.finish.lay,
            "finish.ra_low_um": feature.finish.ra_low_um,
            "finish.ra_high_um": feature.finish.ra_high_um,
            "finish.sample": feature.finish.sample,
        }
    )
    facts.update(defect_facts(feature.start.defect, feature.start.depth_mm[0], knowledge))
    facts["felt"] = feature.start.felt
    if set(feature.start.defects) & set(_OLD_COATINGS):
        facts["coating.hazard"] = feature.start.coating
    else:
        facts["coating.hazard"] = "none"
    return presumed(facts, knowledge)[0]


def defect_facts(defect: str, depth_mm: float, knowledge: Knowledge) -> Facts:
    """What the table says of a defect, and how deep it is here."""
    row = knowledge.tables.defects[defect]
    return {"defect": defect, "defect.local": row.local, "defect.kind": row.kind, "depth_mm": depth_mm}


def presumed(facts: Mapping[str, Value | None], knowledge: Knowledge) -> tuple[Facts, tuple[Assumed, ...]]:
    """The facts with the worst put in wherever the vocabulary says what to presume, and what was put in."""
    filled = dict(facts)
    assumed = []
    for key, attribute in knowledge.vocabulary.attributes.items():
        if attribute.if_unknown and filled.get(key) is None:
            filled[key] = attribute.if_unknown.assume
            shown = attribute.if_unknown.assume
            words = ("yes" if shown else "no") if isinstance(shown, bool) else str(shown)
            assumed.append(Assumed(field=key, value=words, why=attribute.if_unknown.say))
    return filled, tuple(assumed)


def _alloy_facts(alloy: Alloy) -> Facts:
    return {
        "alloy.key": alloy.key,
        "alloy.family": alloy.family,
        "alloy.group": alloy.group,
        "alloy.hardness_hv": alloy.hardness_hv,
        "alloy.conductivity": alloy.conductivity,
        "alloy.heat_limit_c": alloy.heat_limit_c,
        "alloy.cast": alloy.cast,
        "alloy.lead": alloy.lead,
        "alloy.beryllium": alloy.beryllium,
        "alloy.nickel": alloy.nickel,
        "alloy.cobalt": alloy.cobalt,
        "alloy.chromium": alloy.chromium,
        "alloy.dust": alloy.dust,
        "alloy.high_silicon": alloy.high_silicon,
    }


def _cell_facts(cell: Cell, alloy: Alloy) -> Facts:
    """The cell as the rules see it. A collector whose neighbours are not known counts as shared."""
    facts: Facts = {"operator": cell.operator, "cell.wet": cell.wet, "media_history": cell.media_history}
    if cell.media_history == "unknown":
        facts["media_history"] = None
    if cell.dust is not None:
        facts["dust.collector"] = cell.dust.collector
        if cell.dust.shared_with is not None:
            facts["dust.shared_with_steel"] = "steel" in cell.dust.shared_with
        elif cell.dust.collector == "none":
            facts["dust.shared_with_steel"] = False
    return facts
