"""A stored sheet that follows is proved to follow; one that was changed anywhere is found out."""

from __future__ import annotations

import json
import re
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.audit.make import make_sheet
from advisor.audit.mismatches import mismatches, same
from advisor.audit.model import Replay
from advisor.audit.replay import read_stored, replay
from advisor.audit.show import to_text
from advisor.errors import InputError
from advisor.job import parse_job
from advisor.pipeline import Desk, recommend
from advisor.render.json import to_json
from advisor.trials.log import Log
from tests import invented
from tests.audit import shop_log
from tests.audit.leaves import at, changed, leaves

#: A refusal is among them: nothing in it hangs on the draws. One sheet was made with all that can be asked for.
NAMES = ("oar-lock", "tap-lever", "no-plan", "with-all")
#: Inputs that a sheet carries are told apart by their fingerprints.
SEALED = {"job": "job_fingerprint", "learned_from": "learned_fingerprint"}


@cache
def text(name: str) -> str:
    if name == "no-plan":
        blocked = invented.job_of(
            "no-plan", alloy="s31603", start={"defect": "casting-skin"}, finish="satin-medium",
            features=[{"name": "slot", "shape": "concave", "radius": "3 mm", "width": "5 mm", "area": "2 cm2"}],
        )  # fmt: skip
        sheet = recommend(blocked, invented.desk())
        assert sheet.refused
        return to_json(sheet)
    if name == "with-all":
        taught = invented.desk().with_learned(shop_log.learned())
        return to_json(make_sheet(shop_log.job(), taught, holds=True, log=log()))
    return to_json(invented.sheet(name))


@cache
def log() -> Log:
    """A small trial log; its folder is needed only while it is read."""
    with TemporaryDirectory() as folder:
        return shop_log.read(shop_log.fill(Path(folder) / "log", 6))


@cache
def data(name: str) -> Any:
    return json.loads(text(name))


@cache
def places(name: str) -> list[Any]:
    return list(leaves(data(name)))


@cache
def again(name: str) -> Any:
    """What comes out when the job of the sheet is worked out again."""
    sheet = read_stored(text(name)).sheet
    job = parse_job(data(name)["job"], invented.knowledge())
    desk, past = invented.desk().with_learned(sheet.learned_from), log() if sheet.trial_log else None
    return make_sheet(job, desk, holds=sheet.holds is not None, log=past).model_dump()


def found_at(name: str, edited: Any) -> tuple[str, ...] | None:
    """The places that a replay names; None where it refuses the file, since no sheet can say this.

    The job is worked out again only where the edit is in what it is worked out from.
    """
    try:
        stored = read_stored(json.dumps(edited))
        inputs = ("job", "learned_from", "learned_fingerprint", "made_with", "trial_log")
        if any(edited.get(key) != data(name)[key] for key in inputs):
            past = log() if data(name)["trial_log"] else None
            found = replay(stored, invented.desk(), past, other_knowledge=True).mismatches
        else:
            found = tuple(mismatches(stored.data, again(name)))
    except InputError:
        return None
    return tuple(item.path for item in found)


def names_it(found: tuple[str, ...] | None, place: tuple[str | int, ...]) -> bool:
    """Whether a place is named: itself, what it lies in or what lies in it, or the fingerprint over it."""
    if found is None:
        return True
    path = "".join(_part(step) for step in place).removeprefix(".")
    sealed = SEALED.get(str(place[0]))
    return any(each.startswith(path) or path.startswith(each) or each == sealed for each in found)


def _part(step: str | int) -> str:
    return f"[{step}]" if isinstance(step, int) or not re.fullmatch(r"[A-Za-z_]\w*", step) else f".{step}"


def replayed(stored: str, **how: bool) -> Replay:
    return replay(read_stored(stored), invented.desk(), **how)


@pytest.mark.parametrize("name", [*NAMES[:3], *invented.JOBS])
def test_every_sheet_follows_from_its_own_job(name: str) -> None:
    found = replayed(text(name))
    assert found.follows and found.values > 500


def test_it_follows_on_a_desk_that_has_seen_nothing_and_with_the_other_matcher() -> None:
    desk = Desk(invented.knowledge())
    assert replay(read_stored(text("oar-lock")), desk).follows
    desk.close()


