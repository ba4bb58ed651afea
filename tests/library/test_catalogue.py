"""The catalogue: what is in it, where it stands, and a cache that is rebuilt by itself and never stale."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from buildcheck.library import catalogue as module
from buildcheck.library import folders
from buildcheck.library.cache import cache_folder, keep, kept, key_of
from buildcheck.library.catalogue import Catalogue, load
from buildcheck.library.folders import Content, bundled_folder, code_files
from buildcheck.library.problems import InputError
from buildcheck.library.records import fields_of
from buildcheck.library.standards import cross_problems
from buildcheck.model.bikes import Spot
from buildcheck.model.parts import PART_KINDS
from buildcheck.model.quantities import Vocabulary

TABLES = """\
vocabularies:
  - id: steerer-section
    what: shape
    terms:
      - {id: round, what: round, source: s, also_called: [Plain]}
  - {id: material, what: material, terms: [{id: steel, what: steel, source: s}]}
openings: [{id: bar-centre, what: middle}, {id: head-front, what: front}]
"""
STEM = "parts:\n  - {kind: stem, id: x-one, maker: Nobody, name: A stem, length_mm: 100, steerer_section: plain}\n"


@pytest.fixture
def shelf(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A small catalogue in place of the bundled one, and a cache of its own."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    folder = tmp_path / "catalog"
    for name, text in (("standards/tables.yaml", TABLES), ("parts/stems.yaml", STEM)):
        (folder / name).parent.mkdir(parents=True)
        (folder / name).write_text(text)
    monkeypatch.setattr(folders, "bundled_folder", lambda: folder)
    return folder


@pytest.fixture
def readings(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How often files were read through all stages: one entry each time."""
    counted: list[int] = []
    read = module._read

    def counting(contents: Any) -> Any:
        counted.append(len(contents))
        return read(contents)

    monkeypatch.setattr(module, "_read", counting)
    return counted


def length_of(catalogue: Catalogue) -> str:
    return str(getattr(catalogue.part("x-one"), "length_mm"))


# ---- the cache ----


def test_the_cache_is_used_and_says_the_same(shelf: Path, readings: list[int]) -> None:
    first, second = load(), load()
    assert readings == [2]
    assert first.part("x-one") == second.part("x-one")
    assert (
        first.where("x-one")
        == second.where("x-one")
        == dict.fromkeys(second.where("x-one"), "catalog/parts/stems.yaml:2")
    )
    assert first.openings == second.openings
    assert first.words.known("steerer-section") == second.words.known("steerer-section")
    assert first.standards.openings == second.standards.openings


def test_a_change_of_the_same_size_and_time_is_noticed(shelf: Path, readings: list[int]) -> None:
    path = shelf / "parts" / "stems.yaml"
    load()
    before = path.stat()
    path.write_text(STEM.replace("100", "110"))
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert (path.stat().st_size, path.stat().st_mtime_ns) == (before.st_size, before.st_mtime_ns)
    assert length_of(load()) == "110"
    assert len(readings) == 2


def test_every_other_change_is_noticed(shelf: Path, readings: list[int]) -> None:
    load()
    (shelf / "parts" / "stems.yaml").rename(shelf / "parts" / "others.yaml")
    assert load().where("x-one")[""] == "catalog/parts/others.yaml:2"
    (shelf / "parts" / "more.yml").write_text(STEM.replace("x-one", "x-two"))
    assert sorted(load().ids) == ["x-one", "x-two"]
    (shelf / "parts" / "more.yml").unlink()
    assert sorted(load().ids) == ["x-one"]
    assert len(readings) == 3  # the last is the same catalogue as the second
    (shelf / "standards" / "tables.yaml").write_text(TABLES.replace("Plain", "even"))
    with pytest.raises(InputError, match="'plain' is not a word"):
        load()


def test_moving_text_from_one_file_to_the_next_is_noticed() -> None:
    one = [Content("a", b"xy", "parts"), Content("b", b"z", "parts")]
    other = [Content("a", b"x", "parts"), Content("b", b"yz", "parts")]
    keys = {
        key_of(words, [], contents) for words in (["ab", "c"], ["a", "bc"], []) for contents in (one, other, one[:1])
    }
    assert len(keys) == 9


def test_a_change_of_the_code_is_noticed(shelf: Path, readings: list[int], monkeypatch: pytest.MonkeyPatch) -> None:
    code = shelf.parent / "reader.py"
    code.write_text("a = 1\n")
    monkeypatch.setattr(module, "code_files", lambda *layers: [*code_files(*layers), code])
    load()
    load()
    assert len(readings) == 1
    code.write_text("a = 2\n")
    load()
    assert len(readings) == 2


