"""Each fault that the check promises to find, planted in a small base: its code, place and page are there.

The small base is the packaged vocabulary and tables with a few coefficients and no rules, so whatever is
found at a planted rule is its own.
"""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import pytest

from advisor.check.finding import Finding
from advisor.check.run import Outcome, codes, errors
from advisor.check.where import Where
from advisor.cli import checking
from advisor.cli.checking import Report, check_files, findings_json, findings_sarif, summary
from advisor.knowledge.base import Knowledge
from advisor.knowledge.files import read_files
from advisor.knowledge.locate import knowledge_folder
from tests.small import rule_text

ROOT = Path(__file__).parents[2]
Files = dict[str, bytes]

BELT = "{stage: clear, media: belt}"
CASES = "[{given: {stage: clear, media: belt}, expect: fires}, {given: {stage: finish}, expect: silent}]"


@cache
def _bare() -> Files:
    files = {
        name: text for name, text in read_files(knowledge_folder()).items() if not name.startswith("rules/")
    }
    for name, kept in (("coefficients", 2), ("symptoms", 2), ("grades", 40), ("alloys", 40)):
        rows = files[f"reference/{name}.yaml"].split(b"\n  - key:")
        files[f"reference/{name}.yaml"] = b"\n  - key:".join(rows[: kept + 1]) + b"\n"
    return files


def rule(identity: str, **fields: str | None) -> str:
    """A sound rule on a belt that clears; fields replace its own."""
    sound: dict[str, str | None] = {
        "rule": identity,
        "when": BELT,
        "then": "[{should: {backing: J}}]",
        "because": f"Because of {identity}.",
        "examples": CASES,
    }
    return rule_text(**{**sound, **fields})


def checked(*rules: str, **replaced: tuple[str, str]) -> Report:
    """The check of the small base with some rules in `rules/planted.yaml`.

    `replaced` changes the first place of a text in a file, which is named without its folder and ending.
    """
    files = dict(_bare())
    for file, (old, new) in replaced.items():
        name = f"{file}.yaml" if f"{file}.yaml" in files else f"reference/{file}.yaml"
        assert old.encode() in files[name], old
        files[name] = files[name].replace(old.encode(), new.encode(), 1)
    files["rules/planted.yaml"] = "".join(rules).encode() or b"[]"
    return check_files(files, Path("base"))


@pytest.fixture(autouse=True)
def _errors_alone_are_the_errors_of_all(monkeypatch: pytest.MonkeyPatch) -> None:
    """For every base of these tests: `errors`, which runs a few checks only, finds the errors of `examine`."""
    whole = checking.examine

    def both(knowledge: Knowledge, where: Where | None = None) -> Outcome:
        found = whole(knowledge, where)
        assert errors(knowledge) == tuple(
            each for each in found.findings if each.code.severity == "error"
        )
        return found

    monkeypatch.setattr(checking, "examine", both)


def only(report: Report, code: str, part: str = "", at: str = "base/") -> Finding:
    """The first finding of a code at a place, with everything that a finding must have."""
    found = [
        item for item in report.findings
        if item.code.code == code and part in item.says and item.place.startswith(at)
    ]  # fmt: skip
    assert found, sorted({item.code.code for item in report.findings})
    finding = found[0]
    assert finding.code is codes()[code]
    assert finding.code.severity in ("error", "warning", "note")
    assert finding.says
    assert "\n" not in finding.says
    page = (ROOT / finding.code.page).read_text(encoding="utf-8")
    assert all(text in page for text in (finding.code.what, finding.code.why, finding.code.mend))
    return finding


