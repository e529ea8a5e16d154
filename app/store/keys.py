"""Keys of 128 bits that stand in addresses: nobody guesses one, and none counts anything."""

import hashlib
import re
import secrets
from functools import lru_cache

KEY_LENGTH = 32
_KEY = re.compile(r"[0-9a-f]{32}")


def new_key() -> str:
    """A fresh random key: 32 hexadecimal digits, so that it needs no quoting anywhere."""
    return secrets.token_hex(KEY_LENGTH // 2)


@lru_cache(maxsize=4096)
def run_key(scenario_key: str, run_id: str) -> str:
    """The key of a run in one plan, the same before and after the plan first says something about it.

    A plan inherits runs from its parent and has nothing stored about them until one is changed; yet the
    page needs an address for them. As hard to guess as the plan's own key.
    """
    return hashlib.sha256(f"{scenario_key} {run_id}".encode("utf-8", "replace")).hexdigest()[:KEY_LENGTH]


def is_key(text: str) -> bool:
    """Whether a text out of an address can be a key at all; anything else never reaches the database."""
    return _KEY.fullmatch(text) is not None
