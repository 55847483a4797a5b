"""The quote: whether the job can be done here, a range of time and cost, and what they do not hold."""

from __future__ import annotations

from collections.abc import Iterator

from advisor.render import lines, sums, words
from advisor.render.cards.card import Card, Cell, Page, Section
from advisor.render.cards.common import as_grid, cautions, head
from advisor.render.quantities import at_most, both_window
from advisor.render.speech import Speech
from advisor.sheet.model import Feature

#: What no figure of a sheet holds, whatever the job; a sheet may name more.
EXCLUDED = (
    "Damage that the job does not describe.",
    "Fixtures, programming, samples and trials.",
    "Packing, freight and taxes.",
)
_DRIVERS = 5  # more are not read in a quote
_RANGE = "A range is the band in which 9 results in 10 should fall; it is a starting point until a trial proves it."


def quote(speech: Speech) -> Card:
    """One page for whoever answers the customer."""
    sections = [
        *_feasible(speech),
        *_figures(speech),
        *_media(speech),
        *_drivers(speech),
        *_excluded(speech),
        *_assumed(speech),
        *_open(speech),
    ]
    asked = tuple((line.label, speech.prose(line.text)) for line in speech.sheet.asked)
    page = Page("Feasibility and range", head(speech, *asked), cautions(speech, short=True), tuple(sections))
    return Card("quote", f"Quote: {lines.title(speech)}", (page,), lines.foot(speech))


def _feasible(speech: Speech) -> Iterator[Section]:
    """A line a face: what it is to become, by which chain, and how likely the roughness is met."""
    rows: list[tuple[Cell, ...]] = []
    for feature, (_, chain) in zip(speech.sheet.features, lines.chains(speech), strict=True):
        rows.append(
            (
                feature.name,
                "yes" if chain else "no",
                _target(feature, speech),
                f"{chain}." if chain else _why_not(feature, speech),
                "-" if feature.ra_probability is None else sums.share_words(feature.ra_probability),
            )
        )
    without = [feature.name for feature in speech.sheet.features if not feature.steps]
    names = ["Face", "Feasible", "To become", "How", "Ra met first time"]
    told = words.speaking(names, [[str(cell) for cell in row] for row in rows])
    answer = (
        f"No: in this cell there is no process for {words.join(without)}."
        if without
        else "Yes: every face has a process in this cell."
    )
    yield Section("Feasible", (answer,), grids=(as_grid("feasibility", told),), stop=bool(without))


def _target(feature: Feature, speech: Speech) -> str:
    target = feature.target
    if target is None:
        return "-"
    said = [speech.name(target.finish or target.texture)]
    said += [f"Ra {both_window(target.ra_um, 'um', speech.system)}"] if target.ra_um else []
    return ", ".join(said)


def _why_not(feature: Feature, speech: Speech) -> str:
    told = [f"{barrier.text} {barrier.opens or ''}".strip() for barrier in lines.barriers(feature, speech)]
    return " ".join(told[:2]) or "Nothing in the knowledge base leads from this start to this finish."


def _figures(speech: Speech) -> Iterator[Section]:
    """Time and cost of a part and of the batch, and where they go."""
    totals = speech.sheet.totals
    size = f" of {totals.batch}" if totals.batch else ""
    wanted = (
        ("Working one part", totals.time_s, totals.cost),
        ("One good part, all in", totals.part_time_s, totals.part_cost),
        (f"Batch{size}", totals.batch_time_s, totals.batch_cost),
    )
    rows: list[tuple[Cell, ...]] = [
        (what, sums.time_range(time), sums.money_range(cost, totals.currency)) for what, time, cost in wanted if time
    ]
    if not rows:
        yield Section("Time and cost", ("No figure, since not every face has a process.",))
        return
    told = [_RANGE]
    if totals.part_cost is None and totals.cost is None:
        told.append("No cost: the cell gives no rate for an hour.")
    tables = [words.speaking(["What", "Time", "Cost"], [[str(cell) for cell in row] for row in rows])]
    where = sums.parts(speech)
    tables += [where] if where is not None else []
    grids = tuple(as_grid(name, table) for name, table in zip(("time and cost", "one part"), tables, strict=False))
    yield Section("Time and cost", tuple(told), grids=grids)


def _media(speech: Speech) -> Iterator[Section]:
    table = sums.media(speech)
    if table is not None:
        yield Section("Media used up", grids=(as_grid("media used up", table),))


def _drivers(speech: Speech) -> Iterator[Section]:
    table = sums.drivers(speech)
    if table is not None:
        few = words.Table(table.head, table.rows[:_DRIVERS])
        told = "One assumption at a time at its low and its high end, all others as expected"
        said = f"{told}: the {sums.driven(speech)} of a good part."
        yield Section("What moves the figure most", (said,), grids=(as_grid("drivers", few),))


def _excluded(speech: Speech) -> Iterator[Section]:
    yield Section("Not included", tuple(dict.fromkeys([*sums.excluded(speech), *EXCLUDED])))
    outside = [f"{note.text} This is not priced here." for note in lines.notes(speech.sheet.outside, speech)]
    if outside:
        yield Section("Another process is the better or the required way", tuple(outside))


def _assumed(speech: Speech) -> Iterator[Section]:
    told = tuple(f"{what}: {why}" for what, why in lines.assumed(speech))
    if told:
        yield Section("Assumed, because nobody said", told)


def _open(speech: Speech) -> Iterator[Section]:
    said = [words.upper(words.sentence(speech.prose(line))) for line in speech.sheet.measure_next]
    marked = [
        f"{words.upper(speech.media(step))} may usually run at no more than "
        f"{at_most(step.marked_speed_m_s, 'm/s', speech.system)}; the mark on the piece that is bought decides."
        for feature in speech.sheet.features
        for step in feature.steps
        if step.marked_speed_m_s is not None
    ]
    said += list(dict.fromkeys(marked))
    if said:
        yield Section("Make sure of this before promising", tuple(said))
