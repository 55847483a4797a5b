"""Which decision an option belongs to, and which step the question "why not that" is about."""

from __future__ import annotations

import re
from collections.abc import Sequence

from advisor.errors import InputError, Problem, listing, nearest
from advisor.explain.again import RECEIVED, taken
from advisor.explain.forced import Wish
from advisor.explain.point import PLACE, Place
from advisor.explain.why import not_applicable
from advisor.knowledge.vocabulary import Decision, Value, Vocabulary
from advisor.units import parse_quantity

NOT = f"{PLACE} --not"
_NUMBER = re.compile(r"^\s*([-+]?\d+(?:\.\d+)?)\s*(.*)$")
#: The kind of quantity that a decision is, for options with a unit.
_KINDS = {"surface_speed": "speed", "feed": "feed", "wheel_width": "length", "wheel_edge": "length"}


def decisions_of(option: str, vocabulary: Vocabulary) -> tuple[str, ...]:
    """Every decision that has an option of this name."""
    found = [
        key
        for key in vocabulary.order
        if vocabulary.decisions[key].kind in ("list", "ordered")
        and _spelled(option, vocabulary.decisions[key].options) is not None
    ]
    if _spelled(option, tuple(vocabulary.rank)) is not None:
        found.append("grade")
    return tuple(found)


def _spelled(option: str, allowed: Sequence[str]) -> str | None:
    """The option as the vocabulary writes it, whatever the case, spaces for hyphens."""
    wanted = option.strip().casefold().replace(" ", "-").replace("_", "-")
    return next((each for each in allowed if each.casefold() == wanted), None)


def option_of(text: str, decision: str, vocabulary: Vocabulary, place: Place | None) -> Value:
    """The option meant. Raises InputError with those that the decision has and the nearest."""
    declared = vocabulary.decisions.get(decision)
    if declared is None:
        what = "this is not decided but follows; ask for a decision"
        raise InputError(Problem(f"{PLACE} --decision", what, decision, listing(vocabulary.order, 40)))
    if decision in ("accepts", "jump", "passes"):
        what = "no rival can be worked out for what the receiving step decides"
        others = listing([key for key in vocabulary.order if key not in RECEIVED], 40)
        raise InputError(Problem(f"{PLACE} --decision", what, decision, others))
    if declared.kind == "number":
        return _number(text, declared, place)
    allowed = tuple(vocabulary.rank) if declared.kind == "grade" else declared.options
    found = _spelled(text, allowed)
    if found is None:
        raise InputError(
            Problem(NOT, f"no such {declared.title}", text, listing(allowed, 40), nearest(text, allowed))
        )
    return found


def _number(text: str, declared: Decision, place: Place | None) -> float:
    """A number with or without its unit, in the unit of the decision; a force may be given whole, in N."""
    match = _NUMBER.match(text)
    unit = declared.unit or "1"
    allowed = f"a number in {unit}" + (" or a force in N" if declared.key == "force" else "")
    if match is None:
        raise InputError(Problem(NOT, f"the {declared.title} is a number", text, allowed))
    bare, given = float(match[1]), match[2].strip()
    if declared.key == "force" and given and given != unit:
        width = place.planned.candidate.setup.contact_width * 1e3 if place else 1.0
        return parse_quantity(text, "force", NOT) / width
    if declared.key in _KINDS and given:
        return parse_quantity(text, _KINDS[declared.key], NOT)
    if given and given.casefold() != unit.casefold():
        raise InputError(Problem(NOT, f"the {declared.title} has another unit", text, allowed))
    return bare


def contested_place(
    text: str, decision: str | None, asked: Sequence[Place], vocabulary: Vocabulary
) -> tuple[Place, str, Value]:
    """The step, decision and option that a contrast is about.

    Where the question leaves it open, the first step on which the option was there to be chosen and
    lost; the answer names it. Raises InputError where the option does not exist, belongs to several
    decisions, or to none of the steps in question.
    """
    named = (decision,) if decision is not None else decisions_of(text, vocabulary)
    if not named:
        raise no_such_option(text, vocabulary)
    applies = [key for key in named if any(_offers(place, key, text, vocabulary) for place in asked)]
    if len(applies) > 1:
        what = "belongs to several decisions; name one with --decision"
        raise InputError(Problem(NOT, what, text, listing(applies)))
    key = applies[0] if applies else named[0]
    option_of(text, key, vocabulary, None)  # a wrong spelling is told before a wrong step
    having = [place for place in asked if taken(place, key) is not None]
    if not having:
        raise not_applicable(key, asked)
    lost = [place for place in having if not _is_taken(place, key, option_of(text, key, vocabulary, place))]
    ranked = [place for place in lost if _offers(place, key, text, vocabulary)] or lost or having
    place = ranked[0]
    return place, key, option_of(text, key, vocabulary, place)


def no_such_option(text: str, vocabulary: Vocabulary) -> InputError:
    """The complaint about a word that no decision knows, with the nearest that one does."""
    everything = dict.fromkeys(
        [each for key in vocabulary.order for each in vocabulary.decisions[key].options]
    )
    near = nearest(text, [*everything, *vocabulary.rank])
    allowed = "an option of a decision, such as belt, J, P120 or stearate; for a number name --decision"
    return InputError(Problem(NOT, "no decision has such an option", text, allowed, near))


def _is_taken(place: Place, decision: str, option: Value) -> bool:
    return Wish(place.step.stage, decision, option).met_by(place.planned.candidate)


def _offers(place: Place, decision: str, text: str, vocabulary: Vocabulary) -> bool:
    """Whether a step had an option before it when it decided."""
    choice = taken(place, decision)
    if choice is None:
        return False
    declared = vocabulary.decisions[decision]
    if declared.kind == "number":
        return True
    media = place.planned.candidate.tool.media
    if declared.kind == "grade":
        return _spelled(text, media.grades) is not None
    if declared.kind == "ordered":
        return True
    options = [row.option for row in getattr(choice, "options", ())]
    return _spelled(text, options) is not None
