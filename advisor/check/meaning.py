"""What a rule base means as boxes: when a rule fires, when it is struck out, and what supports a conclusion."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cached_property

from advisor.check.joints import joints
from advisor.check.solver import Budget, Case, Clause, solve
from advisor.check.space import UNKNOWN, Box, Literal, Space
from advisor.knowledge.base import Knowledge
from advisor.knowledge.rules import Rule
from advisor.knowledge.vocabulary import CONCERNS, Value


class Meaning:
    """The rules of one knowledge base over the cells of its vocabulary; retired rules are left out."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.knowledge = knowledge
        self.vocabulary = knowledge.vocabulary
        self.rules = tuple(rule for rule in knowledge.rules if rule.status != "retired")
        conditions = [item for rule in self.rules for item in (*rule.when, *rule.unless)]
        self.space = Space(self.vocabulary, conditions, joints(knowledge))
        self.when: Mapping[str, Box] = {rule.id: self.space.box(rule.when) for rule in self.rules}
        self.unless: Mapping[str, Box] = {rule.id: self.space.box(rule.unless) for rule in self.rules}
        self._by_id = {rule.id: rule for rule in self.rules}

    @cached_property
    def concluding(self) -> Mapping[str, Sequence[tuple[Rule, int]]]:
        """For each attribute that rules may conclude: the rules that do, and the cell they set."""
        found: dict[str, list[tuple[Rule, int]]] = {
            key: [] for key, item in self.vocabulary.attributes.items() if item.set_by == "rule"
        }
        for rule in self.rules:
            for item in rule.conclusions():
                found[item.attribute].append((rule, self.space.cell(item.attribute, item.value)))
        return found

    @cached_property
    def _order(self) -> tuple[tuple[tuple[str, ...], tuple[Rule, ...]], ...]:
        """Concluded attributes in the order of their places, those of a circle together."""
        return tuple(
            (place.names, tuple(rule for rule in place.rules if rule.conclusions()))
            for place in self.knowledge.places
            if any(name in self.concluding for name in place.names)
        )

    @cached_property
    def strikers(self) -> Mapping[str, tuple[Rule, ...]]:
        """The rules that strike out each rule's advice; none strikes advice of a higher concern."""
        found: dict[str, list[Rule]] = {}
        for rule in self.rules:
            for other in rule.overrides:
                struck = self._by_id.get(other)
                if struck and CONCERNS.index(rule.concern) <= CONCERNS.index(struck.concern):
                    found.setdefault(other, []).append(rule)
        return {key: tuple(rules) for key, rules in found.items()}

    # ------------------------------------------------------------------ rules as cases and clauses

    def literals(self, rule: Rule) -> tuple[Literal, ...]:
        """The conditions of a rule."""
        return tuple(self.when[rule.id].items())

    def fires(self, rule: Rule, seen: frozenset[str] = frozenset()) -> Case:
        """The case that a rule fires, with everything that has to be concluded before."""
        clauses = [self.not_silenced(rule)] if rule.unless else []
        return Case(self.literals(rule), (*clauses, *self.supports(self.literals(rule), seen)))

    def matches(self, rule: Rule) -> Case:
        """The case that `when` holds, whatever `unless` says."""
        return Case(self.literals(rule), tuple(self.supports(self.literals(rule))))

    def silences(self, rule: Rule) -> Case:
        """The case that the `unless` of a rule holds."""
        literals = tuple(self.unless[rule.id].items())
        return Case(literals, tuple(self.supports(literals)))

    def not_silenced(self, rule: Rule) -> Clause:
        """Some condition of `unless` does not hold."""
        return self._none_of(self.unless[rule.id])

    def not_firing(self, rule: Rule) -> Clause:
        """Some condition of `when` does not hold, or `unless` does."""
        silenced = (self.silences(rule),) if rule.unless else ()
        return (*self._none_of(self.when[rule.id]), *silenced)

    def not_struck(self, rule: Rule) -> tuple[Clause, ...]:
        """Each rule that could strike this one is silent, or is struck itself."""
        clauses: list[Clause] = []
        for striker in self.strikers.get(rule.id, ()):
            struck = tuple(
                Case((), ((self.fires(other),), *self.not_struck(other)))
                for other in self.strikers.get(striker.id, ())
            )
            clauses.append((*self.not_firing(striker), *struck))
        return tuple(clauses)

    def supports(self, literals: Iterable[Literal], seen: frozenset[str] = frozenset()) -> list[Clause]:
        """A clause for each conclusion that must be there: some rule draws it."""
        clauses: list[Clause] = []
        for key, mask in literals:
            if key not in self.concluding or mask & UNKNOWN:
                continue
            if key in seen:
                clauses.append(())  # a conclusion cannot rest on itself
                continue
            inner = seen | {key}
            cases = []
            for rule, cell in self.concluding[key]:
                if cell & mask:
                    case = self.fires(rule, inner)
                    cases.append(Case((*case.literals, (key, cell)), case.clauses))
            clauses.append(tuple(cases))
        return clauses

    def _none_of(self, box: Box) -> Clause:
        return tuple(Case(((key, self.space.full(key) & ~mask),)) for key, mask in box.items())

    # ------------------------------------------------------------------ asking

    def find(self, case: Case, budget: Budget | None = None) -> Box | None:
        """A point in which a case really holds, or None where there is none."""
        return solve(self.space, case, self._judge, None, budget)

    def both(self, *rules: Rule) -> Case:
        """The case that some rules fire together."""
        cases = [self.fires(rule) for rule in rules]
        return joined(*cases)

    def witness(self, point: Box, *rules: Rule) -> dict[str, Value | None]:
        """What a point says of the attributes that some rules test, what it rests on, and no more."""
        tested = {item.attribute for rule in rules for item in (*rule.when, *rule.unless)}
        known = self.space.situation(self.concluded(point))
        ahead = [key for key in tested if key in self.concluding]
        while ahead:
            for rule, cell in self.concluding[ahead.pop()]:
                if self._fires_at(rule, point) and cell:
                    new = {item.attribute for item in rule.when} - tested
                    tested |= new
                    ahead += [key for key in new if key in self.concluding]
        order = [key for key in self.vocabulary.testable if key in tested]
        return {key: known.get(key) for key in order}

    def concluded(self, point: Box) -> Box:
        """A point with what the rules conclude in it, in the order of their places."""
        known = {key: mask for key, mask in point.items() if key not in self.concluding}
        for names, rules in self._order:
            drawn: dict[str, int] = {}
            while True:
                before = dict(drawn)
                for rule in rules:
                    if self._fires_at(rule, known):
                        for item in rule.conclusions():
                            if item.attribute in names:
                                cell = self.space.cell(item.attribute, item.value)
                                drawn[item.attribute] = drawn.get(item.attribute, 0) | cell
                known.update(
                    {key: mask if mask & (mask - 1) == 0 else UNKNOWN for key, mask in drawn.items()}
                )
                if drawn == before:
                    break
        for key in self.concluding:
            known.setdefault(key, UNKNOWN)
        return known

    def _fires_at(self, rule: Rule, point: Box) -> bool:
        return self._inside(self.when[rule.id], point) and not (
            rule.unless and self._inside(self.unless[rule.id], point)
        )

    def _inside(self, box: Box, point: Box) -> bool:
        return all(mask & point.get(key, self._usual(key)) for key, mask in box.items())

    def _usual(self, key: str) -> int:
        """What holds of an attribute that a point leaves out: nobody knows, so it is presumed or unknown."""
        presumed = self.vocabulary.testable[key].if_unknown
        return self.space.cell(key, presumed.assume) if presumed else UNKNOWN

    def _judge(self, point: Box, box: Box) -> Clause | None:
        """None where the conclusions come out as a box says; else what every true answer would meet."""
        asked = {key: mask for key, mask in box.items() if key in self.concluding}
        if not asked:
            return None
        known = self.concluded(point)
        for key, mask in asked.items():
            if known[key] & mask:
                continue
            fired = [(rule, cell) for rule, cell in self.concluding[key] if self._fires_at(rule, known)]
            wrong = [rule for rule, cell in fired if not cell & mask]
            if wrong and known[key] != UNKNOWN:
                return (*self.not_firing(wrong[0]), *self._clashes(wrong[0], key, mask))
            cells = {cell: rule for rule, cell in fired}
            if len(cells) > 1:
                first, second = list(cells.values())[:2]
                return (*self.not_firing(first), *self.not_firing(second))
            return self._elsewhere(point)
        return None

    def _clashes(self, rule: Rule, key: str, mask: int) -> Clause:
        """The conclusion stays open where another rule contradicts it, if not knowing will do."""
        if not mask & UNKNOWN:
            return ()
        own = next(cell for other, cell in self.concluding[key] if other is rule)
        return tuple(
            Case(case.literals, case.clauses)
            for other, cell in self.concluding[key]
            if cell != own and (case := self.fires(other, frozenset({key})))
        )

    def _elsewhere(self, point: Box) -> Clause:
        """Anywhere but at this point."""
        keys = {
            item.attribute for rules in self.concluding.values() for rule, _ in rules for item in rule.when
        }
        keys = (keys | set(point)) - set(self.concluding)
        return tuple(
            Case(((key, self.space.full(key) & ~point.get(key, self._usual(key))),)) for key in sorted(keys)
        )


def joined(*cases: Case) -> Case:
    """The case that all of some cases hold."""
    literals = tuple(literal for case in cases for literal in case.literals)
    return Case(literals, tuple(clause for case in cases for clause in case.clauses))


Check = Callable[[Meaning], Iterable[object]]
