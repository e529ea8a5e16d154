"""A household file that comes in by a form: typed, pasted or as a file."""

from dataclasses import dataclass
from typing import Any

from starlette.datastructures import UploadFile
from starlette.requests import Request

from app.household.errors import Fault, HouseholdFaults
from app.household.file import LARGEST_BYTES, read_document
from app.web.guard import LARGEST_BODY


@dataclass(frozen=True, slots=True)
class Incoming:
    """What came in. content: the file's bytes, or else the text that was typed."""

    content: bytes

    @property
    def text(self) -> str:
        """It as text, to be shown again."""
        return self.content.decode("utf-8", "replace")

    @property
    def is_too_large(self) -> bool:
        """Whether no household file is that large."""
        return len(self.content) > LARGEST_BYTES

    def document(self) -> dict[str, Any]:
        """The JSON object in it.

        Raises HouseholdFaults for what is none.
        """
        if not self.is_too_large and not self.content.strip():
            raise HouseholdFaults([Fault("", "choose a household file, or paste its text here")])
        document = read_document(self.content)
        if not isinstance(document, dict):
            raise HouseholdFaults([Fault("", "a household file is one object with named fields, in braces")])
        return document


async def incoming(request: Request) -> Incoming:
    """Read the form. A file wins over text.

    The form is read here rather than by the framework, whose own limit for typed text is lower than ours.
    """
    async with request.form(max_files=1, max_fields=4, max_part_size=LARGEST_BODY) as form:
        file, text = form.get("file"), form.get("text")
        if isinstance(file, UploadFile) and file.filename:
            return Incoming(await file.read())
        return Incoming(text.encode("utf-8", "replace") if isinstance(text, str) else b"")
