"""The cards: what is written on one types into a trial file, what may be moved has bounds, a quote is a range."""

from __future__ import annotations

import re
from typing import Any

import pytest
import yaml

from advisor.render.cards.card import Fill, Group
from advisor.render.cards.common import revision
from advisor.render.cards.operator import operator_card
from advisor.render.cards.quote import quote
from advisor.render.cards.show import CARDS, card_html, card_markdown
from advisor.render.cards.trial import trial_card
from advisor.render.speech import Speech
from advisor.sheet.model import (
    Band,
    Driver,
    Feature,
    MediaUse,
    Sheet,
    Step,
    TotalLine,
    Totals,
    Wear,
)
from tests.render.test_html_view import HOSTILE, Page, hostile_sheet
from tests.sheet.sample import sample_sheet

UNITS = pytest.mark.parametrize("units", ["si", "us"])
VIEWS = pytest.mark.parametrize("view", list(CARDS))

# The trial file of the interface description, with every optional field written out.
TRIAL_FILE = """
used: {media: belt, grain: ceramic-alumina, grade: P80, backing: J, hardness_shore_a: 40,
       force: 45 N, surface_speed: 22 m/s, feed: 40 mm/s, passes: 6,
       lubricant: dry, wheel_diameter: 200 mm, wheel_width: 50 mm, media_age: 0, media_lot: x}
incoming: {defect: parting-line, depth: 0.25 mm, ra: 6.3 um}
measured: {ra: 1.2 um, removal: 85 um, time: 40 s, parts_per_media: 60}
roughness: {cutoff: 0.8 mm, direction: across}
symptoms: [chatter]
verdict: pass
by: initials
date: 2026-05-04
note: free text
"""


def priced_sheet(**changes: Any) -> Sheet:
    """The sample with all that a quote and a tornado are made from."""
    totals = Totals(
        time_s=Band(low=91, expected=110, high=146),
        cost=Band(low=2.0, expected=2.8, high=4.4),
        steps=5,
        currency="EUR",
        batch=400,
        batch_time_s=Band(low=50_000, expected=61_000, high=80_000),
        batch_cost=Band(low=1300, expected=1700, high=2300),
        part_time_s=Band(low=120, expected=150, high=200),
        part_cost=Band(low=3.2, expected=4.2, high=6.0),
        lines=(
            TotalLine(what="working", time_s=Band(low=91, expected=110, high=146)),
            TotalLine(what="handling", time_s=Band(low=10, expected=20, high=30)),
        ),
        media=(
            MediaUse(
                media="belt",
                grade="P80",
                serves=("outer sweep/1",),
                per_1000_parts=Band(low=8, expected=17, high=40),
                cost_per_1000=Band(low=60, expected=130, high=300),
            ),
        ),
        driven="part_cost",
        driven_total=4.2,
        drivers=(
            Driver(
                assumption="specific energy of the metal", low=3.1, high=5.6, coefficient="u",
                at_low=20.0, at_high=45.0, unit="J/mm3",
            ),
            Driver(
                assumption="force ratio", low=4.9, high=3.8, coefficient="mu", at_low=0.3, at_high=0.5, unit="1"
            ),
        ),
        excluded=("pores that only show once metal is off",),
    )  # fmt: skip
    return sample_sheet().model_copy(update={"totals": totals, **changes})


# ------------------------------------------------------------------------------------------ every card


@VIEWS
@UNITS
def test_every_caution_of_safety_stands_before_anything_to_do(view: str, units: Any) -> None:
    text = card_markdown(sample_sheet(), view, units)
    assert sample_sheet().cautions
    for caution in sample_sheet().cautions:
        assert 0 < text.index(caution.text[:20]) < text.index("###")


@VIEWS
def test_both_forms_say_the_same(view: str) -> None:
    page = Page(card_html(priced_sheet(), view))
    markdown = re.sub(r"\\(.)", r"\1", card_markdown(priced_sheet(), view))
    said = set(re.findall(r"\w[\w.]*\w|\w", re.sub(r"\[ \]|[*|#]|\.{4,}", " ", markdown)))
    assert said - set(re.findall(r"\w[\w.]*\w|\w", page.text)) == set()
    assert page.open == []


@VIEWS
def test_every_card_names_its_revision_and_leaves_the_last_word_to_people(view: str) -> None:
    text = card_markdown(sample_sheet(), view)
    assert f"Revision: {revision(sample_sheet())}" in text
    assert "local codes, makers' markings and qualified people decide" in text.splitlines()[-1]


