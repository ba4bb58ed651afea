"""Generated catalogues are as good as bundled ones: every part would pass from a file, and the bikes load on them."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.library.bikes import load_bike
from buildcheck.library.catalogue import Catalogue, load
from buildcheck.model.parts import PART_KINDS
from generated import DESIGNS, bundled_parts, catalogues, design, generated_catalogue
from laws.bench import BIKES

BUNDLED = len(bundled_parts())
# `make prove` has the designs of each second part written and read (the others are as these), every run of each eighth.
EACH = 2 if os.environ.get("HYPOTHESIS_PROFILE") == "prove" else 8


def generated_entries(catalogue: Catalogue) -> dict[str, dict[str, object]]:
    parts: dict[str, dict[str, object]] = catalogue._content["parts"]
    return {part_id: entry for part_id, entry in parts.items() if part_id not in bundled_parts()}


def test_every_design_would_pass_from_a_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Through all three stages: the words, the openings and every check of a record."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    rows = [
        {**design(part_id, number), "id": f"design-{at}-{number}"}
        for at, part_id in enumerate(sorted(bundled_parts())[::EACH])
        for number in range(1, DESIGNS)
    ]
    (tmp_path / "parts").mkdir()
    for start in range(0, len(rows), 1000):
        path = tmp_path / "parts" / f"{start}.yaml"
        lines = (f"- {json.dumps(row)}" for row in rows[start : start + 1000])
        path.write_text("\n".join(["parts:", *lines]), encoding="utf-8")
    read = load([tmp_path])._content["parts"]
    assert len(read) == BUNDLED + len(rows)
    for row in rows:
        assert read[row["id"]]["data"] == row


@given(catalogues(most=BUNDLED + 300))
def test_every_generated_part_is_a_whole_record(made: Catalogue) -> None:
    for part_id, entry in generated_entries(made).items():
        data = entry["data"]
        assert isinstance(data, dict)
        record = PART_KINDS[data["kind"]].model_validate(data)
        assert made.part(part_id) == record
        assert made.part(part_id).model_fields_set == record.model_fields_set
        assert record.model_dump(mode="json", by_alias=True, exclude_unset=True) == data
        assert re.fullmatch(r"generated:[0-9]+", made.where(part_id)[""])


@pytest.mark.parametrize("name", BIKES)
def test_the_bundled_bikes_load_on_it(name: str) -> None:
    plain, made = load(), generated_catalogue(BUNDLED + 500, 3)
    assert load_bike(Path(name), made).fitted == load_bike(Path(name), plain).fitted


@given(st.integers(0, 2**32 - 1))
def test_the_seed_makes_the_catalogue(seed: int) -> None:
    one, two = (generated_catalogue(BUNDLED + 50, seed) for _ in range(2))
    assert one._content == two._content
    assert generated_entries(one) != generated_entries(generated_catalogue(BUNDLED + 50, seed + 1))
    assert all(one._content["parts"][part_id]["data"] == data for part_id, data in bundled_parts().items())


def test_what_is_stated_of_the_parts_holds() -> None:
    made = generated_catalogue(20_000, 7)
    assert len(made.ids) == 20_000
    assert {made.kind_of(part_id) for part_id in generated_entries(made)} == set(PART_KINDS)
    prices = [made.part(part_id).best_price_eur() for part_id in generated_entries(made)]
    assert 0.03 < prices.count(None) / len(prices) < 0.07
    assert all(price is None or price == round(price, 2) > 0 for price in prices)
    offered = [part_id for part_id in generated_entries(made) if made.part(part_id).offers]
    assert 0.17 < len(offered) / len(prices) < 0.21


def test_the_kinds_of_parts_saturate() -> None:
    """Ten times the parts, but no more designs than there are."""
    few, many, most = (len(generated_catalogue(size, 5).groups(PART_KINDS)) for size in (3_000, 30_000, 60_000))
    assert 2 * few < many < most < 1.2 * many
    assert most <= DESIGNS * BUNDLED