#: What is looked for, in the order in which it was asked for: words of the list, code, rules with the fault.
PLANTED: dict[str, tuple[str, list[str]]] = {
    "duplicate rules": ("K101", [rule("one"), rule("other")]),
    "near-duplicate rules, one condition apart": (
        "K102", [rule("one"), rule("other", when="{stage: clear, media: file-belt}",
                                   examples=CASES.replace("belt", "file-belt"))],
    ),
    "near-duplicate rules, one sentence": (
        "K104",
        [rule("one", because="A stiff cloth bridges a narrow hollow and cuts both of its rims."),
         rule("other", when="{stage: finish}", then="[{should: {media: belt}}]",
              because="A stiff cloth bridges the narrow hollow and cuts both of its rims.",
              examples="[{given: {stage: finish}, expect: fires}, {given: {stage: clear}, expect: silent}]")],
    ),
    "subsumed rules": (
        "K103", [rule("broad"), rule("narrow", when="{stage: clear, media: belt, cell.wet: true}",
                                     examples=CASES.replace("media: belt", "media: belt, cell.wet: true"))],
    ),
    "numbers in a sentence that no table or source carries": (
        "K702", [rule("loose", because="After 17 turns the cloth is worn.")],
    ),
    "soft words, optimal": ("K701", [rule("soft", because="This is the optimal cloth.")]),
    "soft words, proper": ("K701", [rule("soft", because="A proper cloth follows the curve.")]),
    "conditions that can never hold, empty intervals": (
        "K201", [rule("empty", when="{part.wall_mm: {above: 3, below: 2}}")],
    ),
    "conditions that can never hold, excluded by the vocabulary": (
        "K206", [rule("unheard", when="{stage: polish}")],
    ),
    "conditions that can never hold, a number outside its range": (
        "K206", [rule("far", when="{part.wall_mm: {above: -3}}")],
    ),
    "conditions that can never hold, presumed and so never unknown": (
        "K201", [rule("presumed", when="{alloy.lead: {known: false}}")],
    ),
    "conditions that can never hold, excluded by another condition": (
        "K202", [rule("no-metal", when="{alloy.family: zinc-die-cast, alloy.group: steel}")],
    ),
    "a value in a list that another condition excludes": (
        "K203", [rule("idle", when="{alloy.family: zinc-die-cast, alloy.group: [zinc, steel]}")],
    ),
    "unless that always holds": ("K204", [rule("silenced", unless="{stage: [clear, refine]}")]),
    "unless that never holds": ("K205", [rule("excepted", unless="{stage: finish}")]),
    "must/never contradictions": (
        "K301",
        [rule("wants", then="[{must: {backing: J}}]"),
         rule("forbids", when="{stage: clear}", then="[{never: {backing: [J, X]}}]")],
    ),
    "circular overrides": (
        "K305", [rule("one", overrides="other"), rule("other", overrides="one")],
    ),
    "circular overrides, of itself": ("K305", [rule("own", overrides="own")]),
    "sources that are cited and missing": ("K603", [rule("cites", source="a-lost-book")]),
    "sources of kind from-memory under a must outside safety": (
        "K602", [rule("demand", then="[{must: {backing: J}}]", source="from-memory")],
    ),
    "sources of kind from-memory under a never outside safety": (
        "K602", [rule("demand", then="[{never: {backing: J}}]", source="from-memory")],
    ),
    "must with a concern that may not carry it": (
        "K309", [rule("demand", then="[{must: {backing: J}}]", concern="look")],
    ),
    "never with a concern that may not carry it": (
        "K309", [rule("demand", then="[{never: {backing: J}}]", concern="economy")],
    ),
    "limits without a case exactly on them": (
        "K004",
        [rule("bare", when="{part.wall_mm: {at most: 2}}",
              examples="[{given: {part.wall_mm: 1}, expect: fires}, {given: {part.wall_mm: 2.5}, expect: silent}]")],
    ),
    "limits without a case just past them": (
        "K004",
        [rule("bare", when="{part.wall_mm: {at most: 2}}",
              examples="[{given: {part.wall_mm: 2}, expect: fires}, {given: {part.wall_mm: 9}, expect: silent}]")],
    ),
    "examples that do not hold": ("K003", [rule("wrong", examples=CASES.replace("finish", "clear, media: belt"))]),
    "a rule without a silent example": ("K002", [rule("bare", examples=CASES.split("}, {")[0] + "}]")]),
    "one id for two rules": ("K105", [rule("twin"), rule("twin", concern="look")]),
    "an override of nobody": ("K308", [rule("strikes", overrides="nobody")]),
    "a rule that waits for itself": ("K306", [rule("waits", when="{backing: J}")]),
    "an override that comes too late": (
        "K307",
        [rule("early", then="[{should: {media: belt}}]", when="{stage: clear}"),
         rule("late", when="{stage: clear, grade: P80}", overrides="early")],
    ),
    "a code that nobody knows, allowed": ("K801", [rule("excused", allows="{K999: Because.}")]),
    "a finding that is not there, allowed": ("K802", [rule("excused", allows="{K301: Because.}")]),
}  # fmt: skip


@pytest.mark.parametrize("listed", PLANTED)
def test_each_fault_of_a_rule_is_found_at_the_rule(listed: str) -> None:
    code, rules = PLANTED[listed]
    only(checked(*rules), code, at="base/rules/planted.yaml:")


def test_a_sound_rule_has_none_of_them() -> None:
    report = checked(rule("sound"))
    assert [item for item in report.findings if item.place.startswith("base/rules/planted.yaml")] == []
    assert not report.failed


def test_a_contradiction_shows_a_witness_situation() -> None:
    finding = only(checked(*PLANTED["must/never contradictions"][1]), "K301")
    assert finding.rules == ("wants", "forbids") or finding.rules == ("forbids", "wants")
    assert dict(finding.witness) == {"stage": "clear", "media": "belt"}
    assert "stage clear" in finding.says