def test_the_revision_changes_with_any_value_of_the_sheet() -> None:
    sheet = sample_sheet()
    other = sheet.model_copy(update={"measure_next": (*sheet.measure_next, "The wall.")})
    assert revision(sheet) != revision(other)
    assert revision(sheet) == revision(sample_sheet())


@VIEWS
@pytest.mark.parametrize("hostile", HOSTILE)
def test_text_from_a_job_cannot_act_on_a_card(view: str, hostile: str) -> None:
    plain, page = Page(card_html(hostile_sheet("plain"), view)), Page(card_html(hostile_sheet(hostile), view))
    assert [tag for tag, _ in page.elements] == [tag for tag, _ in plain.elements]
    assert not re.search(r"[\u200b\u202e\x07\x1b\x00]", page.text)
    lines = card_markdown(hostile_sheet(hostile), view).splitlines()
    assert len(lines) == len(card_markdown(hostile_sheet("plain"), view).splitlines())


@VIEWS
def test_a_card_of_a_refused_job_says_so_and_keeps_the_cautions(view: str) -> None:
    sheet = sample_sheet()
    refused = sheet.model_copy(update={"features": (sheet.features[2],), "operations": (), "rivals": ()})
    text = card_markdown(refused, view)
    assert "inner pocket" in text
    assert re.search("no process|no plan|without a plan", text)
    assert sheet.cautions[0].text[:20] in text
    assert Page(card_html(refused, view)).open == []


# ------------------------------------------------------------------------------------------ trial card


def test_the_blanks_of_a_trial_card_come_in_the_order_of_a_trial_file() -> None:
    wanted: list[str] = []
    for key, value in yaml.safe_load(TRIAL_FILE).items():
        wanted += [key, *value] if isinstance(value, dict) else [key]
    page = trial_card(Speech(sample_sheet(), "si")).pages[0]
    (grid,) = next(section for section in page.sections if section.grids).grids
    names = [str(row.title if isinstance(row, Group) else row[0]) for row in grid.rows]
    told = [re.split(r"[:, ]", name)[0] for name in names]
    assert [name for name in told if name != "and"] == wanted


def test_every_blank_of_a_trial_card_has_room_and_shows_what_is_planned() -> None:
    page = trial_card(Speech(sample_sheet(), "si")).pages[0]
    (grid,) = next(section for section in page.sections if section.grids).grids
    rows = {str(row[0]): row[1:] for row in grid.rows if not isinstance(row, Group)}
    assert all(isinstance(cell, Fill) for row in rows.values() for cell in row)
    planned = {name: [cell.planned for cell in row if isinstance(cell, Fill)] for name, row in rows.items()}
    assert planned["media"] == ["belt", "belt", "nonwoven-flap-wheel"]
    assert planned["force"] == ["45 N (30 to 60)", "45 N (30 to 60)", "15 N (10 to 25)"]
    assert planned["depth"][0] == "0.25 mm"
    assert planned["time"][0] == "42 s (31 to 60)"
    # ISO 4288: 0.8 mm for Ra above 0.1 up to 2 um, 2.5 mm above that up to 10 um
    assert planned["cutoff"] == ["2.5 mm", "0.8 mm", "0.8 mm"]


def test_a_trial_card_in_us_units_is_written_in_us_units() -> None:
    text = card_markdown(sample_sheet(), "trial-card", "us")
    for wanted in ("10.1 lbf (6.74 to 13.5)", "4331 ft/min (3937 to 4921)", "9.84 thou (7.09 to 13.4)", "82.7 uin"):
        assert wanted in text, wanted


def test_a_long_chain_is_divided_over_pages_that_each_carry_the_cautions() -> None:
    sheet = sample_sheet()
    sweep = sheet.features[0]
    steps = tuple(
        sweep.steps[0].model_copy(update={"number": number, "rivals": ()}) for number in range(1, 6)
    )
    long = sheet.model_copy(update={"features": (sweep.model_copy(update={"steps": steps}),)})
    pages = trial_card(Speech(long, "si")).pages
    assert [page.title for page in pages] == [
        "Face: outer sweep, steps 1, 2 and 3", "Face: outer sweep, steps 4 and 5",
    ]  # fmt: skip
    assert all(page.cautions for page in pages)


