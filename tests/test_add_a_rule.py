"""The page that leads a shop engineer to a rule is walked word for word, on a copy of the knowledge."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from advisor.catalogue.schemas import schemas
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.strict_yaml import load, plain
from tests.documents import ROOT, Block, Desk, blocks

PAGE = (ROOT / "docs" / "how-to" / "add-a-rule.md").read_text(encoding="utf-8")
RULE = "small-bronze-round-under-a-belt"


class Walk:
    """What somebody sees who types everything on the page, from the top."""

    def __init__(self, folder: Path) -> None:
        self.desk = Desk(folder)
        self.seen: list[tuple[str, str, int]] = []
        for block in blocks(PAGE):
            if block.language == "yaml" and block.file:
                self.desk.write(block.file, block.body)
            if block.language == "console":
                for line in block.body.splitlines():
                    if line.startswith("$ "):
                        self.seen.append((line[2:], *self.desk.run(line[2:])))

    def of(self, start: str) -> list[tuple[str, int]]:
        """What the commands that start so printed, and how they ended."""
        return [(printed, code) for command, printed, code in self.seen if command.startswith(start)]


@pytest.fixture(scope="module")
def walk(tmp_path_factory: pytest.TempPathFactory) -> Walk:
    return Walk(tmp_path_factory.mktemp("walk"))


def _rules() -> list[Block]:
    return [block for block in blocks(PAGE, "yaml") if block.file]


def _slips(block: Block) -> list[str]:
    """What an editor underlines in a rule of the page."""
    rules: Any = plain(load(block.body, str(block.file)))
    validator = jsonschema.Draft7Validator(schemas(load_knowledge())["rules"])
    return [" ".join(map(str, error.absolute_path)) for error in validator.iter_errors(rules)]


def test_the_copy_and_the_packaged_knowledge_start_alike(walk: Walk) -> None:
    assert walk.of("cp ") == [("", 0)]
    packaged = {path.relative_to(ROOT / "knowledge") for path in (ROOT / "knowledge").rglob("*.yaml")}
    copied = walk.desk.folder / "our-shop"
    assert {path.relative_to(copied) for path in copied.rglob("*.yaml")} - packaged == {
        Path("rules/our-grips.yaml")
    }


def test_the_check_names_the_slips_then_the_missing_cases_then_nothing(walk: Walk) -> None:
    (first, code), (second, again), (third, last) = walk.of("advisor check")
    assert (code, again, last) == (1, 1, 0)
    assert "nearest: feature.radius_mm" in first
    assert "nearest: common-practice" in first
    assert "no example in which it is silent" in second
    assert "just past the limit" in second
    assert "nearest" not in second
    assert third.strip() == "no finding"


def test_the_mended_file_is_the_one_the_page_shows_but_for_the_case_it_asks_for(walk: Walk) -> None:
    first, last = _rules()
    mended = (walk.desk.folder / "our-shop" / "rules" / "our-grips.yaml.bak").read_text(encoding="utf-8")
    assert mended == first.body
    for wrong, right in (("feature.radius:", "feature.radius_mm:"), ("common-practise", "common-practice")):
        assert wrong in mended
        mended = mended.replace(wrong, right)
    assert last.body.startswith(mended)
    assert last.body.removeprefix(mended).count("given:") == 1


def test_the_editor_underlines_what_the_check_refuses_and_lets_the_finished_rule_through() -> None:
    first, last = _rules()
    assert sorted(_slips(first)) == ["0 examples", "0 source", "0 when"]
    assert _slips(last) == []


def test_the_impact_names_the_job_the_setting_and_the_rule(walk: Walk) -> None:
    [(printed, code)] = walk.of("advisor impact")
    assert code == 1
    assert f"New rules: {RULE}" in printed
    assert re.search(r"wheel hardness \d+ Shore A -> \d+ Shore A", printed)
    changed = [line for line in printed.splitlines() if line.startswith("jobs/")]
    assert changed
    assert printed.count(f"through the rule {RULE}") == len(changed)
    for line in changed:
        key = line.partition(":")[0]
        job = plain(load((ROOT / "knowledge" / f"{key}.yaml").read_text(encoding="utf-8"), key))["job"]
        assert load_knowledge().tables.alloys[job["alloy"]].family == "bronze", "no other metal may move"


def test_the_new_rule_is_in_use(walk: Walk) -> None:
    [(printed, code)] = walk.of("advisor rule")
    assert code == 0
    assert printed.splitlines()[:2] == [RULE, "A small bronze round shows every flat"]
    assert all(code == 0 for _, code in walk.of("advisor demo"))


def test_the_packaged_knowledge_is_left_as_it_was(walk: Walk) -> None:
    for path in (ROOT / "knowledge").rglob("*.yaml"):
        copy = walk.desk.folder / "knowledge" / path.relative_to(ROOT / "knowledge")
        assert copy.read_bytes() == path.read_bytes()
