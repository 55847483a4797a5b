"""Which facts come together: an alloy and its family, a defect and its kind, a media and what exists for it.

A rule for a cast wrought alloy, or for zirconia on a buff, can never fire, however sound each of its
conditions is by itself.
"""

from __future__ import annotations

from collections.abc import Mapping

from advisor.check.space import Joint, Possible
from advisor.knowledge.base import Knowledge, Tables
from advisor.knowledge.reference import Alloy, Media
from advisor.knowledge.vocabulary import Value, Vocabulary

_ALLOY = (
    "family", "group", "hardness_hv", "conductivity", "heat_limit_c", "cast",
    "lead", "beryllium", "nickel", "cobalt", "chromium", "dust", "high_silicon",
)  # fmt: skip
_MEDIA_ROWS: Mapping[str, str] = {
    "handling": "handling",
    "grain": "grains",
    "grade": "grades",
    "build": "builds",
    "coat": "coats",
    "top_coat": "top_coats",
    "backing": "backings",
    "wheel_cover": "covers",
    "wheel_face": "faces",
    "lubricant": "lubricants",
    "direction": "directions",
}
_NOBODY = "nothing yet"


def joints(knowledge: Knowledge) -> tuple[Joint, ...]:
    """The joint facts of a knowledge base; a vocabulary that lacks an attribute is served too."""
    tables: Tables | None = getattr(knowledge, "tables", None)
    if tables is None:
        return ()
    vocabulary = knowledge.vocabulary
    found = (_alloys(tables), _defects(tables), _finishes(tables), _media(tables), _found_scratch(tables))
    return tuple(joint for item in found if (joint := _declared(item, vocabulary)).attributes)


def _declared(joint: Joint, vocabulary: Vocabulary) -> Joint:
    """Only what the vocabulary declares, and only values that it knows."""
    rows = tuple(
        {key: _known(key, row[key], vocabulary) for key in row if key in vocabulary.testable}
        for row in joint.rows
    )
    return Joint(joint.name, joint.labels, rows)


def _known(key: str, values: Possible, vocabulary: Vocabulary) -> Possible:
    attribute = vocabulary.testable[key]
    if values is None or attribute.kind in ("number", "flag"):
        return values
    allowed = set(vocabulary.grades) if attribute.kind == "grade" else set(attribute.values)
    return tuple(value for value in values if value is None or value in allowed)


def _alloys(tables: Tables) -> Joint:
    rows: list[Mapping[str, Possible]] = []
    for key, alloy in tables.alloys.items():
        row: dict[str, Possible] = {"alloy.key": (key,)}
        row.update({f"alloy.{name}": _known_flag(alloy, name) for name in _ALLOY})
        rows.append(row)
    return Joint("alloys", tuple(tables.alloys), tuple(rows))


def _known_flag(alloy: Alloy, name: str) -> Possible:
    """A property of an alloy; lead and beryllium that nobody knows are presumed to be there."""
    value: Value | None = getattr(alloy, name)
    if value is None and name in ("lead", "beryllium"):
        return (True,)
    return (value,)


def _defects(tables: Tables) -> Joint:
    rows: list[Mapping[str, Possible]] = [
        {"defect": (key,), "defect.kind": (row.kind,), "defect.local": (row.local,)}
        for key, row in tables.defects.items()
    ]
    rows.append({"defect": (None,), "defect.kind": (None,), "defect.local": (None,)})
    return Joint("defects", (*tables.defects, _NOBODY), tuple(rows))


def _finishes(tables: Tables) -> Joint:
    """A finish by its key, by a designation that leads to it, or told by texture and roughness alone."""
    labels: list[str] = []
    rows: list[Mapping[str, Possible]] = []
    for key, finish in tables.finishes.items():
        named = [row for row in tables.designations.values() if row.finish == key]
        for designation in (None, *named):
            low, high = (designation and designation.ra_um) or finish.ra_um
            labels.append(designation.key if designation else key)
            rows.append(
                {
                    "finish.key": (key,),
                    "finish.designation": (designation.key if designation else None,),
                    "finish.texture": (finish.texture,),
                    "finish.lay": (finish.lay,),
                    "finish.ra_low_um": (low,),
                    "finish.ra_high_um": (high,),
                }
            )
    explicit: dict[str, Possible] = {"finish.key": (None,), "finish.designation": (None,)}
    explicit.update(dict.fromkeys(("finish.texture", "finish.lay", "finish.ra_low_um", "finish.ra_high_um")))
    return Joint("finishes", (*labels, "told by texture"), (*rows, explicit))


def _media(tables: Tables) -> Joint:
    rows: list[Mapping[str, Possible]] = []
    for key, media in tables.media.items():
        row: dict[str, Possible] = {
            "media": (key,),
            "stage": (*media.stages, None),
            "feature.shape": (*media.shapes, None),
        }
        row.update({name: (*getattr(media, field), None) for name, field in _MEDIA_ROWS.items()})
        rows.append(row)
    every = dict.fromkeys(("stage", "feature.shape", *_MEDIA_ROWS))
    rows.append({"media": (None,), **every})
    return Joint("media", (*tables.media, _NOBODY), tuple(rows))


def _found_scratch(tables: Tables) -> Joint:
    rows: list[Mapping[str, Possible]] = [
        {"previous.media": (key,), "previous.grade": (*media.grades, None)}
        for key, media in tables.media.items()
    ]
    rows.append({"previous.media": (None,), "previous.grade": None})
    return Joint("media of the step before", (*tables.media, _NOBODY), tuple(rows))


def used(media: Media, decision: str) -> bool:
    """Whether a decision is taken at all for a media: a flap wheel has no cloth weight to choose."""
    field = _MEDIA_ROWS.get(decision)
    if field is not None:
        return bool(getattr(media, field))
    if decision == "wheel_hardness":
        return media.hardness is not None
    return decision != "wheel_edge" or media.edge_mm is not None
