"""Picks the coefficients that hold for an alloy, a media and a grade: the narrowest scope wins."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from advisor.figures.learned import Learned, LearnedFactor, Taught, calibrated, scope_of_set_up
from advisor.knowledge.reference import Alloy, Coefficient, Grade, Media
from advisor.process.bands import Spread, draws, percentiles
from advisor.process.real import Real

Values = Mapping[str, Real]
#: How many draws stand for the spread of a coefficient.
DRAWS = 400


def scope_of(alloy: Alloy, media: Media, grain: str | None, grade: Grade | None) -> dict[str, str]:
    """What a coefficient's scope may name, for one set-up."""
    scope = {"alloy": alloy.key, "family": alloy.family, "group": alloy.group, "media": media.key}
    if grain:
        scope["grain"] = grain
    if grade:
        scope["grade"] = grade.key
        scope["scale"] = grade.scale
    return scope


def pick(
    coefficients: Iterable[Coefficient],
    scope: Mapping[str, str],
    among: Mapping[str, Coefficient] | None = None,
) -> dict[str, Coefficient]:
    """One coefficient for each symbol: of those whose scope fits, the one that names most.

    `among` holds what is picked already from other rows.

    >>> from advisor.knowledge.reference import Band
    >>> wide, narrow = (
    ...     Coefficient(key=key, name=key, source=("own-estimate",), symbol="c", unit="1", scope=scope,
    ...                 band=Band(low=1, expected=2, high=3))
    ...     for key, scope in (("wide", {}), ("narrow", {"family": "brass"}))
    ... )
    >>> pick([narrow, wide], {"family": "brass"})["c"].key, pick([narrow, wide], {"family": "iron"})["c"].key
    ('narrow', 'wide')
    """
    found = dict(among or {})
    for row in coefficients:
        if all(scope.get(name) == value for name, value in row.scope.items()):
            standing = found.get(row.symbol)
            if standing is None or len(row.scope) > len(standing.scope):
                found[row.symbol] = row
    return found


def expected(picked: Mapping[str, Coefficient]) -> dict[str, Real]:
    """The middle of each band."""
    return {symbol: row.band.expected for symbol, row in picked.items()}


#: Coefficients are remembered for so many alloys; a batch seldom has more.
MOST_ALLOYS = 16


class AlloyPage:
    """The coefficients that can hold for one alloy, by set-up; what was looked up is remembered.

    Where trials have `learned` something for the alloy or the cell, that is put upon the published rows.
    """

    def __init__(
        self,
        alloy: Alloy,
        rows: Iterable[Coefficient],
        learned: Learned | None = None,
        cell: str | None = None,
    ) -> None:
        own = {"alloy": alloy.key, "family": alloy.family, "group": alloy.group}
        self._alloy = alloy
        self._cell = cell
        self.learned = learned
        mine = [row for row in rows if all(row.scope.get(name, value) == value for name, value in own.items())]
        self._general = pick((row for row in mine if row.scope.keys() <= own.keys()), own)
        self._rows = tuple(row for row in mine if not row.scope.keys() <= own.keys())
        self._picked: dict[tuple[str, str | None, str | None], dict[str, Coefficient]] = {}
        self._expected: dict[tuple[str, str | None, str | None], Values] = {}

    def picked(self, media: Media, grain: str | None, grade: Grade | None) -> dict[str, Coefficient]:
        """The coefficients that hold for a set-up."""
        key = (media.key, grain, grade.key if grade else None)
        found = self._picked.get(key)
        if found is None:
            found = self._picked[key] = self._pick(media, grain, grade)
        return found

    def _pick(self, media: Media, grain: str | None, grade: Grade | None) -> dict[str, Coefficient]:
        published = pick(self._rows, scope_of(self._alloy, media, grain, grade), self._general)
        return calibrated(published, media, self.taught(media, grain, grade))

    def taught(self, media: Media, grain: str | None, grade: Grade | None) -> dict[Taught, LearnedFactor]:
        """What the shop's own trials say of a set-up; nothing where none were given."""
        if self.learned is None:
            return {}
        return self.learned.fitting(scope_of_set_up(self._alloy, media, grain, grade, self._cell))

    def published(self) -> AlloyPage:
        """The same page without what trials taught."""
        return AlloyPage(self._alloy, (*self._rows, *self._general.values()))

    def looked_up(self) -> frozenset[str]:
        """The keys of the rows that were picked so far, for whatever set-up, and of those that need none."""
        rows = [row for picked in self._picked.values() for row in picked.values()]
        return frozenset(row.key for row in (*rows, *self._general.values()))

    def general(self) -> dict[str, Coefficient]:
        """The coefficients that belong to no set-up."""
        return dict(self._general)

    def expected(self, media: Media, grain: str | None, grade: Grade | None) -> Values:
        """Their expected values."""
        key = (media.key, grain, grade.key if grade else None)
        found = self._expected.get(key)
        if found is None:
            found = self._expected[key] = expected(self.picked(media, grain, grade))
        return found


