"""The printed sheet: cautions first, every setting and reason there, and no text that breaks the page."""

from __future__ import annotations

import re
import subprocess
import sys
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from advisor.reasons import split_sources
from advisor.render.markdown import to_markdown
from advisor.render.quantities import DECISION_UNITS
from advisor.render.trail import FROM_MEMORY, UNSEEN
from advisor.render.words import escape, table
from advisor.sheet.model import Asked, PathRival, Sheet
from tests import invented
from tests.sheet.sample import PRACTICE, sample_sheet

UNITS = pytest.mark.parametrize("units", ["si", "us"])


def _with(**changes: Any) -> Sheet:
    return sample_sheet().model_copy(update=changes)


def _html(text: str) -> str:
    return str(MarkdownIt("commonmark", {"html": True}).enable("table").render(text))


def _tables(text: str) -> list[list[str]]:
    blocks = re.split(r"\n\n+", text)
    return [block.splitlines() for block in blocks if block.startswith("|")]


@UNITS
def test_cautions_come_before_everything_else(units: Any) -> None:
    text = to_markdown(sample_sheet(), units)
    heads = [line for line in text.splitlines() if line.startswith("#")]
    assert heads[0] == "# Process sheet: gate-latch"
    assert heads[1].startswith("## Cautions")
    last = max(text.index(caution.text) for caution in sample_sheet().cautions)
    assert last < text.index("## The answer") < text.index("## Set up") < text.index("## Appendix")


def test_a_sheet_without_cautions_has_no_empty_head() -> None:
    assert "Cautions" not in to_markdown(_with(cautions=()))


@UNITS
def test_every_reason_is_in_the_trail_with_its_source_in_words(units: Any) -> None:
    text = to_markdown(sample_sheet(), units)
    trail = text[text.index("## Why") :]
    titles = {key: found.title for key, found in sample_sheet().sources.items() if found.words != PRACTICE}
    for key, reason in sample_sheet().reasons.items():
        line = next(line for line in trail.splitlines() if re.match(rf"- \*\*(r\d+, )*{key}(, r\d+)*\*\* ", line))
        assert reason.text.rsplit(" ", maxsplit=1)[1] in line
        assert reason.rule is None or f"rule {reason.rule}" in line
        assert reason.source_kind is None or reason.source_kind.replace(UNSEEN, FROM_MEMORY) in line
        for source in split_sources(reason.source):
            if source in titles:
                mark = next(each for each in trail.splitlines() if titles[source] in each).split("**")[1]
                assert mark in re.split(r"[ ,;*]", line)
    assert "alloy lead: not known" in trail


@UNITS
def test_every_value_points_to_its_reasons(units: Any) -> None:
    trail = to_markdown(sample_sheet(), units).split("## Why")[1]
    for feature in sample_sheet().features:
        for step in feature.steps:
            line = next(
                each
                for each in trail.splitlines()
                if each.startswith(f"- {feature.name}, step {step.number}: ")
            )
            for ids in step.reasons.values():
                assert f"({', '.join(ids)})" in line


def test_a_machine_can_be_set_from_it() -> None:
    text = to_markdown(sample_sheet())
    for wanted in (
        "ceramic alumina", "P80 ", "J cloth", "40 Shore A", "rubber", "200 mm (7.87 in)", "2101", "22 (4300); 20 to 25",
        "20 to 25 (3900 to 4900)", "45 (10); 30 to 60",
        "3 mm (0.12 in)", "2101; 1910 to 2387", "| 30 (1.2) ", "30 to 60 (6.7 to 13)", "across the parting line",
        "fine web",
    ):  # fmt: skip
        assert wanted in text, wanted


def test_us_units_come_first_when_asked_for() -> None:
    text = to_markdown(sample_sheet(), "us")
    for wanted in (
        "7.87 in (200 mm)", "4331 (22); 3937 to 4921", "3937 to 4921 (20 to 25)", "10.1 (45)",
        "9.84 (250); 7.09 to 13.4",
    ):  # fmt: skip
        assert wanted in text, wanted


def test_with_us_units_every_p_grade_has_its_ansi_grade_beside_it() -> None:
    us, si = to_markdown(sample_sheet(), "us"), to_markdown(sample_sheet(), "si")
    found = re.findall(r"\bP(\d+)\b(.{0,12})", us)
    assert len(found) > 10
    assert all(rest.startswith(f" (ANSI {size})") for size, rest in found)
    assert "ANSI" not in si


