"""How a household writes temperatures, for who reads and shows them."""

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Warmth:
    """How a household writes temperatures. read: degrees Celsius out of what was typed, None for what is none.

    show: degrees Celsius as it would be typed.
    """

    read: Callable[[str], float | None]
    show: Callable[[float], str]
