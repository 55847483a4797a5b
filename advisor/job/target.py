"""The finish asked for, however it was said: a key, a designation, a texture and Ra, or a signed sample."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, get_args

from advisor.errors import InputError
from advisor.job.model import Assumed, Knowledge, Target
from advisor.job.names import resolve_finish
from advisor.knowledge.entries import Fields
from advisor.knowledge.reference import Alloy, Designation, Finish, Lay, Texture
from advisor.knowledge.strict_yaml import Node
from advisor.units import plain_number

# What makes a sample usable, as keys of the mapping and as questions.
SAMPLE_ASKS: dict[str, str] = {
    "alloy": "the alloy the sample is made of, which must be the alloy of the part",
    "limits": "two signed samples, the least and the most that is accepted",
    "lay": "the direction of the lay on the part",
    "ra": "Ra across the lay",
    "cutoff": "the cut-off length with which Ra was measured",
    "gloss": "the gloss, where the face shines",
    "gloss_angle": "the angle at which the gloss is measured",
    "lighting": "the lighting and the distance at which sample and part are compared",
}
_EXPLICIT_KEYS = ("texture", "lay", "ra")
_SAMPLE_KEYS = ("match", "texture", *SAMPLE_ASKS)


def read_target(
    node: Node, field: str, fields: Fields, knowledge: Knowledge, alloy: Alloy | None, assumed: list[Assumed]
) -> Target | None:
    """The target of one `finish` field; None (and problems) where it cannot be understood."""
    tables = knowledge.tables
    finishes: Mapping[str, Finish] = tables["finishes"]
    if isinstance(node.value, dict):
        return _explicit(node, field, fields, finishes, assumed)
    text = fields.text_of(node, field)
    if text is None:
        return None
    group = None if alloy is None else alloy.group
    try:
        place = fields.place(node)
        finish, named = resolve_finish(text, finishes, tables["designations"], group, place, field)
    except InputError as error:
        fields.problems += error.problems
        return None
    return target_of(finish, named)


def target_of(finish: Finish, named: Designation | None = None) -> Target:
    """The target of a finish row, narrowed by a designation where one was named."""
    low, high = finish.ra_um if named is None or named.ra_um is None else named.ra_um
    values: dict[str, Any] = {"grades": finish.grades, "source": finish.source}
    if named is not None:
        values = {
            "designation": named.key,
            "grades": named.grades or finish.grades,
            "grade_scale": named.grade_scale if named.grades else "P",
            "grain": named.grain,
            "source": tuple(dict.fromkeys((*named.source, *finish.source))),
            "says": named.says,
        }
    return Target(
        texture=finish.texture, lay=finish.lay, ra_low_um=low, ra_high_um=high, finish=finish.key, **values
    )


def usual_finish(finishes: Mapping[str, Finish], texture: str, lay: str | None) -> Finish | None:
    """The middle row of a texture by roughness, of the lay asked for where the table has one.

    The rougher of two middle rows is taken: it is the gentler demand.
    """
    rows = [row for row in finishes.values() if row.texture == texture]
    rows = [row for row in rows if row.lay == lay] or [row for row in rows if row.lay == "linear"] or rows
    rows.sort(key=lambda row: (row.ra_um[0] + row.ra_um[1], row.key))
    return rows[len(rows) // 2] if rows else None


def _explicit(
    node: Node, field: str, parent: Fields, finishes: Mapping[str, Finish], assumed: list[Assumed]
) -> Target | None:
    before = len(parent.problems)
    sample = isinstance(node.value, dict) and "match" in node.value
    keys = _SAMPLE_KEYS if sample else _EXPLICIT_KEYS
    fields = Fields.of(node, field, parent.file, parent.problems, keys, "a finish")
    if fields is None:
        return None
    if sample:
        fields.choice("match", ("sample",))
    fields.require("texture", "a finish needs its texture", ", ".join(get_args(Texture)))
    texture = fields.choice("texture", get_args(Texture))
    lay = fields.choice("lay", get_args(Lay))
    ra_node = fields.get("ra")
    ra = fields.band("ra")
    if ra is not None and ra_node is not None and not isinstance(ra_node.value, list):
        ra = (0.0, ra[1])  # one figure on a drawing is the largest that is accepted
    if ra is not None and ra[1] < 0.005:
        fields.fault(ra_node, fields.name("ra"), "no surface is as smooth", allowed="at least 0.005 um")
    facts = _sample_facts(fields) if sample else ()
    if texture is None or len(parent.problems) > before:
        return None
    usual = usual_finish(finishes, texture, lay)
    values: dict[str, Any] = {"ra_assumed": ra is None, "lay_assumed": lay is None, "source": ()}
    if ra is None:
        if usual is None:
            fields.fault(node, fields.name("ra"), f"the Ra of a {texture} finish is needed")
            return None
        ra = usual.ra_um
        low, high = plain_number(ra[0]), plain_number(ra[1])
        why = f"no Ra is given; the band of {usual.key} is taken, the usual {texture}"
        assumed.append(Assumed(field=f"{field}.ra", value=f"{low} to {high} um", why=why))
        values["source"] = usual.source
    if lay is None:
        lay = "any" if usual is None else usual.lay
        why = f"no lay is given; the usual {texture} runs so"
        assumed.append(Assumed(field=f"{field}.lay", value=lay, why=why))
    given = {key for key, _ in facts} | {key for key in ("lay", "ra") if not values[f"{key}_assumed"]}
    if "gloss" in given and _names_angle(dict(facts)["gloss"]):
        given.add("gloss_angle")
    return Target.model_validate(
        {
            "texture": texture,
            "lay": lay,
            "ra_low_um": ra[0],
            "ra_high_um": ra[1],
            "sample": sample,
            "sample_facts": facts,
            "asks": tuple(what for key, what in SAMPLE_ASKS.items() if key not in given) if sample else (),
            **values,
        }
    )


def _sample_facts(fields: Fields) -> tuple[tuple[str, str], ...]:
    """What was said about the sample besides its texture, lay and Ra, as it was written."""
    found: list[tuple[str, str]] = []
    for key in SAMPLE_ASKS:
        if key in ("lay", "ra") or fields.get(key) is None:
            continue
        if key == "cutoff":
            fields.quantity("cutoff")
        text = fields.text(key, longest=160)
        if text is not None:
            found.append((key, text))
    return tuple(found)


def _names_angle(text: str) -> bool:
    return re.search(r"\d\s*(°|deg)", text) is not None
