"""The documents cannot rot: examples run, outputs are the real ones, links lead somewhere."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from advisor.job import parse_job
from advisor.job.feature import FEATURE_KEYS
from advisor.job.read import JOB_KEYS
from advisor.knowledge.base import Knowledge
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.strict_yaml import load
from tests.documents import (
    MEASURED,
    PAGES,
    ROOT,
    Block,
    Desk,
    DocumentError,
    anchors,
    blocks,
    links,
    refreshed,
)
from tests.generated_parts import commands

TEXTS = {page.relative_to(ROOT).as_posix(): page.read_text(encoding="utf-8") for page in PAGES}
YAML = [(name, block) for name, text in TEXTS.items() for block in blocks(text, "yaml")]
README = TEXTS["README.md"]


@pytest.fixture(scope="module")
def knowledge() -> Knowledge:
    return load_knowledge()


@pytest.mark.parametrize("name", TEXTS)
def test_every_output_shown_is_what_the_program_prints(name: str, tmp_path: Path) -> None:
    fresh = refreshed(TEXTS[name], Desk(tmp_path))
    assert TEXTS[name].splitlines() == fresh.splitlines(), "`python -m tests.refresh_docs` shows what changed"


@pytest.mark.parametrize(("name", "block"), YAML, ids=[f"{name}-{n}" for n, (name, _) in enumerate(YAML)])
def test_every_yaml_example_is_read(name: str, block: Block, knowledge: Knowledge) -> None:
    node = load(block.body, name)
    if "job" in block.words:
        assert parse_job(node, knowledge, name).features
    elif "rule" in block.words:
        assert block.file is not None
        folder, rules, _ = block.file.split("/")
        assert rules == "rules"
        assert f"$ advisor check {folder}" in TEXTS[name], "a rule shown is a rule checked"


@pytest.mark.parametrize("name", TEXTS)
def test_every_link_leads_somewhere(name: str) -> None:
    for target in links(TEXTS[name]):
        path, _, anchor = target.partition("#")
        page = (ROOT / name).parent / path if path else ROOT / name
        assert page.exists(), target
        if anchor:
            assert anchor in _anchors(page.resolve()), target


@cache
def _anchors(page: Path) -> frozenset[str]:
    return anchors(page.read_text(encoding="utf-8"))


def test_every_page_is_reached_from_the_index_or_the_readme() -> None:
    reached: set[str] = set()
    ahead = ["README.md", "docs/index.md"]
    while ahead:
        name = ahead.pop()
        if name in TEXTS and name not in reached:
            reached.add(name)
            ahead += (_led_to(name, target) for target in links(TEXTS[name]))
    assert {name for name in TEXTS if name.startswith("docs/")} <= reached


def _led_to(name: str, target: str) -> str:
    path = (ROOT / name).parent.joinpath(target.partition("#")[0]).resolve()
    return path.relative_to(ROOT).as_posix() if path.is_relative_to(ROOT) else ""


def test_the_readme_opens_with_the_job_and_two_commands() -> None:
    paragraphs = README.split("\n\n")
    assert paragraphs[0].startswith("# ")
    assert paragraphs[1].startswith("A technician")
    first, second = list(blocks(README))[:2]
    for block in (first, second):
        assert block.language == "sh"
        assert len(block.body.splitlines()) == 1
        assert block.body.startswith("python3 -m venv .venv && ")
    assert first.body.rstrip().endswith("advisor demo")
    assert " -m pytest -q" in second.body


def test_every_command_is_documented() -> None:
    for name in commands():
        assert f"`advisor {name}" in README, name
        assert f"## advisor {name}\n" in TEXTS["docs/reference/commands.md"], name


def test_every_field_of_a_job_is_documented() -> None:
    named = set(re.findall(r"`(?:\w+\.)?(\w+)[`:]", TEXTS["docs/reference/job-file.md"]))
    assert {*JOB_KEYS, *FEATURE_KEYS} - {"part"} <= named


def test_the_comparison_of_the_matchers_is_there() -> None:
    page = TEXTS["docs/explanation/inference.md"]
    shown = page.split(f"<!-- {MEASURED} -->")[1].split("<!-- end -->")[0]
    for name in ("| durable-rules |", "| plain |"):
        assert shown.count(name) >= 2, name
    assert "all equal" in shown


def test_a_wrong_exit_code_is_noticed(tmp_path: Path) -> None:
    with pytest.raises(DocumentError, match="ended with 2, the page says 0"):
        refreshed("```console\n$ advisor rule no-such-rule\n```\n", Desk(tmp_path))


def test_a_stale_output_is_noticed(tmp_path: Path) -> None:
    stale = "```console\n$ advisor words satin | head -n 1\nsomething else\n```\n"
    fresh = refreshed(stale, Desk(tmp_path))
    assert fresh != stale
    assert fresh.lower().startswith("```console\n$ advisor words satin | head -n 1\nsatin")
