"""Names that a job may carry, taken the whole way: no output lets one act as markup, a link or a formula."""

from __future__ import annotations

import csv
import io
import re
from functools import cache

import pytest
from markdown_it import MarkdownIt

from advisor.batch.table import to_csv
from advisor.batch.table import to_markdown as table_markdown
from advisor.batch.task import Line
from advisor.render.cards.show import CARDS, card_html, card_markdown
from advisor.render.html import to_html
from advisor.render.markdown import to_markdown
from advisor.render.program import NoRobot, program_csv
from advisor.sheet.model import Past, Sheet
from tests import invented
from tests.render.test_html_view import Page

NAMES = (
    "<script>alert(1)</script>",
    "[rim](javascript:alert(1)) ![x](http://x.invalid/x.png) <http://x.invalid>",
    "a | b **bold** `code` # head",
    "=HYPERLINK(0)",
    "{{ 7 * 7 }} {% raw %} &lt;b&gt;",
    "'\" onmouseover='alert(1)",
)


@cache
def _sheet(name: str) -> Sheet:
    """A job that calls itself, its face and its station so, with a trial of somebody's beside it."""
    station = {"name": name, "takes": ["belt", "nonwoven-belt"], "power": "3 kW", "speed": ["600 rpm", "3600 rpm"],
               "wheel_diameter": "250 mm"}  # fmt: skip
    cell = {"operator": "robot", "handling": ["part-in-hand"], "wet": False, "media_history": "clean",
            "stations": [station], "rates": {"hour": 55, "currency": "EUR"}}  # fmt: skip
    job = invented.job_of(
        name, alloy="s30400", finish="satin-fine", start={"defect": "machining-marks"}, cell=cell,
        features=[{"name": name, "shape": "flat", "width": "40 mm", "area": "60 cm2"}],
    )  # fmt: skip
    sheet = invented.recommend(job, invented.desk())
    past = Past(
        feature=name, trial=name, job=name, worked=name, step=1, points=1.0, because=(name,), tried=name,
        verdict="pass", note=name,
    )  # fmt: skip
    return sheet.model_copy(update={"past": (past,)})


def _acts(markdown: str) -> list[str]:
    """What a Markdown page has beside text, headings, lists, tables and emphasis."""
    page = str(MarkdownIt("commonmark", {"html": True}).enable("table").render(markdown))
    plain = re.compile(r"</?(?:h[1-4]|ul|ol|li|p|strong|em|table|thead|tbody|tr|t[hd]|hr /)>")
    return re.findall(r"<[^>]*>", plain.sub("", page))


@pytest.mark.parametrize("name", NAMES)
def test_no_name_acts_in_markdown(name: str) -> None:
    sheet = _sheet(name)
    assert sheet.features[0].steps
    for text in (to_markdown(sheet), *(card_markdown(sheet, view) for view in CARDS)):
        assert _acts(text) == []


@pytest.mark.parametrize("name", NAMES)
def test_no_name_acts_in_html(name: str) -> None:
    sheet = _sheet(name)
    for text in (to_html(sheet), *(card_html(sheet, view) for view in CARDS)):
        page = Page(text)
        assert page.open == [] and name in re.sub(r"\s+", " ", page.text)
        assert not [tag for tag, _ in page.elements if tag in {"script", "img", "iframe", "object", "b"}]
        links = [str(each.get("href")) for each in page.of("a")]
        assert all(link.startswith("#") for link in links)
        assert not [key for _, attributes in page.elements for key in attributes if key.startswith("on")]


@pytest.mark.parametrize("name", NAMES)
def test_no_name_acts_in_a_spreadsheet(name: str) -> None:
    program = program_csv(_sheet(name))
    assert not isinstance(program, NoRobot)
    lines = (Line(source=name, name=name, status="wrong", reason=name),)
    for text in (program, to_csv(lines)):
        cells = [cell for row in csv.reader(io.StringIO(text)) for cell in row]
        assert any(name[:6] in cell for cell in cells)
        assert not [cell for cell in cells if re.match(r"\s*[=+@]|\s*-(?![\d.])", cell)]
    assert _acts(table_markdown(lines)) == []
