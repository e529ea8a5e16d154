"""JSON merge patches."""

from typing import Any


def merge_patch(target: Any, patch: Any) -> Any:
    """Apply a merge patch to a JSON value and return the result; neither is changed.

    Source: RFC 7396, section 2.

    >>> merge_patch({"a": 1, "b": {"c": 2}}, {"a": None, "b": {"d": 3}})
    {'b': {'c': 2, 'd': 3}}
    """
    if not isinstance(patch, dict):
        return patch
    merged = dict(target) if isinstance(target, dict) else {}
    for name, value in patch.items():
        if value is None:
            merged.pop(name, None)
        else:
            merged[name] = merge_patch(merged.get(name), value)
    return merged
