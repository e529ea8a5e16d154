"""How many households hypothesis tries: 300 in every run, 5,000 with LOADSTEAD_HYPOTHESIS=long."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

LONG = os.environ.get("LOADSTEAD_HYPOTHESIS") == "long"
CALM = {
    "deadline": None,
    "derandomize": not LONG,
    "suppress_health_check": list(HealthCheck),
    "print_blob": False,
}


def examples(usual: int) -> settings:
    """Settings for a test of `usual` households, more in the long profile."""
    return settings(max_examples=usual * 50 // 3 if LONG else usual, database=None, **CALM)
