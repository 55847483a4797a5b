"""The strict loader: what values mean, what is refused with its place, and how fast it is."""

from __future__ import annotations

import json
import time
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import InputError
from advisor.knowledge import strict_yaml
from advisor.knowledge.strict_yaml import Node, from_plain, load, plain, read_file


def problems(text: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        load(text, "f.yaml")
    return [str(problem) for problem in caught.value.problems]


@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("true", True), ("false", False), ("yes", "yes"), ("no", "no"), ("on", "on"), ("off", "off"),
        ("True", "True"), ("y", "y"), ("null", None), ("~", None), ("", None), ("Null", "Null"),
        ("1e-3", 0.001), ("1E3", 1000.0), ("-1.5", -1.5), ("+2", 2), (".5", 0.5), ("1.", 1.0), ("0", 0),
        ("0123", "0123"), ("1_000", "1_000"), ("0x10", "0x10"),
        ("12:30", "12:30"), ("2026-05-04", "2026-05-04"),
        ("18 mm", "18 mm"), ("'1'", "1"), ('"true"', "true"), ("+", "+"), (".", "."), ("1.2.3", "1.2.3"),
        ("info", "info"), ("fin", "fin"), ("'nan'", "nan"),
    ],
)  # fmt: skip
def test_a_scalar_means_what_it_looks_like(written: str, value: object) -> None:
    found = plain(load(f"a: {written}", "f"))["a"]
    assert found == value
    assert type(found) is type(value)


def test_every_value_and_key_has_its_place() -> None:
    node = load("a:\n  - b: 1\n    c: [x, yy]\n", "f.yaml")
    inner = node.value["a"].value[0]
    assert inner.value["c"].value[1].place("f.yaml") == "f.yaml:3:12"
    assert inner.key_place("c", "f.yaml") == "f.yaml:3:5"
    assert inner.key_place("missing", "f.yaml") == "f.yaml:2:5"
    assert load("a: 1.4310", "f").value["a"].raw == "1.4310"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("a: 1\nb: 2\na: 3", "f.yaml:3:1: the key 'a' is repeated; it already stands at f.yaml:1:1"),
        ("1: x", "f.yaml:1:1: a key must be text"),
        ("true: x", "f.yaml:1:1: a key must be text"),
        ("~: x", "f.yaml:1:1: a key must be text"),
        ("? [a]\n: b", "f.yaml:1:3: a key must be text"),
        ("a: !!python/object/apply:os.system [ls]", "f.yaml:1:4: tags (!...) are not allowed"),
        ("a: !mine 3", "f.yaml:1:4: tags"),
        ("a: !!str '3'", "f.yaml:1:4: tags"),
        ("!!map {a: 1}", "f.yaml:1:1: tags"),
        ("!!str a: 1", "f.yaml:1:1: tags"),
        ("base: &b {x: 1}\nc:\n  <<: *b", "f.yaml:3:3: merge keys"),
        ("a: .nan", "f.yaml:1:4: a number must be finite"),
        ("a: [1, -.inf]", "f.yaml:1:8: a number must be finite"),
        ("a: NaN", "f.yaml:1:4: a number must be finite"),
        ('{"a": Infinity}', "f.yaml:1:7: a number must be finite"),
        ("a: 1e999", "f.yaml:1:4: a number must be finite"),
        ("a: " + "9" * 5000, "f.yaml:1:4: the number is too long"),
        ("a: 1\n---\nb: 2", "f.yaml:2:1: several documents"),
        ("a:\n\tb: 1", "f.yaml:2:1: a tab is used for indentation"),
        ("a: [1, 2", "f.yaml:2:1: not YAML"),
        ("a: b: c", "f.yaml:1:5: not YAML"),
        ("a: *x", "f.yaml:1:4: not YAML: found undefined alias"),
        ("a: @x", "f.yaml:1:4: not YAML"),
        ("a: \x01", "f.yaml: not text that YAML can hold"),
        ("a: \ud800", "f.yaml: not YAML"),
        ("[" * 100_000, "f.yaml:1:"),
        ("[" * 70 + "]" * 70, "f.yaml:1:60: nested deeper than 60 levels"),
        ("- " * 200 + "a", "f.yaml:1:119: nested deeper than 60 levels"),
        ("&a [*a]", "f.yaml:1:1: nested deeper"),
        ("a: &x [1]\n" + "".join(f"b{i}: *x\n" for i in range(51)), "f.yaml:52:6: too many aliases"),
    ],
)
def test_refused_with_its_place(text: str, says: str) -> None:
    assert problems(text)[0].startswith(says)


def test_a_bomb_of_aliases_is_refused_quickly() -> None:
    lines = ["a0: &a0 [" + ",".join(["x"] * 9) + "]"]
    lines += [f"a{i}: &a{i} [" + ",".join([f"*a{i - 1}"] * 5) + "]" for i in range(1, 10)]
    began = time.perf_counter()
    assert "alias" in problems("\n".join(lines))[0]
    assert time.perf_counter() - began < 2