@UNITS
def test_a_grade_never_stands_without_its_scale(units: Any) -> None:
    for rows in _tables(to_markdown(sample_sheet(), units)):
        head = [cell.strip() for cell in rows[0].strip("|").split("|")]
        if "Grade" in head:
            grades = [row.strip("|").split("|")[head.index("Grade")].strip() for row in rows[2:]]
            assert all(
                re.fullmatch(r"P\d+( \(ANSI \d+\))?|[a-z ]+ (web|compound)", grade) for grade in grades
            )


def test_a_limit_on_speed_is_never_rounded_up() -> None:
    assert 7870 <= 40 / 0.00508 < 7900  # 1 ft/min is 0.00508 m/s
    assert "40 m/s (7870 ft/min)" in to_markdown(sample_sheet())


def test_a_refusal_is_explained() -> None:
    text = to_markdown(sample_sheet())
    part = text[text.index("## inner pocket") : text.index("## Set up")]
    assert "No plan for this face" in part
    assert "No wheel in this cell enters a 4 mm (0.16 in) radius." in part
    assert "allowed 3.6 mm" in part
    assert "What would open it" in part
    assert "| Step" not in part


@pytest.mark.parametrize(
    "wanted",
    [
        "The line is gone",
        "## If it looks like this instead",
        "**Try first:** P120 belt",
        "If that is too weak",
        "If that is too strong",
        "Parts to set aside",
        "Wash, dry and look for rust",
        "features[outer sweep].start.depth = 0.25 mm",
        "The height of the parting line",
        "fine web non-woven flap wheel; 91 s; 1.62 EUR; lost on cost; About a seventh slower",
        "why not X cloth (backing): lost on form.",
        "The cover is thinner than the formula was made for.",
        "An emulsion would keep the face cooler",
        "the plain one is kept",
        "A file belt would reach the pocket",
        "struck by closed-coat-tough",
        "Pickling takes the tint",
        "| 170 mm (6.69 in) | 1685",
        "48 C (86 F) of 180 C (320 F)",
    ],
)
def test_nothing_of_the_sheet_is_lost(wanted: str) -> None:
    assert wanted in to_markdown(sample_sheet())


def test_the_foot_names_version_and_knowledge_and_leaves_the_last_word_to_people() -> None:
    foot = to_markdown(sample_sheet()).splitlines()[-1]
    assert "0.1.0" in foot and "0f1e2d3c4b5a" in foot and "sha256" not in foot
    assert (
        "A starting point for a trial on scrap; local codes, makers' markings and qualified people decide"
        in foot
    )


@UNITS
def test_the_text_is_clean(units: Any) -> None:
    text = to_markdown(sample_sheet(), units)
    assert not re.search(r"[ \t]$", text, re.MULTILINE)
    assert "\n\n\n" not in text
    assert text.endswith(".\n") and "\r" not in text
    assert "None" not in text and "{{" not in text
    assert ".." not in text.replace("...", "")


@UNITS
def test_tables_are_even_and_fit_the_page(units: Any) -> None:
    tables = _tables(to_markdown(sample_sheet(), units))
    assert len(tables) == 6
    for rows in tables:
        assert len({len(re.findall(r"(?<!\\)\|", row)) for row in rows}) == 1
        assert len({len(row) for row in rows}) == 1
        assert len(rows[0]) <= 152
    assert _html(to_markdown(sample_sheet(), units)).count("<table>") == len(tables)