#: Faults that lie beside the rules: words of the list, code, a part of the sentence.
BESIDE = {
    "unreachable conclusions": ("K402", "heat.sensitivity"),
    "vocabulary nobody uses": ("K403", "no rule tests felt"),
    "values of the vocabulary nobody uses": ("K404", "stage: refine"),
    "options nobody ever advises": ("K405", "backing: "),
    "quantities nobody ever advises": ("K405", "no rule ever speaks of force"),
    "combinations no rule speaks about, grain": ("K501", "no grain for brass with belt"),
    "combinations no rule speaks about, media to clear": ("K502", "on brass"),
    "combinations no rule speaks about, media to finish": ("K503", "on brass"),
    "combinations no rule speaks about, grade": ("K504", "no word on the grade of belt"),
    "combinations no rule speaks about, settings": ("K505", "no word on pressure of belt"),
    "sources never cited": ("K601", "nobody cites assda-surface"),
}


@pytest.fixture(scope="module")
def nearly_silent() -> Report:
    """A base in which one rule speaks."""
    return checked(rule("sound"))


@pytest.mark.parametrize("listed", BESIDE)
def test_each_silence_is_found(listed: str, nearly_silent: Report) -> None:
    code, part = BESIDE[listed]
    only(nearly_silent, code, part)


def test_a_conclusion_that_nobody_uses_is_found_at_its_declaration() -> None:
    report = checked(rule("draws", then="[{conclude: {heat.sensitivity: low}}]"))
    only(report, "K401", "heat.sensitivity", "base/vocabulary.yaml:")


def test_faults_in_tables_are_found_in_their_rows() -> None:
    report = checked(
        rule("sound"),
        alloys=("source: [azom, from-memory, own-estimate]", "source: [a-lost-book]"),
        cells=("source: [own-estimate", "source: [another-lost-book"),
        backings=("  - key: J\n", "  - key: JF\n"),
    )
    only(report, "K603", "'a-lost-book'", "base/reference/alloys.yaml:")
    only(report, "K603", "another-lost-book", "base/reference/cells.yaml:")
    only(report, "K105", "backings", "base/reference/backings.yaml:")


def test_a_number_in_the_prose_of_a_row_is_looked_at_too() -> None:
    said = ("find_out: ", "find_out: Wait 417 minutes and ")
    only(checked(rule("sound"), defects=said), "K702", "417", "base/reference/defects.yaml:")


def test_a_number_that_a_named_row_or_a_source_carries_is_carried() -> None:
    """The copper code M32 has the grits 120 and 180 in its row."""
    when = "{stage: finish, finish.designation: copper-m32}"
    cases = "[{given: {stage: finish, finish.designation: copper-m32}, expect: fires}, {given: {}, expect: silent}]"
    carried = rule("carried", when=when, because="The code names 120 to 180.", examples=cases)
    loose = rule("loose", when=when, because="The code names 120 to 320.", examples=cases)
    placed = rule("placed", because="The table says 417.", source="[{source: common-practice, place: table 417}]")
    told = [item for item in checked(carried, loose, placed).findings if item.code.code == "K702"]
    assert [item.rules for item in told if item.rules] == [("loose",)]


def test_microinches_in_brackets_are_carried_by_their_micrometres() -> None:
    report = checked(rule("sound"))
    assert not [item for item in report.findings if "iso-1302-n5 of designations" in item.says]


# ------------------------------------------------------------------ what rules allow themselves


def _allowing() -> Report:
    wants, forbids = PLANTED["must/never contradictions"][1]
    return checked(wants + "  allows: {K301: The refusal is meant.}\n", forbids)


def test_an_allowed_finding_is_counted_and_fails_nothing() -> None:
    report = _allowing()
    assert not report.failed
    assert [(finding.code.code, reason) for finding, reason in report.allowed] == [
        ("K301", "The refusal is meant.")
    ]
    assert "1 allowed by the rules themselves" in summary(report)
    assert not [item for item in report.findings if item.code.code in ("K801", "K802")]


def test_an_allowed_finding_is_a_suppressed_result_in_sarif_and_has_its_reason_in_json() -> None:
    report = _allowing()
    results = json.loads(findings_sarif(report))["runs"][0]["results"]
    suppressed = [result for result in results if "suppressions" in result]
    assert [result["ruleId"] for result in suppressed] == ["K301"]
    assert suppressed[0]["suppressions"] == [{"kind": "inSource", "justification": "The refusal is meant."}]
    reasons = [row["reason"] for row in json.loads(findings_json(report)) if row["reason"]]
    assert reasons == ["The refusal is meant."]
