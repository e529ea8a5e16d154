"""A weather file as a form sends it, and a day of a record as it is chosen."""

from dataclasses import dataclass, field
from typing import cast

from fastapi import HTTPException
from starlette.datastructures import UploadFile
from starlette.requests import Request

from app.engine.weather import LARGEST_BYTES, Clock, Stamps
from app.household.errors import Fault, HouseholdFaults
from app.web.guard import LARGEST_BODY

CLOCKS = ("auto", "standard", "wall", "utc")
STAMPS = ("auto", "begin", "end")


@dataclass(frozen=True, slots=True)
class WeatherFile:
    """What came in. sent: the form's other fields. cut_off_bytes: the size of what was too large to be read; else 0."""

    content: bytes
    filename: str
    clock: Clock = "auto"
    stamps: Stamps = "auto"
    sent: dict[str, list[str]] = field(default_factory=dict)
    cut_off_bytes: int = 0

    @property
    def is_too_large(self) -> bool:
        """Whether it is larger than any file that is read."""
        return bool(self.cut_off_bytes) or len(self.content) > LARGEST_BYTES

    def checked(self) -> bytes:
        """Its bytes.

        Raises HouseholdFaults where there are none, or far too many.
        """
        if self.is_too_large:
            size = f"{(self.cut_off_bytes or len(self.content)) / 1e6:.0f} MB"
            most = f"{LARGEST_BYTES / 1e6:.0f} MB"
            why = f"this file has {size}, and at most {most} are taken; a typical year has less than 2 MB"
            raise HouseholdFaults([Fault("file", f"{why}. Of finer steps than five minutes give some months")])
        if not self.filename:
            raise HouseholdFaults([Fault("file", "choose a file first")])
        return self.content


async def weather_file(request: Request) -> WeatherFile:
    """Read the form."""
    try:
        async with request.form(max_files=1, max_fields=12, max_part_size=LARGEST_BODY) as form:
            file = form.get("file")
            is_file = isinstance(file, UploadFile) and bool(file.filename)
            content = await file.read() if isinstance(file, UploadFile) else b""
            name = file.filename or "" if isinstance(file, UploadFile) and is_file else ""
            sent = {what: [value] for what, value in form.multi_items() if isinstance(value, str)}
    except HTTPException as refused:
        if refused.status_code != 413:
            raise
        size = int(refused.detail) if str(refused.detail).isdigit() else LARGEST_BODY
        return WeatherFile(b"", "", cut_off_bytes=size)
    clock, stamps = ((sent.get(what) or ["auto"])[0] for what in ("clock", "stamps"))
    return WeatherFile(
        content,
        name,
        cast(Clock, clock if clock in CLOCKS else "auto"),
        cast(Stamps, stamps if stamps in STAMPS else "auto"),
        sent,
    )
