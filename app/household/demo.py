"""The household that comes along: Saltmarsh Ferry House, an invented one."""

from importlib.resources import files


def demo_text() -> str:
    """The household file of Saltmarsh Ferry House, with its three plans."""
    return files("app.household").joinpath("demo.json").read_text(encoding="utf-8")
