"""Programs that tests need and a machine may lack: left out with the reason, or a failure where required.

`LOADSTEAD_REQUIRE=chromium,postgresql` names what must be there.
"""

import os

import pytest


def require(program: str, found: bool) -> None:
    """Leave the asking test out when a program was not found; fail it when that program is required."""
    if found:
        return
    required = [name.strip() for name in os.environ.get("LOADSTEAD_REQUIRE", "").split(",")]
    if program in required:
        pytest.fail(f"{program} is required here (LOADSTEAD_REQUIRE) and was not found", pytrace=False)
    raise pytest.skip.Exception(f"{program} was not found on this machine")
