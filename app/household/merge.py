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


def merge_diff(before: Any, after: Any) -> Any:
    """The smallest merge patch that makes one JSON value of another: `merge_patch(before, it) == after`.

    A list is one value, as it is for merge patches. after: holds no null, for a patch cannot say one.

    >>> merge_diff({"a": 1, "b": {"c": 2, "d": 3}}, {"b": {"c": 2, "d": 4}})
    {'a': None, 'b': {'d': 4}}
    """
    if not isinstance(before, dict) or not isinstance(after, dict):
        return after
    patch: dict[str, Any] = {name: None for name in before if name not in after}
    for name, value in after.items():
        if name not in before:
            patch[name] = value
        elif before[name] != value:
            patch[name] = merge_diff(before[name], value)
    return patch


def merge_kept(patch: Any, after: Any) -> Any:
    """What of a merge patch a value still shows: each figure the patch gives that stands there as given.

    >>> merge_kept({"a": 1, "b": None, "c": {"d": 2, "e": 3}}, {"a": 1, "c": {"d": 5, "e": 3}})
    {'a': 1, 'b': None, 'c': {'e': 3}}
    """
    kept: dict[str, Any] = {}
    for name, value in patch.items():
        there = after.get(name) if isinstance(after, dict) else None
        if isinstance(value, dict) and isinstance(there, dict):
            if inside := merge_kept(value, there):
                kept[name] = inside
        elif value == there:
            kept[name] = value
    return kept


def merged_patches(first: dict[str, Any], second: dict[str, Any]) -> dict[str, Any]:
    """Two patches that lead to one value as one patch; where both say something, the second does."""
    merged = dict(first)
    for name, value in second.items():
        mine = merged.get(name)
        merged[name] = merged_patches(mine, value) if isinstance(mine, dict) and isinstance(value, dict) else value
    return merged


def merge_three(before: Any, after: Any, own: Any) -> Any:
    """A JSON value that was changed from `before` to `after` in one place and to `own` in another, with both changes;
    where both changed the same, it is `own`.

    Objects are merged field by field, lists of as many objects place by place; any other list is one value.

    >>> merge_three({"w": 190, "va": 1100}, {"w": 190, "va": 1300}, {"w": 210, "va": 1100})
    {'w': 210, 'va': 1300}
    """
    if own == before or after == own:
        return after
    if after == before:
        return own
    three = (before, after, own)
    if all(isinstance(one, dict) for one in three):
        nothing = object()
        merged = {
            name: merge_three(before.get(name, nothing), after.get(name, nothing), own.get(name, nothing))
            for name in {**own, **after}
        }
        return {name: value for name, value in merged.items() if value is not nothing}
    if all(isinstance(one, list) and len(one) == len(own) for one in three) and all(
        isinstance(piece, dict) for one in three for piece in one
    ):
        return [merge_three(*pieces) for pieces in zip(before, after, own, strict=True)]
    return own
