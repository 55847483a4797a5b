"""One look for all pictures: drawn by matplotlib, then made small, themeable and the same every time."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal
from xml.etree import ElementTree

from advisor.render.words import one_line

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH = 340.0  # points: the width of a small screen, so that letters keep their size there

#: Stand-ins for the colours of the page. They end as names of classes: the page's own colours, light or
#: dark, fill them in.
INK, SOFT, RULE, BOX, BAND, TARGET, LINE, BAD = (f"#0000{place:02x}" for place in range(1, 9))
STAGES = {"clear": "#000011", "refine": "#000012", "prepare": "#000013", "finish": "#000014"}
_CLASSES = {
    INK: "ink", SOFT: "soft", RULE: "rule", BOX: "box", BAND: "band", TARGET: "target", LINE: "line",
    BAD: "bad", **{colour: stage for stage, colour in STAGES.items()},
}  # fmt: skip

_SVG = "{http://www.w3.org/2000/svg}"
_LINKED = "{http://www.w3.org/1999/xlink}href"
_DROPPED = {"font-family", "stroke-linejoin", "stroke-linecap", "stroke-miterlimit"}
_LONG = re.compile(r"-?\d+\.\d+")
_EVEN = re.compile(r"rotate\(-?0(?:\.0+)? [^)]*\)")
_OURS: dict[Any, Any] = {  # matplotlib types each name on its own
    "svg.fonttype": "none",  # letters stay letters: small, sharp, found by a search, read aloud
    "svg.hashsalt": "advisor",
    "text.parse_math": False,  # a dollar sign in a name is a dollar sign
    "font.size": 11.0,
    "axes.titley": 1.0,  # looking for the place of a title costs a sixth of the time
    "axes.edgecolor": RULE,
    "axes.labelcolor": INK,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "text.color": INK,
    "xtick.color": RULE,
    "ytick.color": RULE,
    "xtick.labelcolor": SOFT,
    "ytick.labelcolor": SOFT,
    "xtick.labelsize": 10.0,
    "ytick.labelsize": 10.0,
    "lines.linewidth": 1.8,
    "lines.markersize": 5.0,
    "path.simplify": False,
}


@dataclass(frozen=True)
class Picture:
    """A picture for a page: its SVG, what it shows in a line, and the same in words for who cannot see it."""

    svg: str
    caption: str
    words: str


@contextmanager
def own_look() -> Iterator[None]:
    """Draw with our settings alone, whatever the user has set for other work."""
    import matplotlib as mpl

    with mpl.rc_context():
        mpl.rcdefaults()
        mpl.rcParams.update(_OURS)
        yield


def canvas(height: float, width: float = WIDTH) -> Figure:
    """An empty drawing without a ground of its own; lengths in points."""
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width / 72, height / 72), dpi=72)
    FigureCanvasSVG(figure)
    figure.patch.set_visible(False)
    return figure


def panel(figure: Figure, left: float, bottom: float, width: float, height: float) -> Axes:
    """Axes without a ground, placed in points."""
    across, up = figure.get_size_inches() * 72
    axes = figure.add_axes((left / across, bottom / up, width / across, height / up))
    axes.patch.set_visible(False)
    axes.tick_params(length=3, width=0.8)
    return axes


class Paper:
    """A drawing with its origin at the top left, in points, for pictures that are not plots."""

    def __init__(self, height: float) -> None:
        self.figure = canvas(height)
        self._height = height
        self._drawn = 0  # what is drawn later lies above

    def box(
        self,
        x: float,
        y: float,
        width: float,
        height: float,
        fill: str | None = None,
        edge: str | None = None,
        dashed: bool = False,
    ) -> None:
        """A rectangle from its top left corner."""
        from matplotlib.patches import Rectangle

        shape = Rectangle(
            (x, self._height - y - height),
            width,
            height,
            facecolor=fill or "none",
            edgecolor=edge or "none",
            linewidth=1.0,
            linestyle=(0, (4, 3)) if dashed else "solid",
            transform=None,
        )
        self._add(shape)

    def line(self, x: float, y: float, to_x: float, to_y: float, colour: str, width: float = 1.0) -> None:
        """A straight line."""
        from matplotlib.lines import Line2D

        up = self._height
        drawn = Line2D([x, to_x], [up - y, up - to_y], color=colour, linewidth=width, transform=None)
        self._add(drawn)

    def text(
        self,
        x: float,
        y: float,
        text: str,
        colour: str = INK,
        size: float = 11.0,
        bold: bool = False,
        align: Literal["left", "center", "right"] = "left",
        turned: float = 0.0,
    ) -> None:
        """A line of text standing on the height `y`."""
        from matplotlib.text import Text

        drawn = Text(
            x,
            self._height - y,
            one_line(text),
            color=colour,
            fontsize=size,
            fontweight="bold" if bold else "normal",
            horizontalalignment=align,
            verticalalignment="baseline",
            rotation=turned,
            rotation_mode="anchor",
            transform=None,
        )
        self._add(drawn)

    def _add(self, artist: Artist) -> None:
        self._drawn += 1
        artist.set_zorder(self._drawn)
        self.figure.add_artist(artist)


def to_svg(figure: Figure, key: str, caption: str, told: str) -> str:
    """The drawing as SVG to stand in a page: no date, no ids but its own, colours as names of classes.

    `key` keeps the ids of several pictures of one page apart. `caption` and `told` are what a screen
    reader says. Text is escaped.
    """
    out = io.StringIO()
    figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None, "Format": None, "Type": None})
    root = ElementTree.fromstring(out.getvalue().encode())
    _tidy(root, key)
    across, up = root.get("viewBox", "").split()[2:]
    root.attrib.clear()
    root.attrib |= {
        "viewBox": f"0 0 {across} {up}",
        "width": across,
        "height": up,
        "role": "img",
        "aria-labelledby": f"{key}-t {key}-d",
    }
    head = [_element("title", f"{key}-t", caption), _element("desc", f"{key}-d", told)]
    for place, element in enumerate(head):
        root.insert(place, element)
    for element in root.iter():
        element.tag = element.tag.removeprefix(_SVG)
    return re.sub(r"\n\s*", "\n", ElementTree.tostring(root, encoding="unicode")).strip()


def _element(tag: str, identity: str, text: str) -> ElementTree.Element:
    element = ElementTree.Element(tag, {"id": identity})
    element.text = one_line(text)
    return element


def _tidy(parent: ElementTree.Element, key: str) -> None:
    """Drop what a page does not need, and give ids and colours the names of this picture and this page."""
    for child in list(parent):
        if child.tag in {f"{_SVG}metadata", f"{_SVG}style"}:
            parent.remove(child)
            continue
        _tidy(child, key)
        _plain(child, key)
        if child.tag in {f"{_SVG}g", f"{_SVG}defs"} and not len(child):
            parent.remove(child)
        else:
            child.tail = "\n"
    if parent.tag == f"{_SVG}g" and not parent.attrib:
        _lift_only_child(parent)


def _lift_only_child(group: ElementTree.Element) -> None:
    """A group around nothing but groups says nothing: their content moves up."""
    for place, child in reversed(list(enumerate(group))):
        if child.tag == f"{_SVG}g" and not child.attrib:
            group.remove(child)
            for inner in reversed(list(child)):
                group.insert(place, inner)


def _plain(element: ElementTree.Element, key: str) -> None:
    found = element.attrib
    _unstyle(found)
    _own_ids(element, key)
    if _EVEN.fullmatch(found.get("transform", "")):
        del found["transform"]
    for name in ("d", "x", "y", "transform", "width", "height"):
        if name in found:
            found[name] = _LONG.sub(lambda number: f"{float(number[0]):.1f}", " ".join(found[name].split()))


def _unstyle(found: dict[str, str]) -> None:
    """A style becomes attributes and names of classes; the policy of the page forbids styles in place."""
    classes = []
    for entry in filter(None, found.pop("style", "").split(";")):
        name, value = (part.strip() for part in entry.split(":", 1))
        if value in _CLASSES:
            classes.append(f"{name[0]}-{_CLASSES[value]}")  # f for fill, s for stroke
        elif name not in _DROPPED:
            found[name] = value.removesuffix("px")
    if classes:
        found["class"] = " ".join(classes)


def _own_ids(element: ElementTree.Element, key: str) -> None:
    """Ids and what points to them carry the key of the picture."""
    found = element.attrib
    if element.tag in {f"{_SVG}g", f"{_SVG}text"}:
        found.pop("id", None)
    if "id" in found:
        found["id"] = f"{key}-{found['id']}"
    if _LINKED in found:
        found["href"] = f"#{key}-{found.pop(_LINKED).removeprefix('#')}"
    if "clip-path" in found:
        found["clip-path"] = found["clip-path"].replace("#", f"#{key}-")
