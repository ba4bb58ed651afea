"""Names found in the text of files are those that the readers of these files find."""

from __future__ import annotations

from pathlib import Path

import pytest

from buildcheck.library import names
from buildcheck.library.bikes import load_bike
from buildcheck.library.catalogue import Catalogue
from buildcheck.rules.pages import pages


def test_the_parts_and_positions_are_those_of_the_catalogue(catalogue: Catalogue) -> None:
    found = {part.id: (*part.kinds, part.what) for part in names.parts([])}
    assert found == {part_id: (catalogue.kind_of(part_id), catalogue.part(part_id).name) for part_id in catalogue.ids}
    rows = {row.id: (frozenset(row.kinds), row.what) for row in names.positions([])}
    known = catalogue.standards.positions
    assert rows == {name: (frozenset(row.kinds), row.what) for name, row in known.items()}


def test_the_findings_are_those_that_have_a_page(catalogue: Catalogue) -> None:
    assert names.findings() == sorted(pages(catalogue.standards))


@pytest.mark.parametrize("name", [name for name in names.bikes() if "/" not in name])
def test_what_a_bike_has_is_what_its_file_says(name: str, catalogue: Catalogue) -> None:
    bike, found = load_bike(Path(name), catalogue), names.of_bike(Path(name))
    assert set(found.fitted) == {spot.home for spot in bike.fitted.values()}
    assert {part.id for part in found.own} == set(bike.own_parts)


def test_a_bike_that_is_like_another_has_what_that_has(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text("bike: a\nlike: b.yaml\nparts:\n  bell: {part: x}\n", encoding="utf-8")
    (tmp_path / "b.yaml").write_text("bike: b\nlike: city-rim\nparts:\n    stem:\n        part: y\n", encoding="utf-8")
    found = names.of_bike(tmp_path / "a.yaml").fitted
    assert list(found)[:2] == ["bell", "stem"]
    assert found["saddle"] == "wexcombe-heather"


def test_outlines_are_bikes_and_what_is_told_to_be_absent_is_not_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "outlines").mkdir()
    (tmp_path / "bikes").mkdir()
    outline = "parts:\n  stem: {kind: stem}\n  bell: unknown\n  saddle: none\n"
    (tmp_path / "outlines" / "road.yaml").write_text(outline, encoding="utf-8")
    (tmp_path / "bikes" / "b.yaml").write_text("like: outline/road\nparts:\n  stem: none\n", encoding="utf-8")
    monkeypatch.setattr(names, "bundled_folder", lambda: tmp_path)
    assert names.bikes() == ["b", "outline/road"]
    assert list(names.of_bike(Path("outline/road")).fitted) == ["stem", "bell"]
    assert list(names.of_bike(Path("b")).fitted) == ["bell"]


@pytest.mark.parametrize("text", ["", "parts:", "parts: [", "like: a.yaml\nparts:\n- x", "\x00\xff", "parts:\n  - {id"])
def test_a_file_that_is_no_good_offers_nothing(text: str, tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    path.write_text(text, encoding="utf-8")
    assert not names.of_bike(path).fitted
    assert not names.of_bike(tmp_path).fitted
    assert not names.of_bike(Path("no-such-bike\x00")).fitted
