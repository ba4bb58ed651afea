"""Speed and memory of buildcheck: prints a table and writes bench-out/figures.json, name to number.

`make bench` runs it. A figure is added by a function under `@figures`, and a limit by a line in LIMITS. Ends with 1
if a limit is broken.

Every command is a new process, with byte code written as after an installation. This process imports nothing heavy,
because a child starts with its parent's peak memory.
"""

from __future__ import annotations

import compileall
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
RUNS_ANEW = 9
RUNS_20K = 3

# The most that each figure may be.
LIMITS: dict[str, float] = {
    "swap_anew_over_imports": 5.0,
    "swap_plain_anew_over_imports": 3.0,
    "check_anew_over_imports": 2.2,
    "job_anew_over_imports": 7.0,
    "help_over_imports": 0.6,
    "completion_over_imports": 1.0,
    "fits_20k_s_over_swap_20k": 3.0,
    "swap_peak_mb": 120.0,
    "check_over_loop": 0.4,
    "check_growth_exponent": 1.1,
    "remedy_over_cpsat_10k": 0.5,
    "remedy_over_cpsat_100k": 0.5,
    "remedy_growth_exponent": 0.3,
}

DEMO = ("allroad-wired", "--fit", "wexcombe-veil-420-100@handlebar")
PLAIN = ("city-rim", "--fit", "tolverne-lantern-100")
FITS = ("city-rim", "handlebar")
SWAP = ("-m", "buildcheck", "swap", *DEMO)
HELP = ("-m", "buildcheck", "--help")
# The TAB key behind PART@, which asks the most files.
COMPLETED = {
    "_BUILDCHECK_COMPLETE": "complete_fish", "_TYPER_COMPLETE_FISH_ACTION": "get-args",
    "_TYPER_COMPLETE_ARGS": f"buildcheck swap {PLAIN[0]} --fit {PLAIN[-1]}@",
}  # fmt: skip
IMPORTS = ("-c", "import networkx, pydantic, typer")
VERDICTS = (0, 1)

Figures = Callable[[Path], Mapping[str, float]]
FIGURES: list[Figures] = []


def figures(make: Figures) -> Figures:
    """Register a function that is given an empty folder and returns figures by name."""
    FIGURES.append(make)
    return make


def environment_of(paths: str, folder: Path) -> dict[str, str]:
    """Byte code is written and read as usual, whatever this shell says; the cache stands in a folder of its own."""
    inherited = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return {**inherited, "PYTHONPATH": paths, "XDG_CACHE_HOME": str(folder / "cache")}


def run(
    arguments: Sequence[str], folder: Path, allowed: Sequence[int] = (0,), more: Mapping[str, str] | None = None
) -> tuple[float, float]:
    """Wall time in seconds and peak memory in MB of one Python process."""
    paths = os.pathsep.join(filter(None, (str(ROOT / "src"), os.environ.get("PYTHONPATH"))))
    environment = {**environment_of(paths, folder), **(more or {})}
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
def first(folder: Path) -> Mapping[str, float]:
    """The demo's swap where no catalogue is kept yet, and the highest peak of memory of it and one after it."""
    run(("-m", "buildcheck", "--version"), folder)
    swaps = [run(SWAP, folder, VERDICTS) for _ in range(2)]
    return {"first_swap_without_cache_s": swaps[0][0], "swap_peak_mb": max(peak for _, peak in swaps)}


@figures
def anew(folder: Path) -> Mapping[str, float]:
    """What a user waits for: requests that nobody made before, in turn with the bare imports.

    Each run is given a bike file of its own, which differs in a comment. Only the catalogue's cache is warm.
    """
    commands = {
        "swap_anew": ("swap", *DEMO), "swap_plain_anew": ("swap", *PLAIN),
        "check_anew": ("check", DEMO[0]), "job_anew": ("job", *DEMO),
    }  # fmt: skip
    run(IMPORTS, folder)
    run(HELP, folder)
    for command in commands.values():
        run(("-m", "buildcheck", *command), folder, VERDICTS)
    seconds: dict[str, list[float]] = {}
    for number in range(RUNS_ANEW):
        seconds.setdefault("imports", []).append(run(IMPORTS, folder)[0])
        seconds.setdefault("help", []).append(run(HELP, folder)[0])
        seconds.setdefault("completion", []).append(run(HELP[:2], folder, more=COMPLETED)[0])
        for name, (verb, bike, *rest) in commands.items():
            asked = (verb, new_bike(bike, number, name, folder), *rest)
            seconds.setdefault(name, []).append(run(("-m", "buildcheck", *asked), folder, VERDICTS)[0])
    imports_s = median(seconds.pop("imports"))
    ratios = {f"{name}_over_imports": median(each) / imports_s for name, each in seconds.items()}
    return {**ratios, **{f"{name}_s": median(each) for name, each in seconds.items()}, "imports_s": imports_s}


