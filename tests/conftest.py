"""Settings for all tests."""

from __future__ import annotations

from hypothesis import settings

# a shared machine may stall for a second at any place: that is no fault of the code; and a run that fails must fail
# again, so the examples are the same every time
settings.register_profile("bobplan", deadline=None, derandomize=True, print_blob=True)
settings.load_profile("bobplan")
