"""The catalogue shows every rule with all it says, every word of the vocabulary and every shop word."""

from __future__ import annotations

import re

import pytest

from advisor.catalogue.pages import pages
from advisor.catalogue.sentences import condition_line, consequence_line, example_line
from advisor.knowledge.base import Knowledge, Word
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.rules import Condition, Rule
from advisor.render.words import escape
from tests.documents import anchors

KNOWLEDGE = load_knowledge()
PAGES = pages(KNOWLEDGE)


def _entry(rule: Rule) -> str:
    """The part of its page that belongs to a rule."""
    page = PAGES[f"rules/{rule.topic.replace('/', '-')}.md"]
    return page.split(f"\n## {rule.id}\n", 1)[1].split("\n## ", 1)[0]


def test_every_rule_stands_once_on_the_page_of_its_topic() -> None:
    shown = [
        heading
        for name, page in PAGES.items()
        if name.startswith("rules/") and name != "rules/index.md"
        for heading in re.findall(r"^## (.+)$", page, re.MULTILINE)
    ]
    assert sorted(shown) == sorted(rule.id for rule in KNOWLEDGE.rules)


def test_every_entry_says_what_when_why_where_it_misleads_who_and_the_cases() -> None:
    for rule in KNOWLEDGE.rules:
        entry = _entry(rule)
        vocabulary = KNOWLEDGE.vocabulary
        for text in (rule.title, rule.because, rule.not_for):
            assert str(escape(text)) in entry, rule.id
        for line in (
            *(condition_line(item, vocabulary) for item in (*rule.when, *rule.unless)),
            *(consequence_line(item, vocabulary) for item in rule.then),
            *(example_line(item) for item in rule.examples),
        ):
            assert f"- {escape(line)}\n" in f"{entry}\n", rule.id
        for item in rule.source:
            assert str(escape(KNOWLEDGE.sources[item.source].title)) in entry, rule.id
        for code in rule.allows:
            assert code in entry, rule.id


def test_overrides_are_linked_from_both_sides() -> None:
    pairs = [(rule, KNOWLEDGE.rule[other]) for rule in KNOWLEDGE.rules for other in rule.overrides]
    assert pairs
    for rule, other in pairs:
        assert f"#{other.id})" in _entry(rule)
        assert f"#{rule.id})" in _entry(other).split("**Is overridden by:**")[1]


def test_the_index_links_every_rule_to_a_heading_that_is_there() -> None:
    known = {name: anchors(page) for name, page in PAGES.items()}
    found = re.findall(r"^\| \[([^]]+)\]\(([^)#]+)#([^)]+)\)", PAGES["rules/index.md"], re.MULTILINE)
    assert len(found) == len(KNOWLEDGE.rules)
    for identity, page, anchor in found:
        assert anchor == identity
        assert anchor in known[f"rules/{page}"]


def test_the_vocabulary_page_has_a_row_for_every_name_and_counts_who_uses_it() -> None:
    page = PAGES["vocabulary.md"]
    for key in KNOWLEDGE.vocabulary.testable:
        (row,) = re.findall(rf"^\| `{re.escape(key)}` \|.*$", page.split("\n## Tables")[0], re.MULTILINE)
        tested = sum(
            any(item.attribute == key for item in (*rule.when, *rule.unless)) for rule in KNOWLEDGE.rules
        )
        assert row.endswith(f"| {tested} |")
    for table in ("media", "grains", "grades", "backings", "defects", "finishes", "symptoms"):
        for key in KNOWLEDGE.tables[table]:
            assert f"| `{key}` |" in page


def test_the_glossary_explains_every_shop_word() -> None:
    page = PAGES["glossary.md"]
    for word in KNOWLEDGE.words:
        assert f"\n### {escape(word.term)}\n" in page
        assert str(escape(word.means)) in page
    known = anchors(page)
    for target in re.findall(r"\]\(#([^)]+)\)", page):
        assert target in known


def test_the_pages_do_not_depend_on_the_order_of_the_rules() -> None:
    turned = KNOWLEDGE.model_copy(update={"rules": tuple(reversed(KNOWLEDGE.rules))})
    assert pages(turned) == PAGES


def _with(rule: Rule, **more: object) -> Knowledge:
    changed = rule.model_copy(update=more)
    rules = tuple(changed if each.id == rule.id else each for each in KNOWLEDGE.rules)
    return KNOWLEDGE.model_copy(update={"rules": rules})


def test_markup_in_a_rule_cannot_break_its_page() -> None:
    rule = KNOWLEDGE.rules[0]
    page = pages(_with(rule, because="left | right\n# <b>no</b> heading"))[f"rules/{rule.topic}.md"]
    assert "left \\| right # &lt;b&gt;no&lt;/b&gt; heading" in page


def test_a_rule_of_an_inner_folder_gets_a_page_beside_the_others() -> None:
    rule = KNOWLEDGE.rules[0]
    made = pages(_with(rule, topic="shop/our-own"))
    assert f"## {rule.id}" in made["rules/shop-our-own.md"]
    assert "[Our own](shop-our-own.md)" in made["rules/index.md"]


def test_a_word_that_is_explained_nowhere_is_named_without_a_link() -> None:
    words = (Word(term="flat", means="A plane face.", see=("facet",)),)
    page = pages(KNOWLEDGE.model_copy(update={"words": words}))["glossary.md"]
    assert "See: facet." in page


@pytest.mark.parametrize(
    ("operator", "operand", "said"),
    [
        ("in", ("P80", "P100"), "grade: P80 or P100"),
        ("not in", ("P80",), "grade: not P80"),
        ("at least", ("P80",), "grade: P80 or finer"),
        ("at most", ("P80",), "grade: P80 or coarser"),
        ("above", ("P80",), "grade: finer than P80"),
        ("below", ("P80",), "grade: coarser than P80"),
    ],
)
def test_a_condition_on_a_grade_reads_as_the_trade_says_it(
    operator: str, operand: tuple[str, ...], said: str
) -> None:
    condition = Condition.model_validate({"attribute": "grade", "operator": operator, "operand": operand})
    assert condition_line(condition, KNOWLEDGE.vocabulary) == said
