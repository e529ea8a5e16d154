"""A household file for a household that is there: on its way to the preview, and again from there."""

from dataclasses import dataclass
from typing import Any

from fastapi import HTTPException
from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request

from app.household.errors import Fault, HouseholdFaults
from app.household.file import LARGEST_BYTES
from app.web.forms.household import Incoming
from app.web.guard import LARGEST_BODY

LONGEST_TAB = 64


@dataclass(frozen=True, slots=True)
class Replacing(Incoming):
    """What came in.

    revision: of the household, as the preview was made on it; 0 on the way there. tab: the preview's name for itself.
    cut_off_bytes: the size of what was too large to be read at all; else 0.
    """

    revision: int = 0
    tab: str = ""
    cut_off_bytes: int = 0

    @property
    def is_too_large(self) -> bool:
        """Whether no household file is that large."""
        return bool(self.cut_off_bytes) or len(self.content) > LARGEST_BYTES

    def document(self) -> dict[str, Any]:
        """The JSON object in it.

        Raises HouseholdFaults for what is none.
        """
        if self.cut_off_bytes:
            size = f"{self.cut_off_bytes / 1e6:.0f} MB"
            raise HouseholdFaults([Fault("", f"this file has {size}; a household file has at most 5 MB")])
        return Incoming.document(self)


async def replacing(request: Request) -> Replacing:
    """Read the form. A file wins over text."""
    try:
        async with request.form(max_files=1, max_fields=6, max_part_size=LARGEST_BODY) as form:
            return Replacing(await _content(form), _number(form, "revision"), _text(form, "tab")[:LONGEST_TAB])
    except HTTPException as refused:
        if refused.status_code != 413:
            raise
        return Replacing(b"", cut_off_bytes=int(refused.detail) if str(refused.detail).isdigit() else LARGEST_BODY)


async def _content(form: FormData) -> bytes:
    file = form.get("file")
    if isinstance(file, UploadFile) and file.filename:
        return await file.read()
    return _text(form, "text").encode("utf-8", "replace")


def _text(form: FormData, name: str) -> str:
    value = form.get(name)
    return value if isinstance(value, str) else ""


def _number(form: FormData, name: str) -> int:
    """A whole number the page itself wrote into a hidden field."""
    text = _text(form, name)
    return int(text) if text.isdecimal() and len(text) < 16 else 0
