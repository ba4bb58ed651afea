"""`from buildcheck import …`: the example of README.md, its names and types, and what an import does without."""

from __future__ import annotations

import contextlib
import inspect
import io
import re
import subprocess
import sys
from importlib.resources import files
from pathlib import Path

import pytest

import buildcheck
import readme
from buildcheck.library.catalogue import Catalogue
from command import run

(EXAMPLE,) = re.findall(r"^```python\n(.*?)^```$", readme.README.read_text(encoding="utf-8"), re.M | re.S)


def test_the_example_of_the_readme_prints_what_it_says() -> None:
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        exec(compile(EXAMPLE, "README.md", "exec"), {})
    said = re.findall(r"# prints: (.+)$", EXAMPLE, re.M)
    assert len(said) >= 4
    assert out.getvalue().splitlines() == said


def test_every_name_is_there_documented_and_typed() -> None:
    for name in set(buildcheck.__all__) - {"__version__"}:
        each = getattr(buildcheck, name)
        assert inspect.getdoc(each), name
        if inspect.isfunction(each):
            assert all(type_ for type_ in inspect.signature(each).parameters.values() if type_.annotation), name
            assert "Raises InputError" in (inspect.getdoc(each) or "")
    assert (files("buildcheck") / "py.typed").is_file()
    with pytest.raises(AttributeError, match="no attribute 'nonsense'"):
        getattr(buildcheck, "nonsense")


def test_an_import_alone_loads_no_library() -> None:
    code = "import sys, buildcheck; sys.exit(bool({'pydantic', 'yaml', 'typer', 'networkx'} & set(sys.modules)))"
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)


def test_the_terms_of_a_change_are_those_of_the_command_line(catalogue: Catalogue, tmp_path: Path) -> None:
    stock = tmp_path / "stock.csv"
    stock.write_text("part,quantity,price_eur\ntolverne-shim-260-254,1,3.5\n", encoding="utf-8")
    asked = ["tolverne-lantern-100"]
    bike = buildcheck.read_bike("city-rim", catalogue)
    report = buildcheck.swap(bike, catalogue, fit=asked, rate=60, keep=["handlebar"], stock=stock)
    terms = ("--rate", "60", "--keep", "handlebar", "--stock", stock)
    told = run("swap", "city-rim", "--fit", *asked, *terms, "--all").out
    assert report.remedies[0].parts_cost == 3.5
    assert f"EUR {report.work.asked_cost:.2f}" in told
    assert f"EUR {report.remedies[0].total_cost:.2f}" in told


def test_a_search_can_be_stopped(catalogue: Catalogue) -> None:
    bike = buildcheck.read_bike("city-rim", catalogue)
    report = buildcheck.swap(bike, catalogue, fit=["tolverne-lantern-100"], stop=lambda vetted: "enough")
    assert report.search.limit == "enough"


def test_nothing_to_change_is_refused(catalogue: Catalogue) -> None:
    bike = buildcheck.read_bike("city-rim", catalogue)
    with pytest.raises(ValueError, match="nothing changes"):
        buildcheck.swap(bike, catalogue)
    with pytest.raises(buildcheck.InputError, match="nothing sits in"):
        buildcheck.vet(bike, catalogue, set=["nonsense.clamp_mm=31.8"])
