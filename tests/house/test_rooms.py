"""The rooms only look down the stairs."""

from pathlib import Path

from importlinter import cli

ROOT = Path(__file__).parents[2]


def test_every_contract_of_the_fence_is_kept() -> None:
    """The contracts in pyproject.toml hold for the code as it is."""
    status = cli.lint_imports(config_filename=str(ROOT / "pyproject.toml"), no_cache=True)

    assert status == cli.EXIT_STATUS_SUCCESS