def test_a_caution_for_another_face_is_not_on_the_page_of_this_one() -> None:
    sheet = sample_sheet()
    note = sheet.cautions[0].model_copy(update={"text": "Only the pad.", "features": ("foot pad",)})
    pages = trial_card(Speech(sheet.model_copy(update={"cautions": (note,)}), "si")).pages
    assert [bool(page.cautions) for page in pages] == [False, True]


# --------------------------------------------------------------------------------------- operator card


def test_an_operator_card_names_each_permitted_adjustment() -> None:
    text = card_markdown(sample_sheet(), "operator-card")
    assert "2101 (1910 to 2387)" in text and "45 N (30 to 60)" in text and "40 mm/s (30 to 60)" in text
    for wanted in ("First-off", "After every change of media", "Reaction plan", "in on scrap", "Replaces revision"):
        assert wanted in text, wanted


def test_media_are_changed_at_a_whole_number_of_parts_rounded_down() -> None:
    sheet = sample_sheet()
    sweep = sheet.features[0]
    wear = Wear(parts_per_media=61.8, parts=Band(low=24.9, expected=61.8, high=130))
    steps = (sweep.steps[0].model_copy(update={"wear": wear}), *sweep.steps[1:])
    changed = sheet.model_copy(update={"features": (sweep.model_copy(update={"steps": steps}),)})
    assert "61 (watch from 24 on)" in card_markdown(changed, "operator-card")


def test_an_operator_works_in_the_order_of_the_machine() -> None:
    sheet = sample_sheet()
    order = ("foot pad/1", "outer sweep/1", "outer sweep/2", "outer sweep/3", "foot pad/2")
    operations = tuple(sheet.operations[0].model_copy(update={"serves": (each,)}) for each in order)
    card = operator_card(Speech(sheet.model_copy(update={"operations": operations}), "si"))
    settings = next(section for section in card.pages[0].sections if section.title.startswith("Settings"))
    rows = [row for row in settings.grids[0].rows if not isinstance(row, Group)]
    assert [str(row[0]) for row in rows] == [each.replace("/", " ") for each in order]


def test_a_remedy_for_several_steps_is_told_once() -> None:
    text = card_markdown(sample_sheet(), "operator-card")
    plan = text[text.index("### Reaction plan") :]
    assert plan.count("Old lines show through") == 1
    assert re.search(r"\| finish +\|", plan)  # both finishing steps, and no other


# ----------------------------------------------------------------------------------------------- quote


def test_a_quote_gives_ranges_and_never_a_bare_number() -> None:
    text = card_markdown(priced_sheet(), "quote")
    for wanted in (
        "about 2.5 min (2 to 3.3 min)", "about 4.2 EUR (3.2 to 6 EUR)", "about 17 h (14 to 22 h)",
        "about 1700 EUR (1300 to 2300 EUR)", "about 17 (8 to 40)", "Specific energy of the metal", "20 to 45 J/mm3",
        "Pores that only show once metal is off.",
    ):  # fmt: skip
        assert wanted in text, wanted


def test_a_quote_says_no_where_a_face_has_no_process_and_what_would_open_it() -> None:
    text = card_markdown(sample_sheet(), "quote")
    assert "No: in this cell there is no process for inner pocket." in text
    assert "cartridge rolls" in text


def test_a_quote_without_prices_says_why() -> None:
    bare = Totals(steps=1, time_s=Band(low=1, expected=2, high=3))
    text = card_markdown(sample_sheet().model_copy(update={"totals": bare}), "quote")
    assert "No cost" in text and "EUR" not in text


def test_the_chance_to_meet_the_roughness_is_told_as_a_person_bets() -> None:
    sheet = priced_sheet()
    features = tuple(face.model_copy(update={"ra_probability": 0.714}) for face in sheet.features)
    assert "about 71 %" in card_markdown(sheet.model_copy(update={"features": features}), "quote")


def test_a_card_holds_for_a_step_of_which_little_is_known() -> None:
    bare = Step(number=1, stage="clear", media="belt")
    sheet = sample_sheet()
    little = sheet.model_copy(
        update={"features": (Feature(name="rim", shape="flat", steps=(bare,)),), "operations": (), "rivals": ()}
    )
    for view in CARDS:
        assert "None" not in card_markdown(little, view)
        assert Page(card_html(little, view)).open == []
    assert quote(Speech(little, "si")).pages
