"""Shared settings of the test suite."""

from hypothesis import HealthCheck, settings

# No deadline and no "too slow": both judge the machine's other work, not the code.
_STEADY = {"deadline": None, "suppress_health_check": [HealthCheck.too_slow, HealthCheck.filter_too_much]}
settings.register_profile("quick", max_examples=25, **_STEADY)
settings.register_profile("gate", max_examples=60, derandomize=True, database=None, **_STEADY)
settings.register_profile("nightly", max_examples=2000, **_STEADY)
settings.load_profile("gate")
