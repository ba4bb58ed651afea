"""Hypothesis profiles: a small, repeatable one for every run, a long one to prove laws (HYPOTHESIS_PROFILE=prove).

That of `make mutants` does not look for the smallest example, since it only asks whether there is one.

No test reads or writes the user's own cache: all workers, and the processes that tests start, share one of the run.
"""

import gc
import os
import shutil
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, settings

from buildcheck.library.catalogue import Catalogue, load

_SLOW = [HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large]
settings.register_profile("ci", max_examples=10, deadline=None, derandomize=True, suppress_health_check=_SLOW)
settings.register_profile("prove", max_examples=1500, deadline=None, suppress_health_check=_SLOW)
settings.register_profile("mutants", settings.get_profile("ci"), phases=(Phase.explicit, Phase.generate))
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci"))

# As in `buildcheck.__main__`: to look again and again through all that the tests keep takes a fourth of their time.
gc.set_threshold(200_000, 20, 20)

_LONG = {
    "test_cheapest", "test_job_page_in_chromium", "test_one_fact_unknown", "test_report", "test_small_cases",
    "test_terms", "test_walkthroughs", "test_wheel",
}  # fmt: skip
# They run the same lines thousands of times, all of which other tests run too: to count them takes as long again.
_NOT_COUNTED = {"test_cheapest", "test_explaining", "test_generated", "test_small_cases"}
_FOLDER = pytest.StashKey[Path]()


def pytest_configure(config: pytest.Config) -> None:
    """Set up the surroundings before any module of tests is imported, since some ask for the catalogue at once."""
    config.addinivalue_line("markers", "no_cover: pytest-cov, where it is there, counts no lines for this test")
    for name in ("BUILDCHECK_CATALOG", "NO_COLOR"):
        os.environ.pop(name, None)
    if not hasattr(config, "workerinput"):  # a worker has the environment of the process that started it
        folder = config.stash[_FOLDER] = Path(tempfile.mkdtemp(prefix="buildcheck-tests-"))
        os.environ["XDG_CACHE_HOME"] = str(folder)
        load()


def pytest_unconfigure(config: pytest.Config) -> None:
    """Clear away the cache of this run."""
    if _FOLDER in config.stash:
        shutil.rmtree(config.stash[_FOLDER], ignore_errors=True)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The tests that take longest come first, so that no worker waits for another at the end."""
    items.sort(key=lambda item: item.path.stem not in _LONG)
    for item in items:
        if item.path.parent.name == "laws" or item.path.stem in _NOT_COUNTED:
            item.add_marker("no_cover")


def pytest_collection_finish() -> None:
    """What was imported and collected stays to the end: it is not looked through any more."""
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    """The bundled catalogue."""
    return load()