class CoefficientBook:
    """A page for each alloy of the jobs at hand; the pages of alloys long not asked for are forgotten.

    `learned` is what the shop's own trials say; it may differ from cell to cell.
    """

    def __init__(self, rows: Iterable[Coefficient], learned: Learned | None = None) -> None:
        self._rows = tuple(rows)
        self._learned = learned
        self._pages: dict[tuple[str, str | None], AlloyPage] = {}

    def page(self, alloy: Alloy, cell: str | None = None) -> AlloyPage:
        """The page of an alloy, in a cell where something was learned."""
        key = (alloy.key, cell if self._learned else None)
        page = self._pages.pop(key, None) or AlloyPage(alloy, self._rows, self._learned, cell)
        self._pages[key] = page  # the last one asked for stands last
        if len(self._pages) > MOST_ALLOYS:
            del self._pages[next(iter(self._pages))]
        return page

    def looked_up(self) -> frozenset[str]:
        """The keys of the rows that the jobs so far were worked out with, or were weighed for them."""
        return frozenset().union(*(page.looked_up() for page in self._pages.values()))


class Draws:
    """Draws from the bands of coefficients: one seeded stream each, so that steps share theirs.

    The exponent of the roughness floor keeps its expected value: its factor was fitted at that
    exponent, and the spread of the factor stands for both.
    """

    def __init__(self, seed: str, count: int = DRAWS) -> None:
        self._seed = seed
        self.count = count
        self._made: dict[str, Real] = {}

    def of(self, picked: Mapping[str, Coefficient]) -> Values:
        """The draws of some coefficients by symbol, each drawn when it is first asked for."""
        return _Drawn(self, picked)

    def one(self, row: Coefficient) -> Real:
        """The draws of one coefficient."""
        if row.key not in self._made:
            self._made[row.key] = row.band.expected if is_fixed(row) else self._draw(row)
        return self._made[row.key]

    def band(self, values: Real) -> Spread:
        """5th, 50th and 95th percentile of a figure that was made from draws."""
        return percentiles(values)

    def _draw(self, row: Coefficient) -> Real:
        return draws(row.key, row.band, self._seed, self.count)


def is_fixed(row: Coefficient) -> bool:
    """Whether a coefficient keeps its expected value, see `Draws`."""
    return row.symbol == "roughness_n"


class _Drawn(Mapping[str, Real]):
    """The draws of picked coefficients by symbol; most formulas need only a few of them."""

    def __init__(self, drawn: Draws, picked: Mapping[str, Coefficient]) -> None:
        self._drawn = drawn
        self._picked = picked

    def __getitem__(self, symbol: str) -> Real:
        return self._drawn.one(self._picked[symbol])

    def __iter__(self) -> Iterator[str]:
        return iter(self._picked)

    def __len__(self) -> int:
        return len(self._picked)
