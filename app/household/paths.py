"""Places in documents, as changes name them: fields by name, entries of lists by number."""

from typing import Any

Path = list[str | int]


def value_at(document: Any, path: Path) -> Any:
    """What stands at a path; None where nothing does."""
    for step in path:
        if isinstance(document, dict):
            document = document.get(step)
        elif isinstance(document, list) and isinstance(step, int) and 0 <= step < len(document):
            document = document[step]
        else:
            return None
    return document
