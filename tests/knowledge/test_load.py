"""The loader: all of the knowledge or none of it, every fault at once, a fingerprint and a store."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from advisor import store
from advisor.errors import KnowledgeError
from advisor.knowledge import cache
from advisor.knowledge.base import Knowledge
from advisor.knowledge.files import read_files
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.locate import knowledge_folder
from advisor.knowledge.parse import parse_knowledge
from tests.small import rule_text

ROOT = knowledge_folder()
RULE = "rules/added.yaml"
ADDED = rule_text(
    when="{defect: spatter}",
    source="common-practice",
    examples="[{given: {defect: spatter}, expect: fires}, {given: {defect: burr}, expect: silent}]",
)
OTHER = ADDED.replace("a-case", "other-case")


@pytest.fixture(scope="module")
def bare() -> dict[str, bytes]:
    """The packaged tables and words without their rules: quick to read again and again."""
    return {name: content for name, content in read_files(ROOT).items() if not name.startswith("rules/")}


def parsed(files: dict[str, bytes], **more: str) -> Knowledge:
    changed = {f"rules/{name}.yaml": text.encode() for name, text in more.items()}
    knowledge, problems = parse_knowledge({**files, **changed}, ROOT)
    assert not problems, problems
    assert knowledge is not None
    return knowledge


def refused(files: dict[str, bytes]) -> list[str]:
    return [str(problem) for problem in parse_knowledge(files, ROOT)[1]]


# ------------------------------------------------------------------ the packaged knowledge


def test_the_packaged_knowledge_loads_without_a_fault() -> None:
    knowledge = load_knowledge(use_cache=False)
    assert len(knowledge.rules) == len({rule.id for rule in knowledge.rules}) >= 240
    assert knowledge.fingerprint.startswith("sha256:")


def test_everything_the_knowledge_places_is_heard_somewhere() -> None:
    knowledge = load_knowledge()
    placed = {rule.id for place in knowledge.places for rule in place.rules}
    assert placed == {rule.id for rule in knowledge.rules if rule.status != "retired"}


# ------------------------------------------------------------------ all faults at once


def test_faults_of_all_files_are_told_at_once(bare: dict[str, bytes]) -> None:
    files = {
        **bare,
        "vocabulary.yaml": bare["vocabulary.yaml"].replace(b"set by: plan", b"set by: plann", 1),
        "reference/symptoms.yaml": bare["reference/symptoms.yaml"].replace(b"source:", b"sourze:", 1),
        "rules/one.yaml": b"- rule: [",
        "rules/two.yaml": ADDED.replace("spatter", "spater", 1).encode(),
        "rules/three.yaml": (OTHER + OTHER).encode(),
        "rules/four.yaml": ADDED.replace("a-case", "fourth-case").encode() + b"  overrides: [othr-case]\n",
    }
    said = "\n".join(refused(files))
    for part in (
        "vocabulary.yaml",
        "'plann'",
        "symptoms.yaml",
        "sourze",
        "one.yaml",
        "not YAML",
        "two.yaml:3:18",
        "nearest: spatter",
        "three.yaml:10:9: the rule id stands already at",
        "four.yaml:1:9",
        "overrides an unknown rule",
        "nearest: other-case",
    ):
        assert part in said, part


def test_an_overridden_rule_that_is_itself_faulty_is_not_called_unknown(bare: dict[str, bytes]) -> None:
    files = {**bare, RULE: (ADDED.replace("form", "frm") + OTHER + "  overrides: [a-case]\n").encode()}
    assert not any("overrides an unknown rule" in problem for problem in refused(files))


def test_overrides_that_lead_back_are_refused(bare: dict[str, bytes]) -> None:
    circle = ADDED + "  overrides: [other-case]\n" + OTHER + "  overrides: [a-case]\n"
    said = refused({**bare, RULE: circle.encode()})
    assert any("a-case and other-case override each other in a circle" in problem for problem in said)
    own = refused({**bare, RULE: (ADDED + "  overrides: [a-case]\n").encode()})
    assert any("a-case and a-case override each other" in problem for problem in own)


def test_a_table_that_is_missing_and_one_that_nobody_knows_are_told(bare: dict[str, bytes]) -> None:
    files = dict(bare)
    files["reference/aloys.yaml"] = files.pop("reference/alloys.yaml")
    said = "\n".join(refused(files))
    assert "alloys.yaml: missing table" in said
    assert "no table has this name, given 'aloys'" in said
    assert "nearest: alloys" in said


def test_a_folder_that_is_not_knowledge_is_refused(tmp_path: Path) -> None:
    with pytest.raises(KnowledgeError, match="not a folder with knowledge"):
        load_knowledge(tmp_path / "nothing", use_cache=False)
    with pytest.raises(KnowledgeError) as caught:
        load_knowledge(tmp_path, use_cache=False)
    assert {Path(problem.place).name for problem in caught.value.problems} == {
        "vocabulary.yaml",
        "sources.yaml",
        "words.yaml",
    }


def test_text_that_is_not_utf8_is_refused_with_its_file(bare: dict[str, bytes]) -> None:
    assert any("added.yaml" in item and "UTF-8" in item for item in refused({**bare, RULE: b"- rule: \xff"}))


# ------------------------------------------------------------------ the fingerprint


def test_moving_a_rule_or_a_comment_leaves_the_fingerprint(bare: dict[str, bytes]) -> None:
    print_of = parsed(bare, one=ADDED + OTHER).fingerprint
    assert parsed(bare, one=OTHER + ADDED).fingerprint == print_of
    assert parsed(bare, one=f"# why\n\n{ADDED}\n# and\n{OTHER}").fingerprint == print_of
    assert parsed(bare, one=ADDED, two=OTHER).fingerprint == print_of
    assert parsed(bare, renamed=ADDED + OTHER).fingerprint == print_of
    assert parsed(bare, one=ADDED.replace("It is so.", "'It   is so.'") + OTHER).fingerprint == print_of


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("a-case", "another-case"),
        ("A case", "The case"),
        ("{defect: spatter}\n", "{defect: burr}\n"),
        ("{defect: spatter}\n", "{depth_mm: {at most: 3}}\n"),
        ("backing: J", "backing: X"),
        ("should", "may"),
        ("form", "look"),
        ("It is so.", "It is not so."),
        ("Parts that", "Things that"),
        ("common-practice", "{source: common-practice, place: table 3}"),
        ("common-practice", "from-memory"),
        ("expect: silent", "expect: silent}, {given: {}, expect: silent"),
        ("source:", "status: on trial\n  source:"),
        ("source:", "unless: {cell.wet: true}\n  source:"),
        ("source:", "overrides: [other-case]\n  source:"),
    ],
)
def test_any_change_of_content_changes_the_fingerprint(bare: dict[str, bytes], old: str, new: str) -> None:
    assert old in ADDED
    changed = ADDED.replace(old, new, 1)
    assert parsed(bare, one=changed + OTHER).fingerprint != parsed(bare, one=ADDED + OTHER).fingerprint


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("vocabulary.yaml", b"title: stage of the work", b"title: stage of work"),
        ("vocabulary.yaml", b"options: [closed, open]", b"options: [open, closed]"),
        ("reference/coefficients.yaml", b"expected: ", b"expected: 1"),
        ("reference/alloys.yaml", b"name: ", b"name: A "),
        ("sources.yaml", b"title: ", b"title: A "),
    ],
)
def test_a_change_of_a_word_a_row_or_a_source_changes_the_fingerprint(
    bare: dict[str, bytes], file: str, old: bytes, new: bytes
) -> None:
    assert old in bare[file]
    changed = {**bare, file: bare[file].replace(old, new, 1)}
    knowledge, _ = parse_knowledge(changed, ROOT)
    assert knowledge is not None
    assert knowledge.fingerprint != parsed(bare).fingerprint


# ------------------------------------------------------------------ the store


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, bare: dict[str, bytes]) -> Path:
    """A folder of knowledge with one rule, and an empty store of its own."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "store"))
    root = tmp_path / "knowledge"
    for name, content in {**bare, RULE: ADDED.encode()}.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_bytes(content)
    return root


