"""How many households hypothesis tries.

300 in every run (a failure is shown as it was drawn, in seconds). With LOADSTEAD_HYPOTHESIS=long 5,000, another
5,000 each time, and a failure is worked down to the smallest household that shows it.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import Any

from hypothesis import HealthCheck, Phase, seed, settings

LONG = os.environ.get("LOADSTEAD_HYPOTHESIS") == "long"


def examples(usual: int) -> settings:
    """Settings for a test of `usual` households, many more in the long profile."""
    return settings(
        max_examples=usual * 50 // 3 if LONG else usual,
        phases=[Phase.generate, Phase.shrink] if LONG else [Phase.generate],
        derandomize=not LONG,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
    )


def seeded(part: int) -> Callable[[Any], Any]:
    """For a test in several parts: every part draws households of its own, the same in every usual run."""
    return (lambda test: test) if LONG else seed(part)
