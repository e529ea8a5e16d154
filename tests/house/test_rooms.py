"""The rooms only look down the stairs."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
# In a process of its own: the checker sets up logging for itself, and silences what the tests after it listen to.
CHECK = "import sys; from importlinter import cli; sys.exit(cli.lint_imports(no_cache=True))"


def test_every_contract_of_the_fence_is_kept() -> None:
    """The contracts in pyproject.toml hold for the code as it is."""
    checked = subprocess.run([sys.executable, "-c", CHECK], cwd=ROOT, capture_output=True, text=True, check=False)

    assert checked.returncode == 0, checked.stdout
    assert " 0 broken" in checked.stdout
