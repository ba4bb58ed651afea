"""YAML text to plain values with positions."""

from __future__ import annotations

import io
import json
import os
import sys
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from buildcheck.library import yaml_text
from buildcheck.library.problems import FileLine, InputError
from buildcheck.library.yaml_text import read_document, read_file, read_text


def refusal(text: str | bytes, *, many: bool = False) -> str:
    with pytest.raises(InputError) as caught:
        read_text(text, "bike.yaml", many=many)
    return str(caught.value)


@pytest.fixture(params=["libyaml", "pure"])
def either_parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both event parsers must give the same values and, in the main, the same messages."""
    if request.param == "pure":
        monkeypatch.setattr(yaml_text, "_LOADER", yaml.SafeLoader)
    elif not yaml.__with_libyaml__:
        pytest.skip("libyaml is not here")


SCALARS: list[tuple[str, object]] = [
    # YAML 1.2, core schema
    ("~", None), ("null", None), ("Null", None), ("NULL", None), ("", None), ("nULL", "nULL"),
    ("true", True), ("True", True), ("TRUE", True), ("false", False), ("False", False), ("FALSE", False),
    ("tRUE", "tRUE"),
    ("0", 0), ("-0", 0), ("7", 7), ("+7", 7), ("-19", -19), ("007", 7), ("0o14", 12), ("0x1F", 31),
    ("0xff", 255),
    ("999999999999999", 999999999999999), ("-999999999999999", -999999999999999), ("0" * 5000 + "1", 1),
    ("1.5", 1.5), (".5", 0.5), ("-.5", -0.5), ("5.", 5.0), ("1e3", 1000.0), ("1E+3", 1000.0),
    ("1.5e-7", 1.5e-07),
    ("+12.7", 12.7), ("0.0", 0.0),
    # text, though older YAML or Python would read something else
    ("no", "no"), ("No", "No"), ("yes", "yes"), ("on", "on"), ("off", "off"), ("y", "y"), ("n", "n"),
    ("1_000", "1_000"), ("12:30:00", "12:30:00"), ("12:30", "12:30"), ("2024-02-29", "2024-02-29"),
    ("2024-02-29T12:00:00Z", "2024-02-29T12:00:00Z"), ("0b11", "0b11"), ("0O14", "0O14"), ("0X1F", "0X1F"),
    ("-0x1F", "-0x1F"), ("0o8", "0o8"), ("700x28C", "700x28C"), ("1,000", "1,000"), (".", "."), ("+", "+"),
    ("1.2.3", "1.2.3"), ("e3", "e3"), ("1e", "1e"), ("..5", "..5"), ("inf", "inf"), ("nan", "nan"),
    ("=", "="),
    ("٣", "٣"), ("28.6 mm", "28.6 mm"), ("M5×0.8", "M5×0.8"), ("11-34", "11-34"), ("<<", "<<"),
    # quoted
    ('"1"', "1"), ("'true'", "true"), ('""', ""), ("''", ""), ("'it''s'", "it's"),
    ('"a\\tb\\u00e9\\0"', "a\tbé\0"),
    ('".inf"', ".inf"), ('"\\U0001F6B2"', "🚲"), ("🚲", "🚲"),
    # explicit tags
    ("!!str 12", "12"), ("!!str", ""), ("!!str true", "true"), ('!!int "12"', 12), ("!!int 0x10", 16),
    ("!!float 3", 3.0), ("!!float 3.5", 3.5), ("!!bool TRUE", True), ("!!null ~", None), ("!!null", None),
    ("!!map {a: 1}", {"a": 1}), ("!!seq [1]", [1]), ("!<tag:yaml.org,2002:int> 3", 3),
    # collections
    ("[]", []), ("{}", {}), ("[1, [2, {a: no}]]", [1, [2, {"a": "no"}]]),
    ("{a, b: }", {"a": None, "b": None}),
    ("[a: 1]", [{"a": 1}]), ("\n  - 1\n  - x: y\n    z:\n", [1, {"x": "y", "z": None}]),
    ("|\n  one\n  two\n", "one\ntwo\n"), (">-\n  one\n  two\n", "one two"), ("# note\n  12", 12),
]  # fmt: skip


@pytest.mark.usefixtures("either_parser")
@pytest.mark.parametrize(("text", "meaning"), SCALARS)
def test_a_value_means_what_yaml_1_2_says(text: str, meaning: object) -> None:
    value = read_document(f"key: {text}", "f").value
    assert value == {"key": meaning}
    assert isinstance(value, dict)
    assert type(value["key"]) is type(meaning)


@pytest.mark.usefixtures("either_parser")
@pytest.mark.parametrize(
    ("text", "keys"),
    [
        ("1: a", ["1"]),
        ("true: a\nno: b\n1.50: c\n0x1: d", ["true", "no", "1.50", "0x1"]),
        ('"null": a\n"": b\n"<<": c', ["null", "", "<<"]),
        ("!!str 7: a", ["7"]),
        ("? long\n: a", ["long"]),
        (".inf: a", [".inf"]),
    ],
)
def test_keys_are_text_as_written(text: str, keys: list[str]) -> None:
    value = read_document(text, "f").value
    assert isinstance(value, dict)
    assert list(value) == keys


REFUSED: list[tuple[str | bytes, str, str]] = [
    # syntax
    ('a: "x\nb: 1\n', "1:4", "quote is never closed"),
    ("a: 'x", "1:4", "quote is never closed"),
    ('a: "x\n---\n"', "1:4", "quote is never closed"),
    ("a: [1, 2\n", "1:4", '"[" is never closed: expected "]"'),
    ("a: {b: 1", "1:4", '"{" is never closed: expected "}"'),
    ("a: [1 2\nb: 3", "2:2", 'expected "," or "]" in the list opened with "[" on line 1'),
    ('{"' + "a" * 1024 + '": 1}', "1:1028", "within 1,024 characters"),
    ("a: [1, 2}", "1:9", 'expected "," or "]"'),
    ("a:\n\t- b", "2:1", "a tab is used to indent: expected spaces"),
    ("a: 1\n\tb: 2", "2:1", "a tab is used to indent: expected spaces"),
    ("\t", "1:1", "a tab is used to indent"),
    ("a: b: c", "1:5", "a colon is out of place"),
    ("a: 1\n  b: 2", "2:4", "a colon is out of place"),
    ('"a":1', "1:4", "a space is missing"),
    ("a: - b", "1:4", '"- " is out of place'),
    ("- a\nb: c", "2:1", 'expected the next "- "'),
    ("a:\n    b: 1\n  c: 2", "3:3", "expected the next key in line"),
    ("a: 1\nfoo\nb: 2", "2:1", 'expected ":" and a space'),
    ("a: @x", "1:4", 'cannot begin with "@"'),
    ("a: %x", "1:4", 'cannot begin with "%"'),
    ("a: 1\n...\nfoo", "3:1", "more text after the end"),
    ("{a: 1}}", "1:7", "more text after the end"),
    ("a: ]", "1:4", 'expected a value here, but found "]"'),
    ("a: |x\n d", "1:5", "expected the line to end"),
    ("a: *\n", "1:4", 'cannot begin with "*"'),
    ("a: !<x", "1:4", 'cannot begin with "!"'),
    ("%YAML 1.1\n---\na: no", "1:1", "YAML 1.1: expected YAML 1.2"),
    ("%YAML 2.0\n---\na: no", "1:1", '"%" line is out of place'),
    # keys
    ("a: 1\nb: 2\na: 3", "3:1", 'the key "a" is on line 1 and again on line 3'),
    ('1: a\n"1": b', "2:1", 'the key "1" is on line 1 and again'),
    ("null: 1", "1:1", "the key is null"),
    ("a: {~: 1}", "1:5", "the key is ~"),
    ("? \n: 1", "1:2", "the key is empty"),
    ("[a]: 1", "1:1", "a list is used as a key"),
    ("a: {{ b }}", "1:5", "a mapping is used as a key"),
    ("!!int 1: a", "1:1", 'the tag "!!int" is on a key'),
    # references
    ("a: &x 1", "1:4", '"&x" is an anchor: expected the value itself; write it out'),
    ("&k a: 1", "1:1", '"&k" is an anchor'),
    ("a: &x [1]", "1:4", '"&x" is an anchor'),
    ("a: *x", "1:4", '"*x" is an alias: expected the value itself'),
    ("*x : 1", "1:1", '"*x" is an alias'),
    ("*x", "1:1", '"*x" is an alias'),
    ("a:\n  <<: {b: 1}", "2:3", 'the merge key "<<" is not read'),
    # tags
    ("a: ! 12", "1:4", 'the tag "!" does not go'),
    ("a: !!timestamp 2024-02-29", "1:4", 'the tag "!!timestamp" does not go'),
    ("a: !!python/name:os.system x", "1:4", "does not go"),
    ("a: !!binary aGk=", "1:4", "does not go"),
    ("a: !own 1", "1:4", 'the tag "!own" does not go'),
    ("a: !!set {b}", "1:4", 'the tag "!!set" does not go with a mapping'),
    ("a: !!map [b]", "1:4", "does not go with a list"),
    ("a: !!int 1.5", "1:4", '"1.5" is not what its tag "!!int" says'),
    ("a: !!float x", "1:4", "is not what its tag"),
    ("a: !!bool yes", "1:4", "is not what its tag"),
    ("a: !!null x", "1:4", "is not what its tag"),
    # numbers
    ("a: .inf", "1:4", '".inf" is not a finite number'),
    ("a: -.INF", "1:4", "not a finite number"),
    ("a: [.NaN]", "1:5", "not a finite number"),
    ("a: !!float .nan", "1:4", "not a finite number"),
    ("a: 1e999", "1:4", "too large"),
    ("a: 1000000000000000", "1:4", "more than 15 digits"),
    ("a: -1000000000000000", "1:4", "more than 15 digits"),
    ("a: 0x" + "f" * 90, "1:4", "more than 15 digits"),
    ("a: " + "1" * 9000, "1:4", "more than 15 digits"),
    # bytes and characters
    (b"a: 1\nb: \xe9t\xe9", "2:4", "byte 0xe9 is not UTF-8"),
    ("a: 1".encode("utf-16"), "1:1", "UTF-16"),
    (b"\xef\xbb\xbfa: 1\r\nb: \x00", "2:4", "U+0000 is a NUL"),
    ("a: \x1b[31m", "1:4", "U+001B is a control character"),
    ("a: \x7f", "1:4", "U+007F is a control character"),
    ("a: \x80", "1:4", "U+0080 is a control character"),
    ("a: \uffff", "1:4", "U+FFFF is not a character"),
    ("a: \udc80", "1:4", "U+DC80 is not a character"),
    ("a: x\u2028b: y", "1:5", r'U+2028 is an invisible line break: expected an ordinary one, or \u2028'),
    ("a: x\x85b: y", "1:5", r"or \x85"),
    # nothing, or too much
    ("", "1:1", "the file is empty"),
    ("# only a comment\n", "1:1", "the file is empty"),
    ("---\n", "1:1", "the document is empty"),
    ("a: 1\n---\nb: 2", "2:1", "a second document begins here"),
    ("#\na: " + "x" * 100_000, "2:100001", "longer than 100,000 characters"),
    ("[" * 41 + "]" * 41, "1:41", "nested more than 40 deep"),
    ("".join(" " * depth + "a:\n" for depth in range(60)), "41:41", "nested more than 40 deep"),
    ("#" * 50 + "\n" + "# é\n" * 400_000, "1:1", "larger than 2 MB"),
    (b"\xff" * 2_000_001, "1:1", "larger than 2 MB"),
]  # fmt: skip


@pytest.mark.usefixtures("either_parser")
@pytest.mark.parametrize(("text", "where", "why"), REFUSED, ids=lambda value: ascii(value)[:40])
def test_refused_at_its_place_with_a_reason(text: str | bytes, where: str, why: str) -> None:
    message = refusal(text)
    assert message.startswith(f"bike.yaml:{where}: syntax: ")
    assert why in message.partition("\n")[0]


@pytest.mark.parametrize(
    ("text", "where"),
    [(r'a: "\q"', "1:5"), (r'a: "\ud800"', "1:7"), (r'a: "\UFFFFFFFF"', "1:7"), (r'a: "\xz"', "1:7")],
)
def test_bad_escapes(text: str, where: str, monkeypatch: pytest.MonkeyPatch) -> None:
    message = refusal(text)
    assert message.startswith(f"bike.yaml:{where}: syntax: ")
    assert "escape" in message
    monkeypatch.setattr(yaml_text, "_LOADER", yaml.SafeLoader)
    assert ":1:" in refusal(text)


def test_the_largest_that_is_allowed() -> None:
    assert read_document("[" * 40 + "]" * 40, "f").place((0,) * 39) == FileLine("f", 1, 40)
    assert read_document("a: " + "x" * 99_997, "f")
    assert read_document(b"a: 1\n".ljust(2_000_000, b"\n"), "f").value == {"a": 1}


@pytest.mark.usefixtures("either_parser")
@pytest.mark.parametrize("text", ["[" * 90_000, ("[" * 900 + "\n") * 90, "{a: " * 20_000, "- " * 45_000, "? " * 45_000])
def test_depth_never_exhausts_the_stack(text: str) -> None:
    assert "nested more than 40 deep" in refusal(text) or "used as a key" in refusal(text)


def test_an_alias_bomb_is_never_expanded() -> None:
    bomb = "a0: &a0 [x, x]\n" + "".join(f"a{n}: &a{n} [*a{n - 1}, *a{n - 1}]\n" for n in range(1, 40))
    message = refusal(bomb)  # were it expanded, this would never end
    assert len(message.splitlines()) == yaml_text.MOST_PROBLEMS


def test_several_problems_are_told_at_once() -> None:
    with pytest.raises(InputError) as caught:
        read_document("a: .nan\nb: &x 1\na: 2\nc: [", "f")
    assert [problem.place.line for problem in caught.value.problems] == [1, 2, 3, 4]
    assert all(problem.stage == "syntax" for problem in caught.value.problems)


def test_keys_from_the_file_cannot_upset_the_terminal() -> None:
    message = refusal('"\\e[31m\\n": 1\n"\\e[31m\\n": 2')
    assert message.isprintable()
    assert r"\x1b[31m\n" in message


BIKE = """\
# a bike
name: "été"
parts:
  - kind: fork
    steerer: {length: 210, fits: [a, b]}
  -   kind: hub
      axle:
