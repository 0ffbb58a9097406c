"""Settings for all tests."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

# a shared machine may stall for a second at any place: that is no fault of the code; and a run that fails must fail
# again, so the examples are the same every time
# no test may fail because the computer is busy with something else
settings.register_profile(
    "bobplan",
    deadline=None,
    derandomize=True,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("bobplan")
