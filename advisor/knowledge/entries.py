"""Reading one field at a time while every fault is gathered, so that a file is corrected in one go."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from advisor.errors import InputError, Problem, listing, nearest, shorten
from advisor.knowledge.strict_yaml import Node
from advisor.units import DIMENSIONS, parse_quantity, plain_number

# Low and high in the base unit: wide enough for any real shop, narrow enough to catch a slipped unit.
RANGES: dict[str, tuple[str, float, float]] = {
    "mass": ("mass", 0.0005, 20_000),
    "size": ("length", 1, 30_000),
    "wall": ("length", 0.05, 1000),
    "depth": ("length", 0, 50),
    "roughness": ("roughness", 0.005, 200),
    "radius": ("length", 0.1, 5000),
    "cross_radius": ("length", 0.1, 50_000),
    "width": ("length", 0.2, 5000),
    "area": ("area", 0.01, 200_000),
    "access": ("length", 0.5, 10_000),
    "edge_radius": ("length", 0.02, 20),
    "max_stock": ("length", 0.001, 50),
    "ra": ("roughness", 0, 100),
    "cutoff": ("length", 0.008, 80),
    "power": ("power", 0.05, 200),
    "speed": ("rotation", 1, 150_000),
    "wheel_diameter": ("length", 3, 1500),
    "min_diameter": ("length", 1, 1500),
    "wheel_width": ("length", 1, 1000),
    "wheel_cover_thickness": ("length", 1, 200),
    "wheel_crown": ("length", 20, 50_000),
    "belt_tension": ("line force", 0.1, 50),
    "marked_speed": ("speed", 0.5, 200),
    "stroke": ("length", 0.1, 1000),
    "force": ("force", 0, 20_000),
    "changeover": ("time", 0, 86_400),
    "wheel_edge": ("length", 0, 50),
    "used_force": ("force", 0.01, 20_000),
    "surface_speed": ("speed", 0.1, 200),
    "feed": ("feed", 0.1, 5000),
    "removal": ("removal", 0, 50_000),
    "step_time": ("time", 0.1, 1_000_000),
}
LONGEST_NAME = 80


class Fields:
    """One mapping of the file: hands out its fields and gathers problems into a shared list."""

    def __init__(self, node: Node, path: str, file: str, problems: list[Problem]) -> None:
        self.node = node
        self.path = path
        self.file = file
        self.problems = problems
        self.items: dict[str, Node] = node.value if isinstance(node.value, dict) else {}

    @classmethod
    def of(
        cls, node: Node, path: str, file: str, problems: list[Problem], keys: Sequence[str], what: str
    ) -> Fields | None:
        """The fields of a mapping, its unknown keys reported; None (and a problem) where it is none."""
        fields = cls(node, path, file, problems)
        if not isinstance(node.value, dict):
            fault = f"{what} is a mapping of fields"
            fields.fault(node, path, fault, given=kind_of(node), allowed=listing(keys, limit=20))
            return None
        for key in node.value:
            if key not in keys:
                place = node.key_place(key, file)
                near = nearest(key.replace(" ", "_").replace("-", "_"), keys)
                shown = listing(keys, limit=20)
                problems.append(Problem(place, f"{fields.name(key)}: unknown key", key, shown, near))
        return fields

    def name(self, key: str) -> str:
        """The full name of a field, as messages show it."""
        shown = shorten("".join(letter for letter in key if letter.isprintable()))
        return f"{self.path}.{shown}" if self.path else shown

    def place(self, node: Node | None) -> str:
        """`file:line:column` of a value, or of the mapping."""
        return (node or self.node).place(self.file)

    def fault(
        self,
        node: Node | None,
        field: str,
        what: str,
        given: str | None = None,
        allowed: str | None = None,
        near: str | None = None,
    ) -> None:
        """Note a fault at a value."""
        text = f"{field}: {what}" if field else what
        self.problems.append(Problem(self.place(node), text, given, allowed, near))

    def get(self, key: str) -> Node | None:
        """The value of a key; None where it is missing or left empty."""
        node = self.items.get(key)
        return None if node is None or node.value is None else node

    def require(self, key: str, what: str, allowed: str | None = None) -> Node | None:
        """A field that must be there; a missing one is a fault."""
        node = self.get(key)
        if node is None:
            self.fault(self.items.get(key), self.name(key), what, allowed=allowed)
        return node

    def text(self, key: str, longest: int = LONGEST_NAME) -> str | None:
        """A field as one line of text."""
        node = self.get(key)
        return None if node is None else self.text_of(node, self.name(key), longest)

    def text_of(self, node: Node, field: str, longest: int = LONGEST_NAME) -> str | None:
        """One line of text; numbers are taken as they are written. None and a problem otherwise."""
        if isinstance(node.value, (list, dict)) or node.value is None:
            self.fault(node, field, "one line of text is needed", given=kind_of(node))
            return None
        text = node.raw.strip()
        if not text:
            self.fault(node, field, "is empty; text is needed")
        elif len(text) > longest:
            self.fault(node, field, f"longer than {longest} characters", given=text)
        elif any(not letter.isprintable() for letter in text):
            self.fault(node, field, "holds a control character or a line break", given=ascii(text))
        else:
            return text
        return None

    def choice(self, key: str, options: Sequence[str]) -> str | None:
        """A field as one of some words."""
        node = self.get(key)
        return None if node is None else self.choice_of(node, self.name(key), options)

    def choice_of(self, node: Node, field: str, options: Sequence[str]) -> str | None:
        """A value as one of some words."""
        text = self.text_of(node, field)
        if text is None:
            return None
        folded = text.casefold().replace(" ", "-").replace("_", "-")
        for option in options:
            if option.casefold() == folded:
                return option
        self.fault(node, field, "unknown value", text, listing(options, limit=24), nearest(folded, options))
        return None

    def flag(self, key: str) -> bool | None:
        """A field as true or false."""
        node = self.get(key)
        if node is None:
            return None
        if isinstance(node.value, bool):
            return node.value
        word = node.raw.casefold() if isinstance(node.value, str) else ""
        near = {"yes": "true", "on": "true", "no": "false", "off": "false"}.get(word)
        self.fault(node, self.name(key), "true or false is needed", node.raw or kind_of(node), near=near)
        return None

    def quantity(self, key: str, rule: str | None = None) -> float | None:
        """A field as a quantity in its base unit."""
        node = self.get(key)
        return None if node is None else self.quantity_of(node, self.name(key), rule or key)

    def quantity_of(self, node: Node, field: str, rule: str) -> float | None:
        """A quantity inside its range, in its base unit. None and a problem otherwise."""
        dimension, low, high = RANGES[rule]
        base = DIMENSIONS[dimension]
        if isinstance(node.value, (list, dict, bool)) or node.value is None:
            units = ", ".join(base.offered)
            self.fault(node, field, f"{base.article} with a unit is needed: {units}", given=kind_of(node))
            return None
        try:
            value = parse_quantity(node.raw, dimension, self.place(node))
        except InputError as error:
            self.problems += [replace(item, what=f"{field}: {item.what}") for item in error.problems]
            return None
        if not low <= value <= high:
            span = f"{plain_number(low)} to {plain_number(high)} {base.base}"
            self.fault(node, field, "outside what is possible", given=node.raw, allowed=span)
            return None
        return value

    def band(self, key: str, rule: str | None = None) -> tuple[float, float] | None:
        """A field as a low and a high quantity."""
        node = self.get(key)
        return None if node is None else self.band_of(node, self.name(key), rule or key)

    def band_of(self, node: Node, field: str, rule: str) -> tuple[float, float] | None:
        """One quantity, or a list of a low and a high one. None and a problem otherwise."""
        if not isinstance(node.value, list):
            value = self.quantity_of(node, field, rule)
            return None if value is None else (value, value)
        if len(node.value) != 2:
            self.fault(node, field, "one quantity or two, low and high, are needed", given=kind_of(node))
            return None
        low, high = (self.quantity_of(item, field, rule) for item in node.value)
        if low is None or high is None:
            return None
        if low > high:
            shown = f"[{node.value[0].raw}, {node.value[1].raw}]"
            self.fault(node, field, "the wrong way round: the low value comes first", given=shown)
            return None
        return (low, high)

    def number(self, node: Node, field: str, low: float, high: float, whole: bool = False) -> float | None:
        """A plain number without a unit, inside its range. None and a problem otherwise."""
        value = node.value
        kind = "a whole number" if whole else "a number"
        span = f"{plain_number(low)} to {plain_number(high)}"
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            self.fault(node, field, f"{kind} without a unit is needed", node.raw or kind_of(node), span)
        elif whole and value != int(value):
            self.fault(node, field, f"{kind} is needed", node.raw, span)
        elif not low <= value <= high:
            self.fault(node, field, "outside what is possible", node.raw, span)
        else:
            return float(value)
        return None

    def entries(self, key: str, single: bool = True) -> list[Node]:
        """The nodes of a list; one value stands for a list of one where `single` is allowed."""
        node = self.get(key)
        if node is None:
            return []
        if isinstance(node.value, list):
            return list(node.value)
        if single and not isinstance(node.value, dict):
            return [node]
        self.fault(node, self.name(key), "a list is needed", given=kind_of(node))
        return []

    def choices(self, key: str, options: Sequence[str]) -> tuple[str, ...]:
        """A field as a list of some words, each once."""
        found: list[str] = []
        for node in self.entries(key):
            value = self.choice_of(node, self.name(key), options)
            if value is not None and value not in found:
                found.append(value)
        return tuple(found)


def kind_of(node: Node) -> str:
    """What a node is, in words for a message."""
    if isinstance(node.value, dict):
        return "a mapping"
    if isinstance(node.value, list):
        return f"a list of {len(node.value)}"
    return "nothing" if node.value is None else node.raw