def entries(shop: Path) -> list[Path]:
    return sorted((shop.parent / "store").rglob("*.json"))


def test_what_comes_from_the_store_is_what_was_parsed(shop: Path) -> None:
    first = load_knowledge(shop)
    assert len(entries(shop)) == 1
    stored = cache.fetch(read_files(shop), shop)
    assert stored == first == load_knowledge(shop, use_cache=False)
    assert stored.model_dump_json() == first.model_dump_json()
    assert stored.places == first.places


def test_the_store_is_never_trusted_when_the_content_differs(shop: Path) -> None:
    assert load_knowledge(shop).rules[0].title == "A case"
    (shop / RULE).write_text(ADDED.replace("A case", "A changed case"))
    assert load_knowledge(shop).rules[0].title == "A changed case"
    (shop / RULE).unlink()
    assert load_knowledge(shop).rules == ()


def test_a_fault_is_told_again_whatever_the_store_holds(shop: Path) -> None:
    load_knowledge(shop)
    (shop / RULE).write_text(ADDED.replace("spatter", "spater", 1))
    for _ in range(2):
        with pytest.raises(KnowledgeError, match="spater"):
            load_knowledge(shop)
    assert len(entries(shop)) == 1


@pytest.mark.parametrize("damage", ["empty", "cut", "turned", "noise", "not ours"])
def test_a_damaged_entry_is_ignored_and_replaced(shop: Path, damage: str) -> None:
    first = load_knowledge(shop)
    (entry,) = entries(shop)
    whole = entry.read_bytes()
    middle = len(whole) // 2
    entry.write_bytes(
        {
            "empty": b"",
            "cut": whole[:middle],
            "noise": b"\xff\x00" * 100,
            "turned": whole[:middle] + bytes([whole[middle] ^ 1]) + whole[middle + 1 :],
            "not ours": b"{}\n{}",
        }[damage]
    )
    assert cache.fetch(read_files(shop), shop) is None
    assert load_knowledge(shop) == first
    assert entry.read_bytes() == whole


