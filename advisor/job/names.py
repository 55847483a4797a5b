"""A thing has many names in the trade; here each leads to one row of a table, or to the nearest spelling."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from typing import TypeVar

from advisor.errors import InputError, Problem, listing, nearest
from advisor.knowledge.reference import Alloy, Designation, Finish

NamedRow = TypeVar("NamedRow")

_BODIES = re.compile(
    r"^(uns|en|aisi|sae|astm|din|iso|ansi|bs|type|grade|alloy|w\.?nr\.?|no\.?)[\s\-_]+", re.IGNORECASE
)


def fold(text: str) -> str:
    """A name without case, spaces, hyphens and underscores; the dots of 1.4404 stay.

    >>> fold("AISI 316L"), fold("Low-carbon steel"), fold("1.4404")
    ('aisi316l', 'lowcarbonsteel', '1.4404')
    """
    return re.sub(r"[\s\-_]+", "", text.casefold())


def fold_code(text: str) -> str:
    """A finish code reduced to its letters and digits.

    >>> fold_code("A480 No. 4"), fold_code("AA-M32"), fold_code("3-A")
    ('a480no4', 'aam32', '3a')
    """
    return re.sub(r"[\W_]+", "", text.casefold())


def _without_body(text: str) -> str:
    """The name without the standards body before it, where something is left."""
    return _BODIES.sub("", text.strip(), count=1) or text


def resolve_alloy(text: str, alloys: Mapping[str, Alloy], place: str = "", field: str = "alloy") -> Alloy:
    """The alloy row meant by a key, UNS number, EN number or common name.

    Case, spaces and hyphens do not count, nor a body before the number ("AISI 316L", "EN 1.4404"). A key
    goes before a number, a number before a name. Raises InputError with the nearest spelling, or with
    the rows that share the name.
    """
    tiers: tuple[Callable[[Alloy], Iterable[str | None]], ...] = (
        lambda row: (row.key,),
        lambda row: (row.uns, row.en),
        lambda row: (row.name, *row.also),
    )
    for wanted in dict.fromkeys((fold(text), fold(_without_body(text)))):
        for spellings in tiers:
            found = [r for r in alloys.values() if any(fold(s) == wanted for s in spellings(r) if s)]
            if len(found) == 1:
                return found[0]
            if found:
                what = f"{field}: the name fits several alloys"
                raise InputError(Problem(place, what, text, listing([row.key for row in found])))
    spelt = {s: row.key for row in alloys.values() for tier in tiers for s in tier(row) if s}
    near = nearest(text, spelt) or nearest(_without_body(text), spelt)
    shown = None if near is None else near if near == spelt[near] else f"{spelt[near]} ({near})"
    allowed = "a key, UNS number, EN number or common name, such as " + listing(tuple(alloys), limit=6)
    raise InputError(Problem(place, f"{field}: unknown alloy", text, allowed, shown))


def resolve_row(text: str, table: Mapping[str, NamedRow], what: str, place: str, field: str) -> NamedRow:
    """The row of a key, whatever its case and hyphens. Raises InputError with the nearest key."""
    wanted = fold(text)
    for key, row in table.items():
        if fold(key) == wanted:
            return row
    near = nearest(text.casefold().replace(" ", "-"), table)
    raise InputError(Problem(place, f"{field}: unknown {what}", text, listing(tuple(table), limit=24), near))


def resolve_finish(
    text: str,
    finishes: Mapping[str, Finish],
    designations: Mapping[str, Designation],
    group: str | None,
    place: str = "",
    field: str = "finish",
) -> tuple[Finish, Designation | None]:
    """The finish row meant by a key or by a designation, with the designation's row.

    One code can mean two finishes: the row that speaks of the alloy's group is taken, a row that speaks
    of any group only where none names it. `group` None fits every row. Raises InputError with the groups
    the code is for, or with the nearest spelling.
    """
    named = [row for row in finishes.values() if fold(text) == fold(row.key)]
    named = named or [row for row in finishes.values() if fold(text) == fold(row.name)]
    if named:
        return named[0], None
    for wanted in dict.fromkeys((fold_code(text), fold_code(_without_body(text)))):
        found = [row for row in designations.values() if wanted and wanted in _codes(row)]
        if found:
            chosen = _of_group(found, text, group, place, field)
            return finishes[chosen.finish], chosen
    spellings = {name: None for row in designations.values() for name in (row.key, *row.also)}
    near = nearest(text.casefold().replace(" ", "-"), finishes) or nearest(text, spellings)
    allowed = f"{listing(tuple(finishes), limit=24)}; or a designation such as {listing(tuple(spellings), 6)}"
    raise InputError(Problem(place, f"{field}: unknown finish", text, allowed, near))


def _codes(row: Designation) -> set[str]:
    names = (row.key, row.name, *row.also)
    return {fold_code(name) for name in names} | {fold_code(_without_body(name)) for name in names}


def _of_group(found: list[Designation], text: str, group: str | None, place: str, field: str) -> Designation:
    own = [row for row in found if group is None or group in row.groups]
    fits = own or [row for row in found if not row.groups]
    if not fits:
        groups = listing(sorted({name for row in found for name in row.groups}))
        what = f"{field}: this code is not for alloys of the group {group}"
        raise InputError(Problem(place, what, text, f"only for {groups}"))
    if len({row.finish for row in fits}) > 1 and group is not None:
        exact = [row for row in fits if fold_code(row.key) == fold_code(text)]
        if len(exact) != 1:
            keys = listing([row.key for row in fits])
            raise InputError(Problem(place, f"{field}: the code fits several designations", text, keys))
        fits = exact
    return fits[0]
