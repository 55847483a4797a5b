"""The equipment at hand: what can be mounted, how fast it turns, and what a change of media costs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Literal, cast

from advisor.errors import InputError, Problem, listing
from advisor.knowledge.entries import Fields
from advisor.knowledge.reference import Frozen, Handling, Media, Window
from advisor.knowledge.strict_yaml import Node

FORMS = ("belt", "wheel", "disc", "hand-tool")
GROUPS = (
    "steel", "stainless", "iron", "aluminium", "copper", "zinc", "titanium", "nickel-cobalt", "magnesium",
)  # fmt: skip
COVERS = ("rubber", "urethane", "foam", "cloth", "felt", "inflatable")
FACES = ("plain", "serrated", "x-serrated", "cog")
ASSUMED_CHANGEOVER_S = 120.0  # own estimate, used only where a cell gives no changeover at all

_CELL_KEYS = (
    "name", "operator", "handling", "wet", "media_history", "dust", "stations", "compliance", "changeover",
    "rates", "note",
)  # fmt: skip
_ROW_KEYS = ("key", "source")
_STATION_KEYS = (
    "name", "takes", "power", "speed", "wheel_diameter", "wheel_hardness", "wheel_width", "wheel_face",
    "wheel_cover", "wheel_cover_thickness", "wheel_crown", "belt_tension", "marked_speed", "min_diameter",
)  # fmt: skip


class Dust(Frozen):
    """The collector, and the alloy groups it also serves (None: not known)."""

    collector: Literal["none", "dry", "wet"] | None = None
    shared_with: tuple[str, ...] | None = None


class Station(Frozen):
    """A standing machine or a hand tool.

    `takes` are media keys. Speed is the lowest and the highest rpm. Diameters and widths are in mm,
    hardness in Shore A; empty tuples mean that nothing is said about what lies on the shelf. The crown
    is the radius of the contact wheel's face across its width (None: flat), the tension that of a belt
    at rest, in N for each mm of its width.
    """

    name: str
    takes: tuple[str, ...]
    power_kw: float | None = None
    speed_rpm: Window
    wheel_diameter_mm: float
    min_diameter_mm: float | None = None
    wheel_hardness: tuple[float, ...] = ()
    wheel_width_mm: tuple[float, ...] = ()
    wheel_face: tuple[str, ...] = ()
    wheel_cover: tuple[str, ...] = ()
    wheel_cover_mm: float | None = None
    wheel_crown_mm: float | None = None
    belt_tension_n_mm: float | None = None
    marked_speed_m_s: float | None = None


class Compliance(Frozen):
    """The compliant tool flange: stroke in mm, force window in N."""

    stroke_mm: float | None = None
    force_n: Window | None = None


class Changeover(Frozen):
    """Seconds for a change of media, by form; None is not given."""

    belt_s: float | None = None
    wheel_s: float | None = None
    disc_s: float | None = None
    hand_tool_s: float | None = None

    def given(self) -> tuple[float, ...]:
        """The times that were given, in s."""
        return tuple(t for t in (self.belt_s, self.wheel_s, self.disc_s, self.hand_tool_s) if t is not None)


class Rates(Frozen):
    """What an hour of the cell costs, and in which currency."""

    hour: float
    currency: str


class Cell(Frozen):
    """A cell. `key`, `source` are set where it is a row of the cell table.

    None is not known: such a `media_history` counts as steel, such a collector as shared.
    """

    key: str | None = None
    name: str | None = None
    source: tuple[str, ...] = ()
    note: str | None = None
    operator: Literal["robot", "person"]
    handling: tuple[Handling, ...]
    wet: bool = False
    media_history: Literal["clean", "steel", "unknown"] | None = None
    dust: Dust | None = None
    stations: tuple[Station, ...]
    compliance: Compliance | None = None
    changeover: Changeover = Changeover()
    rates: Rates | None = None

    @property
    def media_touched(self) -> Literal["clean", "steel"]:
        """What the media here has touched, the worse assumed where nobody knows."""
        return "clean" if self.media_history == "clean" else "steel"

    @property
    def takes(self) -> tuple[str, ...]:
        """Every media key that some station takes, in the order of the stations."""
        return tuple(dict.fromkeys(key for station in self.stations for key in station.takes))

    def stations_for(self, media: str) -> tuple[Station, ...]:
        """The stations that take a media, in the order given."""
        return tuple(station for station in self.stations if media in station.takes)

    def changeover_s(self, form: str) -> float:
        """Seconds to change media of a form (belt, wheel, disc, hand-tool).

        Where the form is not given, the longest time given; where none is, the assumed time.
        """
        own = getattr(self.changeover, form.replace("-", "_") + "_s")
        if own is not None:
            return float(own)
        return max(self.changeover.given(), default=ASSUMED_CHANGEOVER_S)


def parse_cell(node: Node, file: str, media: Mapping[str, Media], row: bool = False) -> Cell:
    """A cell from its mapping; as a `row` of the cell table it also has `key` and `source`.

    `media` is the media table (empty: media keys are not checked). Raises InputError with every fault.
    """
    problems: list[Problem] = []
    cell = read_cell(node, "" if row else "cell", file, media, problems, row)
    if cell is None or problems:
        raise InputError(problems)
    return cell


def read_cell(
    node: Node, path: str, file: str, media: Mapping[str, Media], problems: list[Problem], row: bool = False
) -> Cell | None:
    """The same, gathering faults into `problems`; None where it could not be read."""
    before = len(problems)
    keys = (*_ROW_KEYS, *_CELL_KEYS) if row else _CELL_KEYS
    fields = Fields.of(node, path, file, problems, keys, "a cell")
    if fields is None:
        return None
    key = source = None
    if row:
        fields.require("key", "a row needs a key")
        fields.require("name", "a row needs a name")
        fields.require("source", "a row needs a source")
        key = fields.text("key")
        source = [fields.text_of(item, fields.name("source")) for item in fields.entries("source")]
    fields.require("operator", "a cell needs an operator", "robot, person")
    fields.require("handling", "a cell needs its handling", "part-in-hand, tool-in-hand")
    handling = fields.choices("handling", ("part-in-hand", "tool-in-hand"))
    values: dict[str, Any] = {
        "key": key,
        "name": fields.text("name"),
        "source": tuple(source or ()),
        "note": fields.text("note", longest=400),
        "operator": fields.choice("operator", ("robot", "person")),
        "handling": handling,
        "wet": fields.flag("wet") or False,
        "media_history": fields.choice("media_history", ("clean", "steel", "unknown")),
        "dust": _dust(fields),
        "stations": _stations(fields, media, handling),
        "compliance": _compliance(fields),
        "changeover": _changeover(fields),
        "rates": _rates(fields),
    }
    return Cell(**values) if len(problems) == before else None


def _part(fields: Fields, key: str, keys: Sequence[str], what: str) -> Fields | None:
    node = fields.get(key)
    if node is None:
        return None
    return Fields.of(node, fields.name(key), fields.file, fields.problems, keys, what)


def _dust(fields: Fields) -> Dust | None:
    part = _part(fields, "dust", ("collector", "shared_with"), "dust")
    if part is None:
        return None
    shared = part.choices("shared_with", GROUPS) if part.get("shared_with") is not None else None
    collector = part.choice("collector", ("none", "dry", "wet"))
    if collector is None and shared is None:
        return None
    return Dust(collector=cast(Any, collector), shared_with=shared)


def _compliance(fields: Fields) -> Compliance | None:
    part = _part(fields, "compliance", ("stroke", "force"), "compliance")
    if part is None:
        return None
    flange = Compliance(stroke_mm=part.quantity("stroke"), force_n=part.band("force"))
    return None if flange == Compliance() else flange


def _changeover(fields: Fields) -> Changeover:
    node = fields.get("changeover")
    if node is None:
        return Changeover()
    if not isinstance(node.value, dict):
        every = fields.quantity("changeover")
        return Changeover(belt_s=every, wheel_s=every, disc_s=every, hand_tool_s=every)
    part = _part(fields, "changeover", FORMS, "changeover")
    assert part is not None
    times = {form.replace("-", "_") + "_s": part.quantity(form, "changeover") for form in FORMS}
    return Changeover(**times)


def _rates(fields: Fields) -> Rates | None:
    part = _part(fields, "rates", ("hour", "currency"), "rates")
    if part is None:
        return None
    node = part.require("hour", "what an hour costs is needed, as a number")
    hour = None if node is None else part.number(node, part.name("hour"), 0, 100_000)
    currency = part.text("currency", longest=12)
    if part.require("currency", "the currency of the rate is needed, such as EUR or USD") is None:
        return None
    return None if hour is None or currency is None else Rates(hour=hour, currency=currency)


def _stations(fields: Fields, media: Mapping[str, Media], handling: Sequence[str]) -> tuple[Station, ...]:
    found: list[Station] = []
    node = fields.require("stations", "a cell needs at least one station")
    if node is None:
        return ()
    before = len(fields.problems)
    entries = fields.entries("stations", single=False)
    if not entries and len(fields.problems) == before:
        fields.fault(node, fields.name("stations"), "a cell needs at least one station")
    names: set[str] = set()
    for number, entry in enumerate(entries, 1):
        station = _station(entry, f"{fields.name('stations')}[{number}]", fields, media)
        if station is None:
            continue
        if station.name.casefold() in names:
            fields.fault(entry, fields.name("stations"), "two stations of one name", given=station.name)
        names.add(station.name.casefold())
        found.append(station)
    if len(fields.problems) == before and media and handling:
        usable = [key for item in found for key in item.takes if set(media[key].handling) & set(handling)]
        if not usable:
            what = f"nothing here can be run with {' or '.join(handling)}: no station takes a media for it"
            fields.fault(node, fields.name("stations"), what)
    return tuple(found)


def _station(node: Node, path: str, cell: Fields, media: Mapping[str, Media]) -> Station | None:
    before = len(cell.problems)
    fields = Fields.of(node, path, cell.file, cell.problems, _STATION_KEYS, "a station")
    if fields is None:
        return None
    fields.require("name", "a station needs a name")
    fields.require("speed", "a station needs its speed, one rpm or the lowest and the highest")
    fields.require("wheel_diameter", "a station needs the diameter of its wheel or disc")
    fields.require("takes", "a station needs the media it takes", listing(tuple(media), limit=24))
    takes = _takes(fields, media)
    hardness = [
        fields.number(item, fields.name("wheel_hardness"), 5, 95) for item in fields.entries("wheel_hardness")
    ]
    widths = [
        fields.quantity_of(item, fields.name("wheel_width"), "wheel_width")
        for item in fields.entries("wheel_width")
    ]
    values: dict[str, Any] = {
        "name": fields.text("name"),
        "takes": takes,
        "power_kw": fields.quantity("power"),
        "speed_rpm": fields.band("speed"),
        "wheel_diameter_mm": fields.quantity("wheel_diameter"),
        "min_diameter_mm": fields.quantity("min_diameter"),
        "wheel_hardness": tuple(sorted({item for item in hardness if item is not None})),
        "wheel_width_mm": tuple(sorted({item for item in widths if item is not None})),
        "wheel_face": fields.choices("wheel_face", FACES),
        "wheel_cover": fields.choices("wheel_cover", COVERS),
        "wheel_cover_mm": fields.quantity("wheel_cover_thickness"),
        "wheel_crown_mm": fields.quantity("wheel_crown"),
        "belt_tension_n_mm": fields.quantity("belt_tension"),
        "marked_speed_m_s": fields.quantity("marked_speed"),
    }
    cover = values["wheel_cover_mm"]
    smallest, whole = values["min_diameter_mm"], values["wheel_diameter_mm"]
    if smallest is not None and whole is not None and smallest > whole:
        fields.fault(fields.get("min_diameter"), fields.name("min_diameter"), "larger than wheel_diameter")
    if cover is not None and whole is not None and cover >= whole / 2:
        name = "wheel_cover_thickness"
        fields.fault(fields.get(name), fields.name(name), "as thick as the wheel's radius or thicker")
    return Station(**values) if len(cell.problems) == before else None


def _takes(fields: Fields, media: Mapping[str, Media]) -> tuple[str, ...]:
    name = fields.name("takes")
    node = fields.get("takes")
    entries = fields.entries("takes")
    if node is not None and not entries and isinstance(node.value, list):
        known = listing(tuple(media), limit=24)
        fields.fault(node, name, "a station needs at least one media", allowed=known)
    if media:
        return fields.choices("takes", tuple(media))
    found = [fields.text_of(item, name) for item in entries]
    return tuple(dict.fromkeys(item for item in found if item is not None))