def test_an_entry_whose_body_was_tampered_with_is_ignored(shop: Path) -> None:
    load_knowledge(shop)
    (entry,) = entries(shop)
    checksum, _, body = entry.read_bytes().partition(b"\n")
    forged = body.replace(b'"A case"', b'"A trap"')
    assert forged != body
    for line in (checksum, hashlib.sha256(forged).hexdigest().encode()):
        entry.write_bytes(line + b"\n" + forged)
        assert load_knowledge(shop).rules[0].title == "A case"


def test_an_entry_moved_to_the_address_of_other_content_is_ignored(shop: Path) -> None:
    load_knowledge(shop)
    (entry,) = entries(shop)
    (shop / RULE).write_text(ADDED.replace("A case", "A changed case"))
    entry.rename(entry.with_name(f"{cache.address(read_files(shop), shop)}.json"))
    assert load_knowledge(shop).rules[0].title == "A changed case"


def test_the_same_content_in_another_folder_names_its_own_places(shop: Path, tmp_path: Path) -> None:
    load_knowledge(shop)
    moved = shop.rename(tmp_path / "moved")
    assert load_knowledge(moved).rules[0].place == f"{moved / RULE}:1:9"


def test_a_store_that_cannot_be_written_is_done_without(
    shop: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    blocked = tmp_path / "a-file"
    blocked.write_text("not a folder")
    monkeypatch.setenv("XDG_CACHE_HOME", str(blocked))
    assert load_knowledge(shop).rules[0].id == "a-case"
    assert blocked.read_text() == "not a folder"


def test_a_half_written_entry_leaves_nothing_behind(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def failing(*names: object) -> None:
        raise OSError("the disk is full")

    monkeypatch.setattr(store.os, "replace", failing)
    assert load_knowledge(shop).rules[0].id == "a-case"
    assert [path for path in (shop.parent / "store").rglob("*") if path.is_file()] == []