def test_the_key_covers_all_the_code_that_reads() -> None:
    program = (
        "import sys\nfrom buildcheck.library.catalogue import load\nload()\n"
        "print(*(m.__file__ for n, m in sys.modules.items() if n.startswith('buildcheck.') and m.__file__))"
    )
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True, env=environment)
    used = {Path(name).resolve() for name in done.stdout.split()}
    assert len(used) > 10
    covered = {path.resolve() for path in code_files("library", "model", "trade")}
    assert used <= covered
    everything = {path.resolve() for path in code_files()}
    assert covered < everything
    assert {path.name for path in everything} >= {"answering.py", "vetting.py", "text.py"}


def _damages(data: bytes) -> Iterator[bytes]:
    yield b""
    yield data[:-1]
    yield data[: len(data) // 2]
    yield data[:10]
    yield data.replace(b"100", b"101")
    yield data.replace(b"\n", b"", 1)
    yield data + b" "
    yield b"\xff\xfe\x00" * 100
    yield b"{}"
    yield b"[" * 100_000


def test_a_damaged_cache_is_built_anew(shelf: Path, readings: list[int]) -> None:
    load()
    (path,) = cache_folder().glob("catalogue-*.json")
    good = path.read_bytes()
    for number, damaged in enumerate(_damages(good), 2):
        assert damaged != good
        path.write_bytes(damaged)
        assert length_of(load()) == "100"
        assert path.read_bytes() == good
        assert len(readings) == number


def test_a_page_about_the_catalogue_is_no_part_of_it(shelf: Path, readings: list[int], tmp_path: Path) -> None:
    load()
    before = folders.catalogue_contents()
    for name in ("README.md", "parts/README.md", "standards/README.md", "texts/README.md", "workshop/README.md"):
        (shelf / name).parent.mkdir(exist_ok=True)
        (shelf / name).write_text("parts: [}")
    assert folders.catalogue_contents() == before
    load()
    assert len(readings) == 1
    (tmp_path / "pages-only" / "parts").mkdir(parents=True)
    (tmp_path / "pages-only" / "parts" / "README.md").write_text("# Parts")
    with pytest.raises(InputError, match="the folder holds no"):
        load([tmp_path / "pages-only"])


@pytest.mark.parametrize("body", ["null", "[]", "{}", '{"parts": 1}', "{", "[" * 100_000, '"\\ud800"', "1e999"])
def test_an_odd_body_under_its_right_checksum_is_built_anew(
    body: str, shelf: Path, readings: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    load()
    (path,) = cache_folder().glob("catalogue-*.json")
    good = path.read_bytes()
    with monkeypatch.context() as patch:
        patch.setattr("buildcheck.library.cache.json.dumps", lambda *_, **__: body)
        keep("catalogue", path.stem.removeprefix("catalogue-"), None, 4)
    assert path.read_bytes().endswith(f"\n{body}".encode())
    assert length_of(load()) == "100"
    assert path.read_bytes() == good
    assert len(readings) == 2


def test_what_was_kept_under_another_key_is_not_believed(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    keep("sort", "one", "first", most=3)
    for name in ("sort-two.json", "other-one.json"):
        shutil.copy(cache_folder() / "sort-one.json", cache_folder() / name)
    found = [kept(kind, key, bool) for kind, key in (("sort", "one"), ("sort", "two"), ("other", "one"))]
    assert found == ["first", None, None]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="there are no named pipes here")
def test_a_pipe_in_the_cache_is_not_waited_for(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, shelf: Path, readings: list[int]
) -> None:
    load()
    (path,) = cache_folder().glob("catalogue-*.json")
    path.unlink()
    os.mkfifo(path)
    assert length_of(load()) == "100"
    assert path.is_fifo()
    assert len(readings) == 2


def test_a_cache_that_cannot_be_kept_is_no_error(
    shelf: Path, readings: list[int], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "file").write_text("in the way")
    for folder in (tmp_path / "file", Path("/dev/null"), Path("/proc/none"), tmp_path / ("x" * 300)):
        monkeypatch.setenv("XDG_CACHE_HOME", str(folder))
        assert length_of(load()) == "100"
    (tmp_path / "taken" / "buildcheck").mkdir(parents=True)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "taken"))
    load()
    (path,) = cache_folder().glob("catalogue-*.json")
    path.unlink()
    path.mkdir()  # neither to be read as a file nor to be replaced by one
    assert length_of(load()) == "100"
    assert len(readings) == 6


def test_the_cache_is_where_the_user_wants_it(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "x"))
    assert cache_folder() == tmp_path / "x" / "buildcheck"
    monkeypatch.delenv("XDG_CACHE_HOME")
    monkeypatch.setenv("HOME", str(tmp_path))
    assert cache_folder() == tmp_path / ".cache" / "buildcheck"
    monkeypatch.setattr(sys, "platform", "win32")
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "local"))
    assert cache_folder() == tmp_path / "local" / "buildcheck"