def new_bike(bike: str, number: int, request: str, folder: Path) -> str:
    """The name of a bike file that no run was given before."""
    made = folder / f"{bike}-{request}-{number}.yaml"
    text = (ROOT / "catalog" / "bikes" / f"{bike}.yaml").read_text(encoding="utf-8")
    made.write_text(f"{text}# {request} {number}\n", encoding="utf-8")
    return made.name


@figures
def fits(folder: Path) -> Mapping[str, float]:
    """Every bar of 20,000 generated parts tried on a bike, against a plain swap with the same catalogue, in turn."""
    script = Path(__file__).with_name("write_catalogue.py")
    paths = os.pathsep.join((str(ROOT / "src"), str(ROOT / "tests")))
    subprocess.run(
        [sys.executable, str(script), "20000", str(folder / "many")], env=environment_of(paths, folder), check=True
    )
    many = ("--catalog", "many")
    run(("-m", "buildcheck", "check", PLAIN[0], *many), folder, VERDICTS)  # reads the catalogue
    fits_s, swap_s = [], []
    for number in range(RUNS_20K):
        bikes = [new_bike(bike, number, "20k", folder) for bike in (PLAIN[0], FITS[0])]
        swap_s.append(run(("-m", "buildcheck", "swap", bikes[0], *PLAIN[1:], *many), folder, VERDICTS)[0])
        fits_s.append(run(("-m", "buildcheck", "parts", "fits", bikes[1], *FITS[1:], *many), folder, VERDICTS)[0])
    return {
        "fits_20k_s_over_swap_20k": median(fits_s) / median(swap_s),
        "fits_20k_s": median(fits_s),
        "swap_20k_s": median(swap_s),
    }


@figures
def checks(folder: Path) -> Mapping[str, float]:
    """Vettings in one process, from checks.py: how long one takes, and how they grow with the joints on a bike."""
    return figures_of("checks.py", folder)


@figures
def remedies(folder: Path) -> Mapping[str, float]:
    """The demo's three remedies on catalogues of any size, from remedies.py, and by CP-SAT in the same run."""
    return figures_of("remedies.py", folder)


@figures
def questions(folder: Path) -> Mapping[str, float]:
    """How many questions decide a request on an outline, from questions.py."""
    return figures_of("questions.py", folder)


def figures_of(script: str, folder: Path) -> Mapping[str, float]:
    """What a script beside this one prints as JSON."""
    paths = os.pathsep.join((str(ROOT / "src"), str(ROOT / "tests")))
    environment = environment_of(paths, folder)
    command = [sys.executable, str(Path(__file__).with_name(script))]
    done = subprocess.run(command, env=environment, stdout=subprocess.PIPE, check=True)
    found: dict[str, float] = json.loads(done.stdout)
    return found


def main() -> int:
    """Make all figures; 1 if one is over its limit."""
    if not compileall.compile_dir(ROOT / "src", quiet=1):
        raise SystemExit("bench: the byte code cannot be written")
    found: dict[str, float] = {}
    for make in FIGURES:
        print(f"bench: {make.__name__}", file=sys.stderr)
        with tempfile.TemporaryDirectory() as folder:
            found |= {name: round(value, 4) for name, value in make(Path(folder)).items()}
    missing = LIMITS.keys() - found.keys()
    if missing:
        raise SystemExit(f"bench: a limit without a figure: {', '.join(sorted(missing))}")
    print(f"{'figure':<32}{'value':>10}  limit")
    broken = False
    for name, value in found.items():
        most = LIMITS.get(name, inf)
        limit = f"at most {most:g}" if most < inf else ""
        broken |= value > most
        print(f"{name:<32}{value:>10.3f}  {limit}{'  BROKEN' if value > most else ''}".rstrip())
    OUT.parent.mkdir(exist_ok=True)
    OUT.write_text(json.dumps(found, indent=2) + "\n", encoding="utf-8")
    print(f"written: {OUT}")
    return int(broken)


if __name__ == "__main__":
    sys.exit(main())
