"""The wheel by itself: installed into an empty environment and used from another folder."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import sysconfig
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
BIN = "Scripts" if os.name == "nt" else "bin"


def test_the_wheel_carries_all_that_buildcheck_needs(tmp_path: Path) -> None:
    # Neither this checkout nor the reader's own catalogue may help.
    environment = {
        name: value for name, value in os.environ.items()
        if not name.startswith(("PYTHON", "BUILDCHECK_", "COV_", "COVERAGE_"))
    }  # fmt: skip
    environment["XDG_CACHE_HOME"] = str(tmp_path / "cache")
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()

    def run(*command: str | Path, folder: Path = elsewhere) -> str:
        done = subprocess.run(
            [str(word) for word in command], cwd=folder, env=environment, stdin=subprocess.DEVNULL,
            capture_output=True, encoding="utf-8", timeout=600,
        )  # fmt: skip
        assert done.returncode == 0, f"{command}\n{done.stdout}\n{done.stderr}"
        return done.stdout

    run(sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", tmp_path / "dist", folder=ROOT)
    (wheel,) = (tmp_path / "dist").glob("*.whl")
    venv.create(tmp_path / "venv", with_pip=False)
    binaries = tmp_path / "venv" / BIN
    (packages,) = (tmp_path / "venv").glob("**/site-packages")
    # Libraries are those of the tests; that no others are needed is shown in .ci/versions. Path files among them are
    # not read, so the checkout is out of sight.
    (packages / "libraries.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    pip = (sys.executable, "-m", "pip", "--python", binaries / "python", "--disable-pip-version-check")
    run(*pip, "install", "--quiet", "--no-deps", wheel)
    buildcheck = binaries / "buildcheck"

    shown = run(buildcheck, "demo")
    written = elsewhere / "demo-out"
    assert (written / "report.txt").read_text(encoding="utf-8").startswith(shown.partition("\n")[0])
    report = json.loads((written / "report.json").read_text(encoding="utf-8"))
    assert (report["schema_version"], report["bike"]) == (1, "allroad-wired")
    assert report["findings"]

    # The pages of the catalogue come along, so that whoever has only the wheel can read how its files are written.
    there = run(binaries / "python", "-c", "from buildcheck.library.folders import bundled_folder as f; print(f())")
    pages = {path.relative_to(there.strip()) for path in Path(there.strip()).rglob("*.md")}
    assert pages == {path.relative_to(ROOT / "catalog") for path in (ROOT / "catalog").rglob("*.md")} != set()

    assert "city-rim" in run(buildcheck, "check", "city-rim")
    assert "equal" in run(buildcheck, "schema", "--check")
    assert "An example that fires (fires-" in run(buildcheck, "explain", "bar-clamp-mismatch")
    assert " all in order" in run(buildcheck, "parts", "verify")
    assert run(binaries / "python", "-m", "buildcheck", "--version").startswith("buildcheck ")