def test_a_few_aliases_are_fine() -> None:
    assert plain(load("a: &x [1, 2]\nb: *x", "f")) == {"a": [1, 2], "b": [1, 2]}


def test_all_faults_are_told_at_once() -> None:
    assert len(problems("a: .nan\na: 1\n2: !x y\n")) == 4


def test_empty_text_has_no_value() -> None:
    assert load("", "f").value is None
    assert load("# only a remark\n", "f").value is None


def test_byte_order_mark_and_crlf(tmp_path: Path) -> None:
    file = tmp_path / "a.yaml"
    file.write_bytes(b"\xef\xbb\xbfa: 1\r\nb: |\r\n  two\r\n  lines\r\n")
    assert plain(read_file(file)) == {"a": 1, "b": "two\nlines\n"}


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"\x00\x01\x02", "binary"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "binary"),
        (b"a: 1\nb: \xff\xfe", ":2:4: the text is not UTF-8"),
        ("a: 1".encode("utf-16"), "UTF-16"),
    ],
)
def test_files_that_are_not_text(tmp_path: Path, data: bytes, says: str) -> None:
    file = tmp_path / "a.yaml"
    file.write_bytes(data)
    with pytest.raises(InputError, match=says):
        read_file(file)


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="is a folder"):
        read_file(tmp_path)
    with pytest.raises(InputError, match="no such file"):
        read_file(tmp_path / "missing.yaml")
    with pytest.raises(InputError, match="plain file"):
        read_file("/dev/null")
    with pytest.raises(InputError, match=r"cannot be read|no such file"):
        read_file("a\0b")
    with pytest.raises(InputError, match=r"cannot be read|no such file"):
        read_file("a" * 5000)
    large = tmp_path / "large.yaml"
    with large.open("wb") as stream:
        stream.truncate(50_000_000)
    with pytest.raises(InputError, match=r"too large; allowed: at most 5 MB"):
        read_file(large)


def test_json_is_read_as_it_is() -> None:
    data = {"a": [1, 2.5, -3e-7, None, True, "x/y", '\U0001f600 µ \\ " \n'], "b": {"c": {}, "d": []}}
    assert plain(load(json.dumps(data), "f.json")) == data
    assert plain(load(json.dumps(data, indent="\t"), "f.json")) == data
    assert plain(load('{"a":"\\/"}', "f.json")) == {"a": "/"}


def test_a_hundred_thousand_json_numbers() -> None:
    numbers = list(range(100_000))
    assert plain(load(json.dumps(numbers), "f.json")) == numbers


JSON_VALUES = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**20), 10**20) | st.text(max_size=8)
    | st.floats(allow_nan=False, allow_infinity=False),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=12,
)  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(JSON_VALUES)
def test_json_round_trip(value: object) -> None:
    assert plain(load(json.dumps(value), "f.json")) == value
    assert plain(from_plain(value)) == value


@settings(max_examples=300, deadline=None)
@given(st.text(alphabet=st.sampled_from("ab:[]{}-?,&*!|>'\"%@`#\n\t 1.~<"), max_size=40))
def test_any_text_gives_a_node_or_problems(text: str) -> None:
    try:
        assert isinstance(load(text, "f"), Node)
    except InputError as error:
        assert all(problem.place.startswith("f") for problem in error.problems)


@pytest.mark.parametrize("bad", [{1: 2}, [object()], float("nan"), {"a": {3, 4}}])
def test_plain_data_that_is_not_data(bad: object) -> None:
    with pytest.raises(InputError):
        from_plain(bad)


def test_plain_data_that_holds_itself() -> None:
    loop: list[object] = []
    loop.append(loop)
    with pytest.raises(InputError, match="nested deeper"):
        from_plain(loop)


def test_the_slow_parser_gives_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    text = "a: [1, no, 12:30, ~]\nb: {c: 'x'}\n"
    fast = load(text, "f")

    class Slow(strict_yaml._Resolver, yaml.SafeLoader):
        pass

    monkeypatch.setattr(strict_yaml, "_Loader", Slow)
    slow = load(text, "f")
    assert plain(slow) == plain(fast)
    assert slow.value["b"].keys == fast.value["b"].keys
    assert problems("a: !x 1\na: 2")[0].startswith("f.yaml:1:4: tags")


def test_ten_thousand_lines_load_quickly() -> None:
    one = (
        "- rule: name-{0}\n  when:\n    stage: [clear, refine]\n    feature.radius_mm: {{at most: 40}}\n"
        "  then:\n    - should: {{backing: [J, JF]}}\n  because: A stiff cloth bridges a curve.\n"
        "  examples:\n    - given: {{media: belt, feature.radius_mm: {0}}}\n      expect: fires\n"
    )
    text = "".join(one.format(i) for i in range(1000))
    times = []
    for _ in range(5):
        began = time.process_time()
        node = load(text, "f")
        times.append(time.process_time() - began)
    assert len(node.value) == 1000
    assert min(times) < 0.6  # 0.1 s on a usual machine; generous for a slow one
