"""The HTML sheet: one file that needs nothing else, harmless whatever a job is called, the same every time."""

from __future__ import annotations

import re
import subprocess
import sys
from functools import cache
from html.parser import HTMLParser
from typing import Any

import pytest

from advisor.render.html import to_html
from advisor.render.markdown import to_markdown
from advisor.sheet.model import Sheet, Totals
from tests.sheet.sample import sample_sheet

UNITS = pytest.mark.parametrize("units", ["si", "us"])
VOID = {"meta", "link", "br", "hr", "img", "input", "path", "use", "rect"}

HOSTILE = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)></style></svg></title><b>bold</b>',
    "&lt;b&gt; &#60;script&#62; ]]> <!-- --> {{ 7 * 7 }} {% raw %}",
    "' onmouseover='alert(1)' javascript:alert(1)",
    "\u202egnirts\u200b\x07\x1b[31m\x00 $x^2$ a_b",
)


class Page(HTMLParser):
    """A page taken apart: its elements with their attributes, and its text."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.text = ""
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        self.text += " "  # a cell ends a word
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if tag not in VOID:
            assert self.open.pop() == tag, f"</{tag}> closes nothing"

    def handle_data(self, data: str) -> None:
        self.text += data

    def of(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.elements if name == tag]


def hostile_sheet(text: str) -> Sheet:
    """The sample with a text of the user's in every place that a job can fill."""
    sheet = sample_sheet()
    sweep, pad, pocket = sheet.features
    steps = tuple(step.model_copy(update={"station": text, "direction": text}) for step in sweep.steps)
    assert sheet.first_try is not None
    return sheet.model_copy(
        update={
            "job": {"name": text},
            "features": (sweep.model_copy(update={"name": text, "steps": steps}), pad, pocket),
            "asked": tuple(line.model_copy(update={"label": text, "text": text}) for line in sheet.asked),
            "cautions": (sheet.cautions[0].model_copy(update={"text": text, "features": (text,)}),),
            "assumed": (sheet.assumed[0].model_copy(update={"field": text, "value": text}),),
            "measure_next": (text,),
            "first_try": sheet.first_try.model_copy(update={"start_with": text}),
            "rivals": (sheet.rivals[0].model_copy(update={"feature": text, "why": text}),),
            "operations": (sheet.operations[0].model_copy(update={"station": text, "serves": (text,)}),),
            "totals": Totals(steps=5, time_s=sheet.totals.time_s, cost=sheet.totals.cost, currency=text),
        }
    )


@pytest.fixture(scope="module")
def page() -> str:
    return to_html(sample_sheet())


def test_every_element_is_closed_and_no_id_comes_twice(page: str) -> None:
    parsed = Page(page)
    assert parsed.open == []
    ids = [attributes["id"] for _, attributes in parsed.elements if "id" in attributes]
    assert len(ids) == len(set(ids)) > 30


def test_every_link_leads_to_a_place_on_the_page(page: str) -> None:
    parsed = Page(page)
    ids = {attributes.get("id") for _, attributes in parsed.elements}
    links = [str(attributes["href"]) for attributes in parsed.of("a")]
    assert len(links) > 30 and all(link[0] == "#" and link[1:] in ids for link in links)


def test_the_file_needs_nothing_else_and_may_load_nothing(page: str) -> None:
    parsed = Page(page)
    assert not parsed.of("script") and not parsed.of("iframe") and not parsed.of("img")
    loads = [
        value
        for _, attributes in parsed.elements
        for name, value in attributes.items()
        if name in {"src", "href", "xlink:href", "action", "data"} and not str(value).startswith("#")
    ]
    assert loads == ["data:,"]  # an empty icon, so that the browser asks nobody for one
    assert "url(" not in page.replace("url(#", "") and "@import" not in page
    (policy,) = (each for each in parsed.of("meta") if each.get("http-equiv") == "Content-Security-Policy")
    rules = dict(rule.strip().split(" ", 1) for rule in str(policy["content"]).split(";"))
    assert rules["default-src"] == "'none'" and "unsafe" not in str(policy["content"])


def test_no_style_stands_on_an_element_since_the_policy_would_drop_it(page: str) -> None:
    assert not [tag for tag, attributes in Page(page).elements if "style" in attributes]


def test_the_same_sheet_gives_the_same_bytes_in_another_process(page: str) -> None:
    code = (
        "import sys; from advisor.render.html import to_html; from tests.sheet.sample import sample_sheet;"
        "sys.stdout.buffer.write(to_html(sample_sheet()).encode())"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True)
    assert done.stdout == page.encode()


def test_it_keeps_to_its_size(page: str) -> None:
    assert len(page.encode()) <= 400_000


@cache
def _plain() -> Page:
    return Page(to_html(hostile_sheet("plain")))


