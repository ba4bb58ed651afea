"""The terms of a request: the shop's rate, and words that name what is not there."""

from __future__ import annotations

from pathlib import Path

import pytest

from buildcheck.library import folders
from buildcheck.library.catalogue import load
from buildcheck.library.folders import Content
from buildcheck.library.problems import InputError
from buildcheck.library.terms import read_terms
from buildcheck.model.terms import InStock, Terms
from buildcheck.vetting import Vetting
from laws.bench import bike, catalogue, change

SHIM = "tolverne-shim-260-254"
SHOP = "shop: [{rate_eur_per_hour: %s, source: a test}]\n"


def terms(
    name: str = "city-rim", fit: str = "tolverne-lantern-100@stem", stock: str | None = None, **words: list[str]
) -> Terms:
    of = bike(name)
    content = None if stock is None else Content("stock.csv", stock.encode(), "stock")
    return read_terms(words, content, change(of, fit), of, catalogue())


def refused(**words: list[str]) -> list[str]:
    with pytest.raises(InputError) as error:
        terms(**words)  # type: ignore[arg-type]
    return str(error.value).splitlines()


def test_without_a_word_only_the_rate_of_the_shop_counts() -> None:
    shop = catalogue().standards.shop
    assert terms() == Terms(shop.rate_eur_per_hour) == Vetting(bike("city-rim"), catalogue()).agreed
    assert shop.source


def test_each_word_is_read() -> None:
    asked = terms(
        stock=f"part,quantity\n{SHIM},3\n", rate=["72.50"], keep=["handlebar", "bar-clamp-shim", "handlebar"],
        exclude=[SHIM, SHIM],
    )  # fmt: skip
    assert asked == Terms(72.5, frozenset({"handlebar", "bar-clamp-shim"}), frozenset({SHIM}), {SHIM: InStock(3, 0.0)})


@pytest.mark.parametrize("text", ["0", "0.0", "-5", "nan", "inf", "1e3", "60 EUR", "60,5", "", " ", "1000001", "٦٠"])
def test_a_rate_that_is_none_is_refused(text: str) -> None:
    (line,) = refused(rate=[text])
    assert line.startswith("--rate: a plain number of euros for an hour, above 0 and up to 1000000")


def test_names_that_are_not_there_are_told_all_at_once() -> None:
    lines = refused(keep=["handelbar", "stm"], exclude=["tolverne-shim-260-25"], rate=["x"])
    assert [line.partition(" — ")[0] for line in lines[1:]] == [
        "--keep: 'handelbar' is not a position of a bike",
        "--keep: 'stm' is not a position of a bike",
        "--exclude: no part 'tolverne-shim-260-25' in the catalogue",
    ]
    assert [line.partition(" — ")[2] for line in lines[1:]] == [
        f'did you mean "{word}"?' for word in ("handlebar", "stem", SHIM)
    ]
    (line,) = refused(stock=f"part,quantity\n{SHIM},x\n")  # type: ignore[arg-type]
    assert line.startswith("stock.csv:2:1: schema: quantity: ")


def test_what_the_change_alters_cannot_be_kept() -> None:
    for name, fit, keep in [
        ("city-rim", "tolverne-lantern-100@stem", "stem"),
        ("allroad-wired", "wexcombe-veil-420-100@handlebar", "handlebar"),
        ("allroad-wired", "wexcombe-veil-420-100@handlebar", "stem"),
    ]:
        with pytest.raises(InputError, match=f"the change itself alters '{keep}'"):
            terms(name, fit, keep=[keep])
    of = bike("city-rim")
    with pytest.raises(InputError, match="the change itself alters 'saddle'"):
        read_terms({"keep": ["saddle"]}, None, change(of, take_off=("saddle",)), of, catalogue())
    there = of["stem"].part.id
    assert terms(fit=f"{there}@stem", keep=["stem"]).keep == {"stem"}


# ---- the rate of the shop in the catalogue ----


@pytest.fixture(autouse=True)
def _cache_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))


def shelf(folder: Path, text: str, name: str = "workshop/shop.yaml") -> Path:
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text)
    return folder


def rate_of(*shelves: Path) -> float:
    return load(shelves).standards.shop.rate_eur_per_hour


@pytest.fixture
def bundled(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A bundled catalogue that holds nothing but a shop."""
    folder = shelf(tmp_path / "catalog", SHOP % 60)
    monkeypatch.setattr(folders, "bundled_folder", lambda: folder)
    return folder


def test_the_later_folder_counts(bundled: Path, tmp_path: Path) -> None:
    one = shelf(tmp_path / "one", SHOP % 70)
    two = shelf(tmp_path / "two", SHOP % 80, "standards/mine.yaml")
    silent = shelf(tmp_path / "three", "openings: []\n")
    assert rate_of() == 60
    assert rate_of(one) == rate_of(two, one) == rate_of(one, silent) == 70
    assert rate_of(one, two) == rate_of(one, two) == 80  # from the files, and from the cache


def test_one_folder_has_one_shop_whatever_the_folder_is_called(
    bundled: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    mine = shelf(tmp_path / "mine" / "catalog", SHOP % 70)
    monkeypatch.chdir(tmp_path / "mine")
    assert rate_of(Path("catalog")) == 70  # it goes by the same name as the bundled one
    shelf(mine, SHOP % 70, "workshop/again.yaml")
    with pytest.raises(InputError) as error:
        rate_of(Path("catalog"))
    assert [str(problem.place) for problem in error.value.problems] == [
        "catalog/workshop/again.yaml:1:1", "catalog/workshop/shop.yaml:1:1",
    ]  # fmt: skip
