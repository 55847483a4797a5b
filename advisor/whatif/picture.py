"""A range as a picture: a bar for each face that changes, a colour for each chain of steps, and where it goes over."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from xml.sax.saxutils import escape

from advisor.units import figure
from advisor.whatif.model import FaceSays, StretchSays, WhatIfRange

_LEFT, _TOP, _WIDE, _BAR, _LINE = 20, 64, 720, 26, 18
#: Room that a number under a bar takes, and the lines there are for numbers.
_NUMBER, _ROWS, _ROW = 44, 2, 12
#: Colours that stay apart for every eye, each with black letters readable on it; grey is no process.
_COLOURS = ("#8ecae6", "#ffd166", "#b8e0b0", "#f4a6a6", "#cdb4db", "#f6bd60", "#a3c4bc", "#e5c1cd")
_NONE = "#d0d0d0"

Run = tuple[float, float, str]


def to_svg(found: WhatIfRange) -> str:
    """The picture, the same bytes for the same answer; it stands alone and says in words what it shows."""
    unit = f" {found.unit}" if found.unit else ""
    bars = [(name, runs) for name, runs in _bars(found) if len(runs) > 1]
    still = [name for name, runs in _bars(found) if len(runs) == 1 and name != _HANDLING]
    title = f"{found.name}: {found.field} from {figure(found.low)} to {figure(found.high)}{unit}"
    body = [_text(_LEFT, 24, title, "b")]
    told: list[str] = []
    down = float(_TOP)
    for name, runs in bars:
        body.append(_text(_LEFT, down - 6, name, "b"))
        chains = list(dict.fromkeys(chain for _, _, chain in runs))
        colours = {chain: _NONE if chain == "no process" else _colour(chains, chain) for chain in chains}
        body += _drawn(found, runs, colours, down)
        told += [f"{name}, {_words(run, unit)}" for run in runs]
        down += _BAR
        body += _numbers(found, runs, down)
        down += _ROWS * _ROW + 4
        for chain in chains:
            down += _LINE
            body.append(f'<rect x="{_LEFT}" y="{down - 10:.1f}" width="12" height="12" fill="{colours[chain]}"/>')
            body.append(_text(_LEFT + 18, down, chain))
        down += 44
    if still:
        line = f"{'Not changed anywhere' if bars else 'The same everywhere'}: {', '.join(still)}"
        body.append(_text(_LEFT, down - 10, line))
        told.append(line)
    across, high = _WIDE + 2 * _LEFT, down + 8
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {across} {high:.0f}" width="{across}" '
        f'height="{high:.0f}" role="img"><title>{escape(title)}</title><desc>{escape("; ".join(told))}</desc>'
        "<style>text{font:12px sans-serif;fill:#222}.b{font-weight:bold}.n{text-anchor:middle;font-size:10px}"
        '.e{text-anchor:end;font-size:10px}.s{font-size:10px}</style><rect width="100%" height="100%" fill="#fff"/>'
    )
    return "\n".join([head, *body, "</svg>"]) + "\n"


_HANDLING = "handling"


def _bars(found: WhatIfRange) -> Iterator[tuple[str, list[Run]]]:
    """What is told of the handling and of each face, as runs over the range."""
    yield _HANDLING, list(_runs(found.stretches, [stretch.handling for stretch in found.stretches]))
    for place, face in enumerate(found.stretches[0].faces):
        yield face.name, list(_runs(found.stretches, _texts([each.faces[place] for each in found.stretches])))


def _texts(faces: Sequence[FaceSays]) -> list[str]:
    """The chain of each stretch; where stretches of one chain are set up otherwise, with what differs in that."""
    alike: dict[str, list[FaceSays]] = {}
    for face in faces:
        alike.setdefault(face.text(), []).append(face)
    return [f"{face.text()}{_set_up(face, alike[face.text()])}" for face in faces]


def _set_up(face: FaceSays, alike: Sequence[FaceSays]) -> str:
    said = [
        f"step {place + 1}: {name.replace('_', ' ')} {step.set_up.get(name, 'none')}"
        for place, step in enumerate(face.steps)
        for name in dict.fromkeys(name for each in alike for name in each.steps[place].set_up)
        if len({each.steps[place].set_up.get(name) for each in alike}) > 1
    ]
    return f"; {', '.join(said)}" if said else ""


def _runs(stretches: Sequence[StretchSays], texts: Sequence[str]) -> Iterator[Run]:
    """The stretches, joined where the text stays the same."""
    low, high, text = stretches[0].low, stretches[0].high, texts[0]
    for stretch, further in zip(stretches[1:], texts[1:], strict=True):
        if further != text:
            yield low, high, text
            low, text = stretch.low, further
        high = stretch.high
    yield low, high, text


def _drawn(found: WhatIfRange, runs: Sequence[Run], colours: dict[str, str], down: float) -> Iterator[str]:
    unit = f" {found.unit}" if found.unit else ""
    for run in runs:
        left, right = _across(found, run[0]), _across(found, run[1])
        yield (
            f'<rect x="{left:.1f}" y="{down:.1f}" width="{max(right - left, 1):.1f}" height="{_BAR}" '
            f'fill="{colours[run[2]]}"><title>{escape(_words(run, unit))}</title></rect>'
        )
    if found.given is not None and found.low <= found.given <= found.high:
        at = _across(found, found.given)
        yield (
            f'<line x1="{at:.1f}" y1="{down - 4:.1f}" x2="{at:.1f}" y2="{down + _BAR:.1f}" stroke="#222" '
            'stroke-dasharray="3 2"/>'
        )
        yield _text(at, down - 7, f"as given, {figure(found.given)}{unit}", "n")


def _numbers(found: WhatIfRange, runs: Sequence[Run], down: float) -> Iterator[str]:
    """The ends of the range and where it goes over, on as many lines as it takes; what has no room is left out."""
    unit = f" {found.unit}" if found.unit else ""
    yield _text(_LEFT, down + _ROW, figure(found.low), "s")
    yield _text(_LEFT + _WIDE, down + _ROW, f"{figure(found.high)}{unit}", "e")
    free = [_LEFT + _NUMBER * 0.7, float(_LEFT)]
    last = [_LEFT + _WIDE - _NUMBER * 1.5, float(_LEFT + _WIDE)]
    for low, _, _ in runs[1:]:
        at = _across(found, low)
        row = next((row for row in range(_ROWS) if free[row] <= at - _NUMBER / 2 and at <= last[row]), None)
        if row is not None:
            free[row] = at + _NUMBER / 2
            yield _text(at, down + (row + 1) * _ROW, figure(low, 3), "n")


def _words(run: Run, unit: str) -> str:
    low, high, text = run
    return f"{figure(low, 4)} to {figure(high, 4)}{unit}: {text}"


def _across(found: WhatIfRange, value: float) -> float:
    return _LEFT + _WIDE * (value - found.low) / (found.high - found.low)


def _colour(chains: list[str], chain: str) -> str:
    return _COLOURS[chains.index(chain) % len(_COLOURS)]


def _text(x: float, y: float, text: str, kind: str = "") -> str:
    name = f' class="{kind}"' if kind else ""
    return f'<text x="{x:.1f}" y="{y:.1f}"{name}>{escape(text)}</text>'
