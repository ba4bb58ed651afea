"""What `make mutants` runs: small changes of the code that some test is to notice (mutmut; see pyproject.toml).

SAMPLE=200 tries so many of each package, drawn by SEED, and PACKAGE=trade those of one; without, all are tried, which
takes hours. What was tried before is not tried again unless it is drawn, as long as the package stays the same. All is
written into mutants/. A mutant is tried with the tests that speak for its package, the quick ones first.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from random import Random
from unittest.mock import patch

from mutmut.__main__ import cli, create_mutants
from mutmut.configuration import config
from mutmut.mutation.diff_apply import get_diff_for_mutant
from mutmut.state import state
from mutmut.stats import status_by_exit_code
from mutmut.utils.file_utils import copy_also_copy_files, copy_src_dir, setup_source_paths
from mutmut.workers.isolation import ForkServerRunner

ROOT = Path(__file__).parent.parent
_TEXT = re.compile(r'"[^"]*"|\bNone\b')
# A mutant that runs without end is noticed, too.
KILLED = ("killed", "timeout", "segfault")

# Which tests speak for a package: together they take a minute or two, since mutmut runs all twice before it begins.
SPEAK = {
    "trade": ("tests/trade", "tests/published"),
    "remedies": (
        "tests/remedies", "tests/candidates/test_explanations.py", "tests/laws/test_torque_remedy.py",
        "tests/laws/test_remedies.py::test_remedies_of_usual_swaps",
        # Not the one that tries every set of parts: it alone takes longer than all the others.
        "tests/laws/test_cheapest.py::test_another_solver_among_all_single_parts_finds_the_same_for_usual_swaps",
    ),
    # The other laws call what is in here so often that what mutmut puts around it makes minutes of their seconds.
    "fit": ("tests/fit", "tests/rules/test_recorded_reads.py"),
}  # fmt: skip
EVERY = 16  # besides, one of so many cases speaks for `fit`, since all of them read a bike through it
# What mutmut takes for the time of a test leaves out its fixtures and what is read first: these take about so long.
OF_FIXTURES_S = 60.0


def speak(package: str) -> list[str]:
    """The tests of a package, as pytest is told them."""
    cases = sorted((ROOT / "tests" / "cases").glob("*/*.yaml"))[::EVERY] if package == "fit" else []
    tests = {True: "test_case_fires", False: "test_case_is_silent"}
    return [
        *SPEAK[package],
        *(
            f"tests/rules/test_cases.py::{tests[case.stem.startswith('fires')]}[{case.parent.name}/{case.stem}]"
            for case in cases
        ),
    ]


def made() -> dict[str, int | None]:
    """Every mutant with the exit code of its tests, None where it was not tried."""
    files = sorted((ROOT / "mutants" / "src").rglob("*.py.meta"))
    found = [json.loads(file.read_text(encoding="utf-8"))["exit_code_by_key"] for file in files]
    return {name: code for codes in found for name, code in codes.items()}


def words_only(name: str) -> bool:
    """Does a mutant change nothing but a text, such as the name of a size in the message of an error?"""
    lines = get_diff_for_mutant(name).splitlines()
    was, now = (
        [_TEXT.sub("''", line[1:]) for line in lines if line.startswith(sign) and not line.startswith(3 * sign)]
        for sign in "-+"
    )
    return was == now


def report(package: str, codes: Mapping[str, int | None]) -> None:
    """The share killed, and which mutants no test noticed."""
    count: Counter[str] = Counter()
    for name, code in sorted(codes.items()):
        status = status_by_exit_code[code]
        if status == "survived" and words_only(name):
            status = "of words only"
        count["killed" if status in KILLED else status] += 1
        if code is not None and status not in ("killed", "of words only"):  # one that ran out of time is worth a look
            print(f"{status}: {name}")
    tried = count.total() - count["not checked"] - count["of words only"]
    share = f"{count['killed'] / tried:.1%}" if tried else "none"
    rest = ", ".join(f"{number} {status}" for status, number in count.items() if status != "killed" and number)
    print(f"{package}: {share} of {tried} tried were killed ({rest or 'none left'})")


def quick_first(runner: ForkServerRunner, mutant_name: str, tests: list[str], limit: int, seconds: float) -> None:
    """Hands a mutant on with its tests sorted, since the first that fails is the last that is run."""
    _submit(runner, mutant_name, sorted(tests, key=lambda test: (state().duration_by_test[test], test)), limit, seconds)


_submit = ForkServerRunner.submit


def of_its_own(package: str) -> None:
    """Empties mutants/ if it holds those of another package, which would be in the way."""
    folder = ROOT / "mutants"
    mark = folder / "package"
    if not (mark.exists() and mark.read_text(encoding="utf-8") == package):
        shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(exist_ok=True)
    mark.write_text(package, encoding="utf-8")


def mutate(package: str, sample: str, seed: str, workers: str) -> int:
    os.chdir(ROOT)
    os.environ["HYPOTHESIS_PROFILE"] = "mutants"  # see tests/conftest.py
    of_its_own(package)
    # Others stay as they are: what is called most would only be slowed down.
    config().only_mutate = [f"src/buildcheck/{package}/*"]
    config().pytest_add_cli_args_test_selection = speak(package)
    config().timeout_constant = OF_FIXTURES_S if package == "fit" else config().timeout_constant
    copy_src_dir()
    copy_also_copy_files()
    setup_source_paths()
    create_mutants(int(workers))
    names = list(made())
    drawn = sorted(Random(int(seed or 1)).sample(names, min(int(sample), len(names)))) if sample else names
    with patch.object(ForkServerRunner, "submit", quick_first):
        done = cli(["run", "--max-children", workers, *(drawn if sample else [])], standalone_mode=False)
    codes = made()
    report(package, {name: codes[name] for name in drawn})
    return int(done or 0)


def main() -> int:
    sample, seed, package = (os.environ.get(name, "") for name in ("SAMPLE", "SEED", "PACKAGE"))
    if package:
        return mutate(package, sample, seed, os.environ.get("WORKERS") or "2")
    # Each by itself, since mutmut keeps what it knows of a run as long as its process lives.
    command = [sys.executable, __file__]
    return max(subprocess.run(command, env={**os.environ, "PACKAGE": name}, check=False).returncode for name in SPEAK)


if __name__ == "__main__":
    sys.exit(main())
