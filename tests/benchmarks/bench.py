"""Speed and memory of buildcheck: prints a table and writes bench-out/figures.json, name to number.

`make bench` runs it. A figure is added by a function under `@figures`, and a limit by a line in
LIMITS or LEAST. Ends with 1 if a limit is broken.

Every command is a new process. This process imports nothing heavy, because a child starts with its
parent's peak memory.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Mapping, Sequence
from math import inf
from pathlib import Path
from statistics import median

ROOT = Path(__file__).resolve().parent.parent.parent
OUT = Path("bench-out") / "figures.json"
RUNS = 21

# The most that each figure may be.
LIMITS: dict[str, float] = {
    "swap_over_imports": 2.0,
    "swap_peak_mb": 120.0,
    "check_growth_exponent": 1.1,
    "remedy_over_cpsat_10k": 0.5,
    "remedy_over_cpsat_100k": 0.5,
    "remedy_growth_exponent": 0.3,
}

# The least that each figure may be.
LEAST: dict[str, float] = {
    "checks_per_s": 300.0,
}

SWAP = ("-m", "buildcheck", "swap", "allroad-wired", "--fit", "wexcombe-veil-420-100@handlebar")
IMPORTS = ("-c", "import networkx, pydantic, typer")

Figures = Callable[[Path], Mapping[str, float]]
FIGURES: list[Figures] = []


def figures(make: Figures) -> Figures:
    """Register a function that is given an empty folder and returns figures by name."""
    FIGURES.append(make)
    return make


def run(arguments: Sequence[str], folder: Path, allowed: Sequence[int] = (0,)) -> tuple[float, float]:
    """Wall time in seconds and peak memory in MB of one Python process."""
    paths = os.pathsep.join(filter(None, (str(ROOT / "src"), os.environ.get("PYTHONPATH"))))
    environment = {**os.environ, "PYTHONPATH": paths, "XDG_CACHE_HOME": str(folder / "cache")}
    start = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, *arguments], cwd=folder, env=environment,
        stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    _, status, usage = os.wait4(process.pid, 0)
    wall = time.perf_counter() - start
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode not in allowed:
        raise SystemExit(f"bench: {' '.join(arguments)} ended with {process.returncode}")
    return wall, usage.ru_maxrss / (1024 if sys.platform != "darwin" else 1024 * 1024)


@figures
def swap(folder: Path) -> Mapping[str, float]:
    """The demo's swap against the bare imports, taken in turn so that both meet the same machine.

    `swap_s` is asked again with all caches there, also that of whole answers. `swap_anew_s` is worked out
    with the catalogue's cache alone, as for a bike that was not asked about before. The peak of memory is
    the highest of them all.
    """
    run(IMPORTS, folder)
    run(("-m", "buildcheck", "--version"), folder)  # writes the byte code
    verdicts = (0, 1)
    first = run(SWAP, folder, verdicts)
    imports, anew, swaps = [], [], []
    for _ in range(RUNS):
        imports.append(run(IMPORTS, folder)[0])
        for answer in (folder / "cache").rglob("answer-*.json"):
            answer.unlink()
        anew.append(run(SWAP, folder, verdicts))
        swaps.append(run(SWAP, folder, verdicts))
    imports_s, anew_s, swap_s = median(imports), median(wall for wall, _ in anew), median(wall for wall, _ in swaps)
    return {
        "swap_over_imports": swap_s / imports_s,
        "swap_peak_mb": max(peak for _, peak in (first, *anew, *swaps)),
        "swap_anew_over_imports": anew_s / imports_s,
        "swap_s": swap_s,
        "swap_anew_s": anew_s,
        "first_swap_without_cache_s": first[0],
        "imports_s": imports_s,
    }


@figures
def checks(folder: Path) -> Mapping[str, float]:
    """Vettings in one process, from checks.py: how many in a second, and how they grow with the joints on a bike."""
    return figures_of("checks.py", folder)


@figures
def remedies(folder: Path) -> Mapping[str, float]:
    """The demo's three remedies on catalogues of any size, from remedies.py, and by CP-SAT in the same run."""
    return figures_of("remedies.py", folder)


def figures_of(script: str, folder: Path) -> Mapping[str, float]:
    """What a script beside this one prints as JSON."""
    paths = os.pathsep.join((str(ROOT / "src"), str(ROOT / "tests")))
    environment = {**os.environ, "PYTHONPATH": paths, "XDG_CACHE_HOME": str(folder / "cache")}
    command = [sys.executable, str(Path(__file__).with_name(script))]
    done = subprocess.run(command, env=environment, stdout=subprocess.PIPE, check=True)
    found: dict[str, float] = json.loads(done.stdout)
    return found


def main() -> int:
    """Make all figures; 1 if one is over its limit."""
    found: dict[str, float] = {}
    for make in FIGURES:
        with tempfile.TemporaryDirectory() as folder:
            found |= {name: round(value, 4) for name, value in make(Path(folder)).items()}
    missing = (LIMITS.keys() | LEAST.keys()) - found.keys()
    if missing:
        raise SystemExit(f"bench: a limit without a figure: {', '.join(sorted(missing))}")
    print(f"{'figure':<32}{'value':>10}  limit")
    broken = False
    for name, value in found.items():
        least, most = LEAST.get(name, -inf), LIMITS.get(name, inf)
        limits = [f"at least {least:g}"] * (least > -inf) + [f"at most {most:g}"] * (most < inf)
        good = least <= value <= most
        broken |= not good
        print(f"{name:<32}{value:>10.3f}  {', '.join(limits)}{'' if good else '  BROKEN'}".rstrip())
    OUT.parent.mkdir(exist_ok=True)
    OUT.write_text(json.dumps(found, indent=2) + "\n", encoding="utf-8")
    print(f"written: {OUT}")
    return int(broken)


if __name__ == "__main__":
    sys.exit(main())
