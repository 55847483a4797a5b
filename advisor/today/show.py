"""Today's wheel as text or JSON."""

from __future__ import annotations

import json
from collections.abc import Iterator

from advisor.today.model import WheelToday
from advisor.units import System, figure, round_sig, show_both


def to_json(found: WheelToday) -> str:
    """One JSON object, floats rounded to six digits."""
    data = {
        key: round_sig(value) if isinstance(value, float) else value
        for key, value in found.model_dump(mode="json").items()
    }
    return json.dumps(data, ensure_ascii=False, indent=1) + "\n"


def to_text(found: WheelToday, system: System = "si") -> str:
    """The caution first, then the settings or what stands in the way."""
    lines = [f"Caution: {text}" for text in found.cautions]
    size = show_both(found.diameter_mm, "mm", system)
    where = f" on {found.step}" if found.step else ""
    lines += ["", f"Wheel of {size}{where}"]
    lines += _refused(found) if found.refused else _settings(found, system)
    lines += [f"  Look twice: {text}" for text in found.doubts]
    return "\n".join(lines) + "\n"


def _refused(found: WheelToday) -> Iterator[str]:
    yield "  It may not run like this."
    for item in found.refused:
        yield f"  {item.text}"
        yield f"    What helps: {item.helps}"


def _settings(found: WheelToday, system: System) -> Iterator[str]:
    yield f"  rpm               {found.rpm}, for {show_both(found.surface_speed_m_s, 'm/s', system)} at the rim"
    if found.force_n is not None:
        trim = "" if found.force_trim is None else f", {figure(100 * found.force_trim)} % of the new wheel's"
        yield f"  force             {show_both(found.force_n, 'N', system)}{trim}"
    if found.index_mm is not None:
        yield f"  moved in by       {show_both(found.index_mm, 'mm', system)} in all since it was new"
    if found.touch_off_parts is not None and found.touch_off_mm:
        yield (
            f"  touch off again   after {figure(found.touch_off_parts)} parts, "
            f"by {show_both(found.touch_off_mm, 'mm', system)}"
        )
    if found.change_out_mm is not None:
        left = "" if found.parts_left is None else f", after about {figure(found.parts_left)} parts"
        yield f"  comes off         at {show_both(found.change_out_mm, 'mm', system)}{left}"
    if found.highest_rpm is not None:
        yield f"  never above       {figure(int(found.highest_rpm + 1e-6))} rpm"
