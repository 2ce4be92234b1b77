"""How long the property tests look, and the woods, airs and timbers they draw from.

``HYPOTHESIS_PROFILE=long`` draws at random and many times as many; the usual profile draws the same
examples every time, so that a green run stays green.
"""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

COMMON = {"deadline": None, "database": None, "suppress_health_check": [HealthCheck.too_slow]}
settings.register_profile("repeatable", max_examples=100, derandomize=True, **COMMON)
settings.register_profile("long", max_examples=3000, print_blob=True, **COMMON)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "repeatable"))
