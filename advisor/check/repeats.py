"""Rules that say what others say already: the same, nearly the same, or swallowed by a broader one."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence

from advisor.check.finding import Code, Finding
from advisor.check.meaning import Meaning, joined
from advisor.check.solver import Case
from advisor.knowledge.rules import Advice, Consequence, Note, Rule, Span

DUPLICATE = Code(
    "K101", "duplicate-rule", "error",
    "Two rules hold in the same situations, are of one concern and say the same.",
    "The second adds nothing: presence counts, not number. Whoever changes one later leaves the other behind.",
    "Keep the one with the better sentence and sources; give it the sources of both. Ids are never used again.",
)  # fmt: skip
ONE_VALUE_APART = Code(
    "K102", "one-condition-apart", "note",
    "Two rules of one concern say the same and differ in one condition only.",
    "They could be one rule with a list of values, which is read and kept up in one place.",
    "Merge them where one sentence gives the reason for both. Where the reasons differ, say so under `allows`.",
)  # fmt: skip
SUBSUMED = Code(
    "K103", "swallowed-rule", "warning",
    "Wherever this rule fires, another rule of the same concern says the same or more.",
    "It never changes an answer, yet it looks as if it did.",
    "Drop it, or narrow the broader rule, or say something more specific here. Where its own reason is worth "
    "showing, say so under `allows`.",
)  # fmt: skip
SAME_SENTENCE = Code(
    "K104", "same-sentence", "warning",
    "Two rules give nearly the same reason or the same sentence for the sheet.",
    "The technician reads it twice, or two rules claim one piece of evidence.",
    "Write what is special to each rule, or merge the rules.",
)  # fmt: skip
CODES = (DUPLICATE, ONE_VALUE_APART, SUBSUMED, SAME_SENTENCE)

#: A media becomes eligible only by a rule that tests one of these, so testing them is part of what a rule says.
_NOMINATES = (
    "stage",
    "defect",
    "defect.kind",
    "defect.local",
    "finish.key",
    "finish.texture",
    "finish.designation",
)
_WORD = re.compile(r"[^\W_]+(?:\.\d+)?")
_ALIKE = 0.8
_SHORTEST = 5  # shorter sentences are alike by chance

_Group = dict[object, list[Rule]]


def duplicates(base: Meaning) -> Iterator[Finding]:
    """Rules with equal conditions, equal consequences and one concern."""
    for rules in _alike_in_all(base).values():
        for rule in rules[1:]:
            yield DUPLICATE.at(rule, f"{rule.id} holds where {rules[0].id} holds and says the same", rules[0])


def one_condition_apart(base: Meaning) -> Iterator[Finding]:
    """Rules that would be one if one condition took both its lists of values."""
    found: dict[tuple[str, str], str] = {}
    groups: dict[object, list[tuple[Rule, str]]] = {}
    for rule in base.rules:
        when = base.when[rule.id]
        for left_out in when:
            rest = frozenset(item for item in when.items() if item[0] != left_out)
            unless = frozenset(base.unless[rule.id].items())
            key = (_said(rule), rule.concern, left_out, rest, unless)
            groups.setdefault(key, []).append((rule, left_out))
    for members in groups.values():
        first, attribute = members[0]
        for rule, _ in members[1:]:
            if base.when[rule.id] != base.when[first.id]:
                found.setdefault((rule.id, first.id), attribute)
    by_id = {rule.id: rule for rule in base.rules}
    for (identity, other), attribute in sorted(found.items()):
        says = f"{identity} and {other} say the same and differ in {attribute} only"
        yield ONE_VALUE_APART.at(by_id[identity], says, by_id[other])


def swallowed(base: Meaning) -> Iterator[Finding]:
    """Rules that fire only where a broader one of their concern says as much."""
    by_target: _Group = {}
    firsts = [rules[0] for rules in _alike_in_all(base).values()]  # the others are told by K101
    for rule in firsts:
        for target in {_target(item) for item in rule.then}:
            by_target.setdefault((target, rule.concern), []).append(rule)
    for rule in firsts:
        target = _target(rule.then[0])
        for other in by_target[(target, rule.concern)]:
            if other is rule or not _says_as_much(other, rule) or not _fires_within(base, rule, other):
                continue
            if _says_as_much(rule, other) and _fires_within(base, other, rule) and rule.id < other.id:
                continue  # equal: told once, at the later of the two
            yield SUBSUMED.at(rule, f"wherever {rule.id} fires, {other.id} says as much", other)
            break


def same_sentences(base: Meaning) -> Iterator[Finding]:
    """Reasons and sentences for the sheet that nearly repeat one another (shared words at least 80 %).

    Sentences that name different numbers say different things.
    """
    told: set[tuple[str, str]] = set()
    firsts = [rules[0] for rules in _alike_in_all(base).values()]
    for pick in (_reasons, _sentences):
        texts = [(rule, frozenset(_words(text)), text) for rule in firsts for text in pick(rule)]
        texts = [item for item in texts if len(item[1]) >= _SHORTEST]
        for first, second in _alike([words for _, words, _ in texts]):
            (rule, words, _), (other, theirs, text) = texts[second], texts[first]
            key = (rule.id, other.id)
            if rule is other or key in told or _same_then(rule, other) or _numbers(words) != _numbers(theirs):
                continue
            told.add(key)
            yield SAME_SENTENCE.at(rule, f"{rule.id} nearly repeats {other.id}: {text}", other)


def _same_then(rule: Rule, other: Rule) -> bool:
    """Rules that say the same in full are told by K101 to K103."""
    return _said(rule) == _said(other)


def _alike_in_all(base: Meaning) -> _Group:
    """Rules gathered with those that are of one concern, hold in the same situations and say the same."""
    return _grouped(base.rules, lambda rule: (_said(rule), rule.concern, _conditions(base, rule)))


def _grouped(rules: Sequence[Rule], key: Callable[[Rule], object]) -> _Group:
    groups: _Group = {}
    for rule in rules:
        groups.setdefault(key(rule), []).append(rule)
    return groups


def _said(rule: Rule) -> frozenset[str]:
    return frozenset(repr(_plain(item)) for item in rule.then)


def _plain(item: Consequence) -> object:
    if isinstance(item, Advice):
        return item.model_copy(update={"options": tuple(sorted(item.options))})
    return (
        (item.kind, tuple(_words(item.text)), sorted(item.change.items())) if isinstance(item, Note) else item
    )


def _conditions(base: Meaning, rule: Rule) -> object:
    return (frozenset(base.when[rule.id].items()), frozenset(base.unless[rule.id].items()))


def _target(item: Consequence) -> str:
    if isinstance(item, Advice):
        return item.decision
    return item.kind if isinstance(item, Note) else item.attribute


def _says_as_much(broad: Rule, narrow: Rule) -> bool:
    """Whether everything that one rule says is said by another too."""
    if any(item.decision == "media" for item in narrow.advice()):
        tested = {item.attribute for item in broad.when}
        if any(item.attribute in _NOMINATES and item.attribute not in tested for item in narrow.when):
            return False
    return all(any(_covers(mine, theirs) for mine in broad.then) for theirs in narrow.then)


def _covers(mine: Consequence, theirs: Consequence) -> bool:
    if not isinstance(mine, Advice) or not isinstance(theirs, Advice):
        return _plain(mine) == _plain(theirs)
    if (mine.decision, mine.scale) != (theirs.decision, theirs.scale) or mine.aim != theirs.aim:
        return False
    if mine.strength in ("must", "should", "may"):
        strong = {"must": ("must",), "should": ("must", "should"), "may": ("may",)}
        if mine.strength not in strong.get(theirs.strength, ()):
            return False
        return set(mine.options) == set(theirs.options) and _within(mine.span, theirs.span)
    if theirs.strength not in ("avoid", "never") or (theirs.strength, mine.strength) == ("never", "avoid"):
        return False
    return set(mine.options) >= set(theirs.options) and _within(theirs.span, mine.span)


def _within(inner: Span | None, outer: Span | None) -> bool:
    if inner is None or outer is None:
        return inner == outer
    low = outer.low is None or (
        inner.low is not None and (inner.low, inner.low_open) >= (outer.low, outer.low_open)
    )
    high = outer.high is None or (
        inner.high is not None and (-inner.high, inner.high_open) >= (-outer.high, outer.high_open)
    )
    return low and high


def _fires_within(base: Meaning, narrow: Rule, broad: Rule) -> bool:
    """Whether no situation lets one rule fire and not the other; what is not always so is told by a point."""
    fires = base.fires(narrow)
    for key, mask in base.when[broad.id].items():
        outside = base.space.full(key) & ~mask
        if outside & base.when[narrow.id].get(key, outside) and base.find(
            Case((*fires.literals, (key, outside)), fires.clauses)
        ):
            return False
    silenced = broad.unless and base.find(joined(fires, base.silences(broad)))
    return not silenced and base.find(fires) is not None


def _reasons(rule: Rule) -> Sequence[str]:
    return (rule.because,)


def _sentences(rule: Rule) -> Sequence[str]:
    return [item.text for item in rule.then if isinstance(item, Note)]


def _words(text: str) -> list[str]:
    return _WORD.findall(text.lower())


def _numbers(words: frozenset[str]) -> frozenset[str]:
    return frozenset(word for word in words if word[0].isdigit())


def _alike(texts: Sequence[frozenset[str]]) -> Iterator[tuple[int, int]]:
    """Pairs of word sets that share at least four fifths, by the rarest words first.

    Two sets that share so much share one of their rarest words, so only those are looked up (prefix
    filtering; Chaudhuri, Ganti and Kaushik 2006).
    """
    count: dict[str, int] = {}
    for words in texts:
        for word in words:
            count[word] = count.get(word, 0) + 1
    places: dict[str, list[int]] = {}
    for at, words in enumerate(texts):
        rare = sorted(words, key=lambda word: (count[word], word))[
            : len(words) - int(_ALIKE * len(words)) + 1
        ]
        ahead = sorted({other for word in rare for other in places.get(word, ())})
        yield from ((other, at) for other in ahead if _shared(texts[other], words) >= _ALIKE)
        for word in rare:
            places.setdefault(word, []).append(at)


def _shared(first: frozenset[str], second: frozenset[str]) -> float:
    return len(first & second) / len(first | second)
