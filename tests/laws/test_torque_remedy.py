"""A remedy that a forgotten condition ruled out: the torque that a clamp asks for counts for carbon only.

A carbon bar bears 5 N·m in a stem that asks for 6. An aluminium bar that bears no more is dented at worst, so it is the
cheapest that does; a search that learns "no bar that bears 5" without "of carbon" never looks at it. It comes with a
caution, so that a bar without one is offered before it, and it is told what was passed over.
"""

from __future__ import annotations

from pathlib import Path

from buildcheck.library.bikes import bike_from, read_change
from buildcheck.library.catalogue import load
from buildcheck.library.folders import bundled_bike
from buildcheck.library.yaml_text import read_document
from buildcheck.vetting import Vetting


def _catalogue_of(folder: Path) -> Path:
    (folder / "parts").mkdir()
    (folder / "parts" / "vice.yaml").write_text(Path(__file__).with_name("torque-remedy.yaml").read_text())
    return folder


def test_an_aluminium_bar_that_bears_no_more_is_the_cheapest_that_does(tmp_path: Path) -> None:
    catalogue = load([_catalogue_of(tmp_path)])
    text = bundled_bike("allroad-wired").read_text().replace("part: tolverne-hollin-420", "part: lindhowe-wisp-carbon")
    assert "lindhowe-wisp-carbon" in text
    bike = bike_from(read_document(text, "bike"), catalogue)
    report = Vetting(bike, catalogue).swap(read_change(("lindhowe-vice-90@stem",), (), bike, catalogue))
    assert [finding.name for finding in report.findings if finding.level == "blocks"] == ["torque-limits-apart"]
    first = report.remedies[0]
    assert first.gives_up == ()
    (passed,) = first.passed_over
    assert [(part.id, part.price) for part in passed.parts] == [("lindhowe-plain-alu", 10.0)]
    assert passed.total_cost < first.total_cost
    assert len(passed.gives_up) == 1
