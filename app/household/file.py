"""The household file: text in, a checked household out, and back again unchanged."""

import json
from typing import Any

from pydantic import ValidationError

from app.household.checks import check_household
from app.household.errors import Fault, HouseholdFaults
from app.household.household import Household
from app.household.words import MISSING, faults_of, path_of

LARGEST_BYTES = 5_000_000
DEEPEST = 40


def read_household(text: str | bytes) -> Household:
    """Read a household file.

    text: JSON, UTF-8, at most 5 MB.
    Raises HouseholdFaults with every fault found, each naming its field and what would be right.
    """
    return household_from(read_document(text))


def read_document(text: str | bytes) -> Any:
    """The JSON value of a household file's text, before anything in it is looked at.

    Raises HouseholdFaults for what is no JSON, is too large or too deep, or names a field twice.
    """
    size = len(text.encode("utf-8", "surrogatepass")) if isinstance(text, str) else len(text)
    if size > LARGEST_BYTES:
        raise _whole(f"this file has {size / 1e6:.1f} MB; a household file has at most 5 MB")
    try:
        if isinstance(text, bytes):
            text = text.decode("utf-8-sig")
        document = json.loads(text, object_pairs_hook=_no_field_twice, parse_constant=_no_such_number)
    except UnicodeDecodeError as error:
        raise _whole(f"byte {error.start} is not UTF-8; save the file as UTF-8 text") from error
    except json.JSONDecodeError as error:
        why = f"not JSON: line {error.lineno}, column {error.colno}: {error.msg.lower()}"
        raise _whole(why) from error
    except RecursionError as error:
        raise _whole("nested too deeply to be a household file") from error
    except ValueError as error:
        if isinstance(error, HouseholdFaults):
            raise
        raise _whole("it holds a number with more digits than a household file can mean") from error
    if _depth(document) > DEEPEST:
        raise _whole("nested too deeply to be a household file")
    return document


def household_from(document: Any) -> Household:
    """A checked household from a household file's JSON value.

    Raises HouseholdFaults with every fault found.
    """
    if not isinstance(document, dict):
        raise _whole("a household file is one object with named fields, in braces")
    for field in ("format", "version"):
        # Another format or version is one fault, not the hundred that would follow from it.
        if field not in document or document[field] is None:
            raise HouseholdFaults([Fault(field, MISSING)])
    try:
        household = Household.model_validate(document)
    except ValidationError as error:
        faults = faults_of(error)
        decisive = [fault for fault in faults if fault.path in ("format", "version")]
        raise HouseholdFaults(decisive or faults) from error
    check_household(household)
    return household


def document_of(household: Household) -> dict[str, Any]:
    """The household file's JSON value: what was given, nothing that was left out."""
    return household.document()


def text_of(document: dict[str, Any]) -> str:
    """A household file's text."""
    return json.dumps(document, ensure_ascii=False, indent=2) + "\n"


def _whole(why: str) -> HouseholdFaults:
    return HouseholdFaults([Fault("", why)])


def _no_field_twice(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    fields = dict(pairs)
    if len(fields) < len(pairs):
        names = [name for name, _ in pairs]
        twice = sorted({name for name in names if names.count(name) > 1})
        raise HouseholdFaults([Fault(path_of([name]), "is given twice in one object; give it once") for name in twice])
    return fields


def _no_such_number(text: str) -> float:
    raise _whole(f"{text} is not a number; give an ordinary number")


def _depth(value: Any) -> int:
    deepest, level = 0, [value]
    while level:
        deepest += 1
        level = [
            inner
            for outer in level
            if isinstance(outer, dict | list)
            for inner in (outer.values() if isinstance(outer, dict) else outer)
        ]
    return deepest