def test_old_entries_go_and_other_files_stay(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    for number in range(5):
        keep("sort", f"key{number}", number, most=3)
        os.utime(cache_folder() / f"sort-key{number}.json", (number, number))
    keep("other", "key", "o", most=3)
    assert [kept("sort", f"key{number}", bool) for number in range(5)] == [None, None, 2, 3, 4]
    assert kept("other", "key", lambda found: found == "o") == "o"
    assert kept("other", "key", lambda found: found == "p") is None


# ---- what is in it ----


@pytest.fixture(scope="module")
def fresh(tmp_path_factory: pytest.TempPathFactory) -> Catalogue:
    """The bundled catalogue read from its files, not from the cache."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("empty")))
        return load()


def test_parts_from_the_cache_are_those_of_the_files(fresh: Catalogue, catalogue: Catalogue) -> None:
    assert set(fresh.ids) == set(catalogue.ids)
    for part_id in fresh.ids:
        record = PART_KINDS[fresh.kind_of(part_id)].model_validate(fresh._content["parts"][part_id]["data"])
        again = catalogue.part(part_id)
        assert again == record == fresh.part(part_id)
        assert again.model_fields_set == record.model_fields_set
        assert fresh.where(part_id) == catalogue.where(part_id)


def test_there_are_parts_of_every_kind(catalogue: Catalogue) -> None:
    assert len(catalogue.ids) >= 150
    assert {catalogue.kind_of(part_id) for part_id in catalogue.ids} == set(PART_KINDS)


def test_parts_by_kind_come_in_the_order_of_their_ids(catalogue: Catalogue) -> None:
    ids = [part.id for part in catalogue.of_kinds(["stem", "bar-stem"])]
    assert ids == sorted(ids)
    assert {catalogue.kind_of(part_id) for part_id in ids} == {"stem", "bar-stem"}
    assert "xyzzy" not in catalogue
    with pytest.raises(KeyError):
        catalogue.part("xyzzy")


def test_each_attribute_stands_in_the_line_that_is_named(catalogue: Catalogue) -> None:
    lines = {
        path.relative_to(bundled_folder().parent).as_posix(): path.read_text(encoding="utf-8").splitlines()
        for path in bundled_folder().glob("parts/*.yaml")
    }
    for part_id in catalogue.ids:
        for name, where in catalogue.where(part_id).items():
            file, _, line = where.rpartition(":")
            near = lines[file][int(line) - 2 : int(line)]  # a list begins below its key
            assert any(f"{name}:" in row for row in near), (part_id, name, where)


def test_the_vocabularies_that_attributes_name_are_there_and_used(catalogue: Catalogue) -> None:
    named: set[str] = set()
    todo: list[type[Any]] = [*PART_KINDS.values(), Spot]
    seen: set[type[Any]] = set()
    from buildcheck.library.records import nested_record

    while todo:
        record = todo.pop()
        if record in seen:
            continue
        seen.add(record)
        for field in fields_of(record).values():
            named.update(mark.name for mark in field.metadata if isinstance(mark, Vocabulary))
            nested = nested_record(field)
            todo.extend([nested] if nested else [])
    assert named - {"any", "interface"} == set(catalogue.standards.vocabularies)


# ---- the names that the trade has ----

TRADE = [
    ("bb-shell", "BSA", "english-1.37x24"), ("bb-shell", "T47", "m47x1"), ("freehub", "HG", "spline9"),
    ("freehub", "XD", "stepped-threaded"), ("freehub", "XDR", "stepped-threaded-long"),
    ("brake-mount", "post mount", "post-74"), ("brake-mount", "flat mount front", "flat-front"),
    ("rotor-mount", "centre lock", "splined-lockring"), ("steerer-section", "D-steerer", "d-shaped"),
]  # fmt: skip


@pytest.mark.parametrize(("vocabulary", "trade", "neutral"), TRADE)
def test_names_of_the_trade_become_neutral(catalogue: Catalogue, vocabulary: str, trade: str, neutral: str) -> None:
    for word in (trade, trade.upper(), trade.lower(), neutral):
        assert catalogue.words.resolve(vocabulary, word) == neutral


def test_no_name_has_two_meanings(catalogue: Catalogue) -> None:
    for row in catalogue.standards.vocabularies.values():
        names = [(name.casefold(), term.id) for term in row.terms for name in {term.id, *term.also_called}]
        assert len(dict(names)) == len({name for name, _ in names}) == len(names), row.id
        for name, neutral in names:
            assert catalogue.words.resolve(row.id, name) == neutral


def test_a_part_written_in_the_words_of_the_trade_is_the_same_part(shelf: Path) -> None:
    assert getattr(load().part("x-one"), "steerer_section") == "round"
    assert load().words.resolve("any", "Anything") == "Anything"
    assert load().words.resolve("no-such-vocabulary", "round") is None


def test_a_kind_without_a_row_is_found() -> None:
    seat = {"kinds": ["saddle"], "id": "saddle", "left_off": "never"}
    problems = cross_problems({"positions": [{"row": seat, "where": "here:1", "root": 0}]})
    assert any(text.startswith("here:1: meaning: kinds: saddle has no row in the table of kinds") for text in problems)


def test_a_function_that_no_bike_can_carry_out_is_found() -> None:
    def at(row: dict[str, object], where: str) -> dict[str, object]:
        return {"row": row, "where": where, "root": 0}

    ends = {"from": ["lever"], "to": ["brake"]}
    tables = {
        "positions": [
            at({"id": "lever", "kinds": ["lever"]}, "here:1"), at({"id": "brake", "kinds": ["caliper"]}, "here:2"),
            at({"id": "line", "kinds": ["hose"], "ends": ends}, "here:3"), at({"id": "bell", "kinds": []}, "here:4"),
        ],
        "vocabularies": [at({"id": "brake-actuation", "traits": {"by_line": "over a line"}, "terms": []}, "here:5")],
        "functions": [
            at({"id": "stop", "line": "line", "links": ["by_line", "by_pedals"],
                "works": [{"at": "brake", "by": "brake"}, {"at": "bell", "by": "brake"}],
                "controls": [{"at": "lever", "by": "brake_type"}], "through": ["bell", "chain"]}, "here:6"),
        ],
    }  # fmt: skip
    found = [text.removeprefix("here:6: meaning: ") for text in cross_problems(tables) if text.startswith("here:6")]
    assert found == [
        "through: no position 'chain'",
        "works: line does not lead to 'bell'",
        "through: the position bell may stay empty: it is neither needed nor needed_if",
        "controls: no kind of part at lever has the attribute 'brake_type'",
        "works: no kind of part at bell has the attribute 'brake'",
        "links: by_pedals is no trait of the words of brake at brake",
    ]


LEVELS = {"blocks": ["bent"], "caution": ["worn"], "note": [], "no_sense": []}
BY_USE = {"seen": ["worn"], "attribute": "use"}
SEEN = [
    ({**LEVELS, "caution": []}, "'worn' stands under no level: expected under one of blocks, caution, note, no_sense"),
    ({**LEVELS, "note": ["worn"]}, "'worn' stands under more than one level: which of them is it?"),
    ({**LEVELS, "note": ["wrn"]}, "no condition 'wrn' — did you mean \"worn\"?"),
    ({**LEVELS, "blocks_if": [{**BY_USE, "seen": ["bent"], "words": ["bell"]}]},
     "blocks_if: 'bent' is neither a caution nor a note here, so it cannot come to block"),
    ({**LEVELS, "blocks_if": [{**BY_USE, "attribute": "name", "words": ["bell"]}]},
     "blocks_if: the kind accessory has no attribute 'name' whose words tell it"),
    ({**LEVELS, "blocks_if": [{**BY_USE, "attribute": "usage", "words": ["bell"]}]},
     "blocks_if: the kind accessory has no attribute 'usage' whose words tell it"),
    ({**LEVELS, "blocks_if": [{**BY_USE, "words": ["bel"]}]},
     "blocks_if: words of use: no 'bel' — did you mean \"bell\"?"),
    ({**LEVELS, "blocks_if": [{**BY_USE, "other_than": ["seat"]}]}, "blocks_if: other_than of use: no 'seat'"),
    ({**LEVELS, "blocks_if": [{**BY_USE, "traits": ["loud"]}]}, "blocks_if: traits of use: no 'loud'"),
]  # fmt: skip


@pytest.mark.parametrize(("seen", "text"), SEEN, ids=[text for _, text in SEEN])
def test_a_kind_that_does_not_tell_each_condition_once_is_found(seen: dict[str, object], text: str) -> None:
    rows = [
        {"id": "condition", "terms": [{"id": "bent"}, {"id": "worn"}]},
        {"id": "accessory-use", "terms": [{"id": "bell"}], "traits": {"bears_a_person": ""}},
    ]
    tables = {
        "vocabularies": [{"row": row, "where": "here:1", "root": 0} for row in rows],
        "kinds": [{"row": {"id": "accessory", "seen": seen}, "where": "here:2", "root": 0}],
    }
    assert cross_problems(tables) == [f"here:2: meaning: seen: {text}"]
