"""Hypothesis profiles: a small, repeatable one for every run, a long one to prove laws (HYPOTHESIS_PROFILE=prove)."""

import os

from hypothesis import HealthCheck, settings

_SLOW = [HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large]
settings.register_profile("ci", max_examples=20, deadline=None, derandomize=True, suppress_health_check=_SLOW)
settings.register_profile("prove", max_examples=1500, deadline=None, suppress_health_check=_SLOW)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci"))