@pytest.mark.parametrize("hostile", HOSTILE)
def test_text_from_a_job_cannot_bring_in_markup(hostile: str) -> None:
    plain, parsed = _plain(), Page(to_html(hostile_sheet(hostile)))
    for tag in {name for name, _ in [*plain.elements, *parsed.elements]} - {"use", "defs", "path", "text", "g"}:
        assert len(parsed.of(tag)) == len(plain.of(tag)), tag
    names = {name for _, attributes in parsed.elements for name in attributes}
    assert names == {name for _, attributes in plain.elements for name in attributes}
    assert not [name for name in names if name.startswith("on")]
    shown = re.sub(r"\s+", " ", re.sub(r"[\x00-\x08\x0e-\x1f\u200b\u202e]", "", hostile)).strip()
    assert shown in parsed.text
    assert not re.search(r"[\u200b\u202e\x07\x1b\x00]", parsed.text)


@UNITS
def test_the_page_says_all_that_the_markdown_sheet_says(units: Any) -> None:
    """Every number and word of the one is in the other, since both are made from the same sentences."""
    told = re.sub(r"^#.*", "", to_markdown(sample_sheet(), units), flags=re.MULTILINE)  # headings may differ
    plain = re.sub(r"[*|#-]+", " ", re.sub(r"\\(.)", r"\1", told))
    missing = _said(plain) - _said(Page(to_html(sample_sheet(), units)).text)
    assert not missing


def _said(text: str) -> set[str]:
    """Words and numbers, whether or not they begin or end a sentence."""
    return {word.rstrip(".").lower() for word in re.findall(r"[\w.]+", text)}


@UNITS
def test_every_picture_is_told_in_words(units: Any) -> None:
    text = to_html(sample_sheet(), units)
    pictures = re.findall(r"<figure>.*?</figure>", text, re.DOTALL)
    assert len(pictures) >= 7
    for picture in pictures:
        caption = re.search(r"<figcaption>(.*?)</figcaption>", picture, re.DOTALL)
        words = re.search(r"<desc id=\"[\w-]+\">(.*?)</desc>", picture, re.DOTALL)
        assert caption and words and 'role="img"' in picture
        assert re.search(r"[Tt]he tables?|[Tt]he list", caption[1])  # where the numbers stand in text
        assert len(words[1]) > 60
    told = " ".join(re.findall(r"<desc[^>]*>(.*?)</desc>", text, re.DOTALL))
    for feature in sample_sheet().features:
        for step in feature.steps:
            assert f"Step {step.number}, {step.stage}: " in told
            if step.rpm is not None:
                assert f"{step.rpm} rpm" in told


def test_letters_stay_letters_in_the_pictures(page: str) -> None:
    svg = " ".join(re.findall(r"<svg.*?</svg>", page, re.DOTALL))
    assert ">P80 belt over a contact wheel</text>" in svg and "asked for" in svg


def test_colours_come_from_the_page_so_that_dark_and_print_hold(page: str) -> None:
    svg = " ".join(re.findall(r"<svg.*?</svg>", page, re.DOTALL))
    assert not re.findall(r"#[0-9a-f]{6}", svg)
    classes = set(re.findall(r"[fs]-[a-z]+", " ".join(re.findall(r'class="([^"]*)"', svg))))
    style = page[page.index("<style>") : page.index("</style>")]
    assert classes and all(f".{name} " in style for name in classes)


def test_a_refused_face_says_what_is_in_the_way_and_has_no_picture(page: str) -> None:
    section = page[page.index('id="face-3"') : page.index('id="first-try"')]
    assert "No plan for this face" in section and "What would open it" in section and "<svg" not in section


def test_matplotlib_is_loaded_only_to_draw() -> None:
    code = "import advisor.render.html, advisor.cli.app, sys; sys.exit('matplotlib' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_what_the_user_has_set_for_other_drawings_changes_nothing(page: str) -> None:
    import matplotlib as mpl

    with mpl.rc_context({"font.size": 30.0, "svg.fonttype": "path", "axes.facecolor": "red"}):
        assert to_html(sample_sheet()) == page


def test_the_drivers_of_the_total_are_drawn_and_told() -> None:
    from tests.render.test_cards import priced_sheet

    text = to_html(priced_sheet())
    section = text[text.index('id="total"') : text.index("Other chains")]
    assert section.count("<svg") == 1 and "all as expected: 4.2 EUR" in section
    told = re.search(r"<desc id=\"total-d\">(.*?)</desc>", section, re.DOTALL)
    assert told and told[1] == (
        "Specific energy of the metal: 3.1 EUR at its low end, 5.6 EUR at its high end. "
        "Force ratio: 4.9 EUR at its low end, 3.8 EUR at its high end."
    )
    for wanted in ("20 to 45 J/mm3", "0.3 to 0.5", "about 4.2 EUR (3.2 to 6 EUR)", "about 17 (8 to 40)"):
        assert wanted in section, wanted
    assert to_html(priced_sheet()) == text


def test_a_sheet_without_prices_has_no_picture_of_them(page: str) -> None:
    assert 'id="total"' not in page


def test_the_first_try_names_its_face_where_there_are_several() -> None:
    sheet = sample_sheet()
    assert sheet.first_try is not None
    tried = sheet.model_copy(
        update={"first_try": sheet.first_try.model_copy(update={"feature": "foot pad"})}
    )
    assert "<strong>Try first on foot pad:</strong>" in to_html(tried)
    assert "**Try first on foot pad:**" in to_markdown(tried)