HOSTILE = [
    "a | b || c",
    "<script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    "`code` ``more`` ```",
    "line\n# heading\n| x | y |\n|---|---|\n- item",
    "carriage\r\n\r\n## head",
    "[click](javascript:alert(1)) ![pic](http://x.invalid/a.png)",
    "**bold** __bold__ _it_ ~~gone~~",
    "&lt;b&gt; &#60;script&#62;",
    "# head",
    "1. one",
    "- item",
    "> quote",
    "---",
    "{{ 7 * 7 }} {% raw %}",
    "back\\slash \\",
    "\u202egnirts\u200b\x07\x1b[31m",
    "paragraph\u2029# head\u2028| x |",
]


def _hostile_sheet(text: str) -> Sheet:
    sheet = sample_sheet()
    sweep, pad, pocket = sheet.features
    steps = tuple(step.model_copy(update={"station": text, "direction": text}) for step in sweep.steps)
    assert sheet.first_try is not None
    return sheet.model_copy(
        update={
            "job": {"name": text},
            "features": (sweep.model_copy(update={"name": text, "steps": steps}), pad, pocket),
            "asked": (Asked(label=text, text=text),),
            "cautions": (sheet.cautions[0].model_copy(update={"text": text, "features": (text,)}),),
            "assumed": (sheet.assumed[0].model_copy(update={"field": text, "value": text}),),
            "measure_next": (text,),
            "first_try": sheet.first_try.model_copy(update={"start_with": text}),
            "rivals": (sheet.rivals[0].model_copy(update={"feature": text, "why": text}),),
            "operations": (sheet.operations[0].model_copy(update={"station": text, "serves": (text,)}),),
        }
    )


def _shape(text: str) -> list[str]:
    """The structure of the page: its tags without their text and without the emphasis of one line."""
    return re.findall(
        r"</?(?:h\d|table|tr|t[hd]|li|ul|ol|p|blockquote|pre|code|a|img|hr|script|del)\b", _html(text)
    )


@pytest.mark.parametrize("hostile", HOSTILE)
@UNITS
def test_text_from_a_job_cannot_change_the_page(hostile: str, units: Any) -> None:
    plain = to_markdown(_hostile_sheet("plain"), units)
    page = to_markdown(_hostile_sheet(hostile), units)
    assert _shape(page) == _shape(plain)
    assert _html(page).count("<strong>") == _html(plain).count("<strong>")
    assert not re.search(r"[\u200b\u202e\x07\x1b\u2028\u2029]", page)


@given(st.text(max_size=60))
def test_no_text_can_change_a_list_or_a_table(text: str) -> None:
    line = f"- **x:** {escape(text)}\n- {escape(text)}\n\n{table(['A', 'B'], [[text, 'x'], ['y', text]])}\n"
    plain = f"- **x:** z\n- z\n\n{table(['A', 'B'], [['z', 'x'], ['y', 'z']])}\n"
    assert _shape(line) == _shape(plain)
    assert not re.search(r"[<>]", escape(text))


def test_escaped_text_still_reads_as_it_was_written() -> None:
    for text in ("a | b", "R&D <5 mm>", "*star* _under_", "`tick`", "[a](b)", "back\\slash", "1. one", "# 4"):
        shown = _html(escape(text)).removeprefix("<p>").removesuffix("</p>\n")
        assert shown.replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&") == text


def test_a_refusal_of_everything_still_prints() -> None:
    sheet = sample_sheet()
    bare = Sheet(
        program=sheet.program,
        job={},
        knowledge=sheet.knowledge,
        handling=sheet.handling.model_copy(update={"reasons": ()}),
        features=(sheet.features[2].model_copy(update={"blocked": ()}),),
    )
    text = to_markdown(bare)
    assert "Nothing in the knowledge base leads from this start to this finish." in text
    assert "unnamed job" in text and "## Why" not in text


def test_the_template_engine_is_loaded_only_to_render() -> None:
    code = "import advisor.render.markdown, advisor.render.json, sys; sys.exit('jinja2' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_two_chains_that_differ_in_the_media_alone_read_differently() -> None:
    told = [
        PathRival(feature="rim", grades=("P80", "P150"), media=media, equal=True, why="equal within a tenth")
        for media in (("file-belt", "belt"), ("file-belt", "flap-wheel"))
    ]
    text = to_markdown(_with(rivals=tuple(told), names={"belt": "belt over a wheel"}))
    lines = [line for line in text.splitlines() if line.startswith("- rim: ")]
    assert len(set(lines)) == 2
    assert "P150 belt over a wheel; equal." in lines[0]


def test_a_decision_is_shown_in_the_unit_of_the_vocabulary() -> None:
    decisions = invented.knowledge().vocabulary.decisions
    told = {key: row.unit for key, row in decisions.items() if row.unit not in (None, "1", "passes")}
    assert told == DECISION_UNITS


def test_a_length_is_not_read_in_microinches_and_a_roughness_is() -> None:
    trail = to_markdown(sample_sheet())
    assert not re.search(r"grain of [\d.]+ um \([\d.]+ uin\)", trail)
    assert re.search(r"Ra [\d.]+ (?:to [\d.]+ )?um \([\d.]+ (?:to [\d.]+ )?uin\)", trail)


def test_a_power_above_a_kilowatt_is_written_out() -> None:
    """A disc on a weld draws more than 1000 W; a figure such as 1.29e+3 is nothing to read at a machine."""
    sheet = invented.sheet_of(
        alloy="s31603", start={"defect": "weld-bead", "depth": "1 mm"}, finish="satin-medium",
        cell="robot-carried-tool", batch=25,
        features=[{"name": "seam", "shape": "flat", "width": "80 mm", "area": "240 cm2"}],
    )  # fmt: skip
    assert max(step.power_w or 0.0 for step in sheet.features[0].steps) > 1000.0
    assert not re.search(r"\d[eE][+-]\d", to_markdown(sheet))
