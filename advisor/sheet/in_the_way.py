"""The smallest set of requirements in the way of a plan, and the fewest changes that open it."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.sequence.plan import FeaturePlan
from advisor.sequence.requirements import Requirement, Test, comes_through, requirements_of, smallest_set
from advisor.sequence.worlds import World
from advisor.sheet.nearest import Opening
from advisor.sheet.openings import openings

#: So many obstacles one behind the other are cleared, before it is said that nothing tried opens the way.
ROUNDS = 4

Named = tuple[Requirement, tuple[Opening, ...], int]  # what opens it, and how many more changes it takes


def in_the_way(plan: FeaturePlan) -> tuple[Named, ...]:
    """A smallest set of requirements that no plan meets together, each with what would open the way.

    Where a change of one alone does, that is told with it. Where none does there is more than one such set:
    then a smallest set of changes is, one in each. Empty where even without all of them there is no plan.
    """
    world, opens = World(plan.desk.job), comes_through(plan)
    asked = requirements_of(plan.desk.job, plan.feature, plan.desk.knowledge)
    first = smallest_set(asked, world, opens)
    if not first:
        return ()
    found: dict[str, tuple[Opening, ...]] = {}
    for each in sorted(first, key=lambda each: each.key == "station"):  # a set of stations only as the last resort
        found[each.key] = openings(each, world, plan, opens, several=not any(found.values()))
    if any(found.values()):
        return tuple((each, found[each.key], 0) for each in first)
    together = _together(plan, asked, first, world, opens)
    changed = {each.key: found for each, found in together}
    others = [each for each, _ in together if each.key not in {one.key for one in first}]
    more = len(together) - 1
    return tuple((each, changed.get(each.key, ()), more) for each in (*first, *others))


def _together(
    plan: FeaturePlan, asked: Sequence[Requirement], first: Sequence[Requirement], world: World, opens: Test
) -> list[tuple[Requirement, tuple[Opening, ...]]]:
    """As few changes as open the way together, with the nearest value of each; none where nothing does."""
    taken: list[Requirement] = []
    freed, sets = world, list(first)
    for _ in range(ROUNDS):
        changeable = [each for each in sets if each.key != "heat"]
        if not changeable:
            return []
        taken.append(changeable[-1])
        freed = changeable[-1].let_go(freed)
        if opens(freed):
            break
        sets = list(smallest_set([each for each in asked if each not in taken], freed, opens))
    else:
        return []
    for each in tuple(taken):
        fewer = [other for other in taken if other is not each]
        if opens(_without(world, fewer)):
            taken = fewer
    found: list[tuple[Requirement, tuple[Opening, ...]]] = []
    for place, each in enumerate(taken):
        rest = _without(world, taken[place + 1 :])
        nearest = openings(each, rest, plan, opens)[:1]
        if not nearest:
            return []
        found.append((each, nearest))
        world = nearest[0].change(world)
    return found


def _without(world: World, requirements: Sequence[Requirement]) -> World:
    """The world with some requirements let go."""
    for each in requirements:
        world = each.let_go(world)
    return world