"""


@pytest.mark.usefixtures("either_parser")
@pytest.mark.parametrize("text", [BIKE, BIKE.encode(), b"\xef\xbb\xbf" + BIKE.encode(), BIKE.replace("\n", "\r\n")])
def test_positions(text: str | bytes) -> None:
    document = read_document(text, "bike.yaml")
    assert document.file == "bike.yaml"
    places = {path: (place.line, place.column) for path, place in document.places.items()}
    assert places == {
        (): (2, 1),
        ("name",): (2, 7),
        ("parts",): (4, 3),
        ("parts", 0): (4, 5),
        ("parts", 0, "kind"): (4, 11),
        ("parts", 0, "steerer"): (5, 14),
        ("parts", 0, "steerer", "length"): (5, 23),
        ("parts", 0, "steerer", "fits"): (5, 34),
        ("parts", 0, "steerer", "fits", 0): (5, 35),
        ("parts", 0, "steerer", "fits", 1): (5, 38),
        ("parts", 1): (6, 7),
        ("parts", 1, "kind"): (6, 13),
        ("parts", 1, "axle"): (7, 12),
    }
    assert str(document.key_place(("parts", 1, "axle"))) == "bike.yaml:7:7"
    assert str(document.key_place(("parts", 0, "steerer", "fits"))) == "bike.yaml:5:28"
    assert document.place(("parts", 0, "steerer", "bore", "size")) == document.place(("parts", 0, "steerer"))
    assert document.place(("parts", 9)) == document.place(("parts",))
    assert document.place(("nothing",)) == document.place(())
    assert document.key_place(("parts", 1)) == document.place(("parts", 1))


def test_many_documents() -> None:
    first, second = read_text("a: 1\n---\na: 2\n...\n", "f", many=True)
    assert (first.value, second.value) == ({"a": 1}, {"a": 2})
    assert str(second.place(("a",))) == "f:3:4"
    assert "2:1: syntax: the document is empty" in refusal("a: 1\n---", many=True)
    assert "the file is empty" in refusal("", many=True)
    assert read_text("~", "f", many=True)[0].value is None


def test_files_and_standard_input(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "bike.yaml"
    path.write_text("a: é\n", encoding="utf-8")
    assert read_file(path).value == {"a": "é"}
    assert read_file(path).place(("a",)) == FileLine(str(path), 1, 4)

    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(b"a: [")))
    with pytest.raises(InputError, match=r"^<stdin>:1:5: syntax: the file ends"):
        read_file(Path("-"))

    for unreadable in (tmp_path, tmp_path / "none.yaml", Path("a\0b")):
        with pytest.raises(InputError, match="the file cannot be read"):
            read_file(unreadable)
    if os.path.exists("/dev/zero"):
        with pytest.raises(InputError, match="larger than 2 MB"):
            read_file(Path("/dev/zero"))


def json_values() -> st.SearchStrategy[object]:
    # Control characters are fine when escaped; DEL is the one json.dumps leaves as it is.
    characters = st.characters(exclude_categories=["Cs"], exclude_characters="\x7f")
    text = st.text(characters)
    keys = st.text(characters, max_size=80)  # YAML allows 1,024 characters up to the colon, escapes included
    limit = 10**yaml_text.LONGEST_INTEGER - 1
    scalars = (
        st.none() | st.booleans() | st.integers(-limit, limit) | st.floats(allow_nan=False, allow_infinity=False) | text
    )
    return st.recursive(scalars, lambda inner: st.lists(inner) | st.dictionaries(keys, inner), max_leaves=30)


@settings(deadline=None)  # a busy machine is no failure
@given(json_values(), st.sampled_from([None, 0, 2, "\t"]), st.sampled_from([None, (",", ":")]))
def test_json_reads_back_equal(value: object, indent: int | str | None, separators: tuple[str, str] | None) -> None:
    written = json.dumps(value, indent=indent, separators=separators)
    again = read_document(written, "f").value
    assert repr(again) == repr(value)  # repr, because True == 1 == 1.0


def test_json_escapes_beyond_the_basic_plane_keep_their_columns() -> None:
    text = r'{"a\ud83d\udeb2": ["\\ud83d\\udeb2", "\uD83D\uDEB2x\"\u00e9", 1], "b": 2}'
    document = read_document(text, "f")
    assert document.value == {"a🚲": ["\\ud83d\\udeb2", '🚲x"é', 1], "b": 2} == json.loads(text)
    assert document.place(("a🚲", 2)).column == text.index("1]") + 1
    assert document.place(("b",)).column == text.index("2}") + 1
    # Where quotes cannot be told from text without parsing, the pair is left alone.
    assert read_document(r"[a, '\ud83d\udeb2']", "f").value == ["a", r"\ud83d\udeb2"]
    assert "escape" in refusal(r'[a, "\ud83d\udeb2"]') or not yaml.__with_libyaml__


def check_only_input_errors(data: str | bytes) -> None:
    try:
        read_text(data, "f", many=True)
    except InputError as error:
        problems = error.problems
    else:
        return
    assert problems
    for problem in problems:
        assert problem.place.line >= 1
        assert problem.place.column >= 1
        assert problem.text.isprintable()


YAML_BITS = st.sampled_from(
    ["a", "1", ".inf", "- ", ": ", ":", "? ", "\n", "\n  ", "\t", "[", "]", "{", "}", ",", '"', "'", "&a",
     "*a", "!",
     "!!int ", "|", ">", "#", "%", "@", "---\n", "...\n", "%YAML 1.2\n", "\\", "\\u", "\\ud83d", "\\ude00",
     "<<", "é",
     "\r", "\ufeff", "\x85", "~", "0x", "1e9"]
)  # fmt: skip


@settings(deadline=None)  # a busy machine is no failure
@given(st.binary())
def test_random_bytes_raise_only_input_errors(data: bytes) -> None:
    check_only_input_errors(data)


@settings(deadline=None)  # a busy machine is no failure
@given(st.text())
def test_random_text_raises_only_input_errors(text: str) -> None:
    check_only_input_errors(text)


@settings(deadline=None)  # a busy machine is no failure
@given(st.lists(YAML_BITS, max_size=30).map("".join))
def test_bits_of_yaml_raise_only_input_errors(text: str) -> None:
    check_only_input_errors(text)


def test_a_catalogue_of_two_thousand_records_is_read() -> None:
    record = (
        "- id: part-{n}\n  kind: cassette\n  name: 'Cassette no. {n}, 11-34'\n  price: 39.95\n"
        "  attributes: {{teeth: [11, 13, 15, 17, 19, 21, 23, 25, 27, 30, 34], pitch: 12.7}}\n"
        "  offers:\n    - interface: freehub-{n}\n      note: " + "text which makes the record long " * 3 + "\n"
    )
    text = "".join(record.format(n=n) for n in range(2000))
    assert len(text) > 550_000
    value = read_document(text, "f").value
    assert isinstance(value, list)
    assert len(value) == 2000