def another(draw: st.DrawFn, value: Any) -> Any:
    """A value of the same kind that is not the same, or of another kind."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, (int, float)) and draw(st.booleans()):
        return draw(st.sampled_from((value * 1.00002 + 1e-9, -value - 1, value * 1.5 + 1, value * 10 + 1)))
    if isinstance(value, str) and value and draw(st.booleans()):
        place = draw(st.integers(0, len(value) - 1))
        return value[:place] + ("x" if value[place] != "x" else "y") + value[place + 1 :]
    return draw(st.sampled_from([each for each in (None, 7, "else", True, [], {}, [7]) if each != value]))


@settings(max_examples=150)
@given(st.data())
def test_a_change_of_any_value_reason_or_source_is_found(drawn: st.DataObject) -> None:
    name = drawn.draw(st.sampled_from(NAMES))
    place = drawn.draw(st.sampled_from(places(name)))
    new = drawn.draw(st.composite(another)(at(data(name), place)))
    assert names_it(found_at(name, changed(data(name), place, new)), place)


@settings(max_examples=150)
@given(st.data())
def test_what_is_left_out_is_found_too(drawn: st.DataObject) -> None:
    name = drawn.draw(st.sampled_from(NAMES))
    place = drawn.draw(st.sampled_from([each for each in places(name) if each[0] != "job"]))
    depth = drawn.draw(st.integers(1, len(place)))
    short = changed(data(name), place, None)
    del at(short, place[: depth - 1])[place[depth - 1]]
    assert names_it(found_at(name, short), place[:depth])


def test_only_the_place_that_was_changed_is_named() -> None:
    place = ("features", 0, "steps", 0, "force_n")
    stored = at(data("oar-lock"), place)
    found = replayed(json.dumps(changed(data("oar-lock"), place, stored + 1)))
    (item,) = found.mismatches
    assert (item.path, item.stored, item.now) == ("features[0].steps[0].force_n", stored + 1, stored)
    assert "features[0].steps[0].force_n" in to_text(found)


def test_an_edited_job_that_changes_nothing_else_is_found() -> None:
    found = replayed(json.dumps(changed(data("no-plan"), ("job", "name"), "someone-else")))
    assert "job_fingerprint" in [item.path for item in found.mismatches]


def test_numbers_agree_to_one_part_in_a_million() -> None:
    """Interfaces: across platforms, numbers agree to 1e-6 relative."""
    assert same(2.0, 2.0000019) and not same(2.0, 2.00003)
    assert same(0.0, -0.0) and not same(0.0, 1e-12)
    assert not same(10_000_000, 10_000_001)
    assert not same("2", 2) and not same(None, 0) and not same(False, 0)


@settings(max_examples=60)
@given(st.floats(1e-6, 1e6))
def test_a_number_rounded_for_output_agrees_with_itself(value: float) -> None:
    written = json.loads(f"{value:.6g}")
    assert same(written, value) and not list(mismatches({"a": [written]}, {"a": (value,)}))


BROKEN = {
    "cut short": (lambda: text("oar-lock")[:9000], "not valid JSON"),
    "another program's": (lambda: '{"name": "something else"}', "no sheet_version"),
    "a list": (lambda: "[1, 2]", "not a process sheet"),
    "newer form": (lambda: edited(("sheet_version",), 2), "newer program"),
    "newer program": (lambda: edited(("program", "version"), "999.1"), "newer program"),
    "no version": (lambda: edited(("program", "version"), "mine"), "not a version"),
    "other knowledge": (
        lambda: edited(("knowledge", "fingerprint"), "sha256:" + "0" * 64), "not at hand",
    ),
    "unknown alloy": (lambda: edited(("job", "alloy"), "unobtainium"), "the job in the sheet"),
    "unknown key": (lambda: edited(("extra",), 1), "a key that sheets do not have"),
    "twice": (lambda: text("oar-lock").replace('"handling"', '"job"', 1), "stands twice"),
}  # fmt: skip


def edited(path: tuple[str | int, ...], new: Any) -> str:
    return json.dumps(changed(data("oar-lock"), path, new))


@pytest.mark.parametrize("name", BROKEN)
def test_what_is_no_sheet_of_ours_is_refused_with_one_clear_message(name: str) -> None:
    make, said = BROKEN[name]
    with pytest.raises(InputError, match=said) as caught:
        replayed(make())
    assert len(caught.value.problems) == 1


def test_other_knowledge_can_be_tried_on_purpose() -> None:
    found = replayed(edited(("knowledge", "fingerprint"), "sha256:" + "0" * 64), other_knowledge=True)
    assert [item.path for item in found.mismatches] == ["knowledge.fingerprint"]
    assert "made with knowledge sha256:000" in to_text(found)


def test_a_sheet_of_an_older_program_says_so_and_that_all_else_is_the_same() -> None:
    found = replayed(edited(("program", "version"), "0.0.1"))
    assert [item.path for item in found.mismatches] == ["program.version"]
    assert "all else comes out the same" in to_text(found)
