"""A range as a picture: one bar a face, a colour for each chain of steps, and where it goes over."""

from __future__ import annotations

from collections.abc import Iterator
from xml.sax.saxutils import escape

from advisor.units import figure
from advisor.whatif.model import WhatIfRange

_LEFT, _TOP, _WIDE, _BAR, _GAP, _LINE = 20, 56, 720, 26, 44, 18
#: Colours that stay apart for every eye, each with black letters readable on it; grey is no process.
_COLOURS = ("#8ecae6", "#ffd166", "#b8e0b0", "#f4a6a6", "#cdb4db", "#f6bd60", "#a3c4bc", "#e5c1cd")
_NONE = "#d0d0d0"


def to_svg(found: WhatIfRange) -> str:
    """The picture, the same bytes for the same answer; it stands alone and says in words what it shows."""
    names = [face.name for face in found.stretches[0].faces]
    unit = f" {found.unit}" if found.unit else ""
    title = f"{found.name}: {found.field} from {figure(found.low)} to {figure(found.high)}{unit}"
    body: list[str] = []
    down = float(_TOP)
    told = []
    for place, name in enumerate(names):
        runs = list(_runs(found, place))
        body.append(_text(_LEFT, down - 6, name, "b"))
        chains = list(dict.fromkeys(chain for _, _, chain in runs))
        colours = {chain: _NONE if chain == "no process" else _colour(chains, chain) for chain in chains}
        for low, high, chain in runs:
            left, right = _across(found, low), _across(found, high)
            words = f"{figure(low, 4)} to {figure(high, 4)}{unit}: {chain}"
            body.append(
                f'<rect x="{left:.1f}" y="{down:.1f}" width="{max(right - left, 1):.1f}" height="{_BAR}" '
                f'fill="{colours[chain]}"><title>{escape(words)}</title></rect>'
            )
            told.append(f"{name}, {words}")
        for low, _, _ in runs[1:]:
            body.append(_text(_across(found, low), down + _BAR + 12, figure(low, 3), "n"))
        down += _BAR + 20
        for chain in chains:
            down += _LINE
            body.append(f'<rect x="{_LEFT}" y="{down - 10:.1f}" width="12" height="12" fill="{colours[chain]}"/>')
            body.append(_text(_LEFT + 18, down, chain))
        down += _GAP
    body += [_text(_LEFT, _TOP - 26, title, "b")]
    across, high = _WIDE + 2 * _LEFT, down
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {across} {high:.0f}" width="{across}" '
        f'height="{high:.0f}" role="img"><title>{escape(title)}</title><desc>{escape("; ".join(told))}</desc>'
        "<style>text{font:12px sans-serif;fill:#222}.b{font-weight:bold}.n{text-anchor:middle;font-size:10px}"
        '</style><rect width="100%" height="100%" fill="#fff"/>'
    )
    return "\n".join([head, *body, "</svg>"]) + "\n"


def _runs(found: WhatIfRange, place: int) -> Iterator[tuple[float, float, str]]:
    """The stretches of one face, joined where its chain of steps stays the same."""
    low, high, chain = found.stretches[0].low, found.stretches[0].high, found.stretches[0].faces[place].text()
    for stretch in found.stretches[1:]:
        text = stretch.faces[place].text()
        if text == chain:
            high = stretch.high
            continue
        yield low, high, chain
        low, high, chain = stretch.low, stretch.high, text
    yield low, high, chain


def _across(found: WhatIfRange, value: float) -> float:
    return _LEFT + _WIDE * (value - found.low) / (found.high - found.low)


def _colour(chains: list[str], chain: str) -> str:
    return _COLOURS[chains.index(chain) % len(_COLOURS)]


def _text(x: float, y: float, text: str, kind: str = "") -> str:
    name = f' class="{kind}"' if kind else ""
    return f'<text x="{x:.1f}" y="{y:.1f}"{name}>{escape(text)}</text>'
