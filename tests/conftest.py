"""Hypothesis profiles: a small, repeatable one for every run, a long one to prove laws (HYPOTHESIS_PROFILE=prove).

That of `make mutants` does not look for the smallest example, since it only asks whether there is one.

Fixtures: no test reads or writes the user's own cache, and the bundled catalogue is read once.
"""

import gc
import os
from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, Phase, settings

from buildcheck.library.catalogue import Catalogue, load

_SLOW = [HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large]
settings.register_profile("ci", max_examples=20, deadline=None, derandomize=True, suppress_health_check=_SLOW)
settings.register_profile("prove", max_examples=1500, deadline=None, suppress_health_check=_SLOW)
settings.register_profile("mutants", settings.get_profile("ci"), phases=(Phase.explicit, Phase.generate))
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci"))

# As in `buildcheck.__main__`: to look again and again through all that the tests keep takes a fourth of their time.
gc.set_threshold(200_000, 20, 20)


def pytest_collection_finish() -> None:
    """What was imported and collected stays to the end: it is not looked through any more."""
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="session", autouse=True)
def _cache_of_the_tests(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        for name in ("BUILDCHECK_CATALOG", "NO_COLOR"):
            patch.delenv(name, raising=False)
        yield


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    """The bundled catalogue."""
    return load()
