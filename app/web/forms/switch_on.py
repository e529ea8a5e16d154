"""A tap, as its form sends it."""

from typing import Annotated, Literal

from pydantic import BaseModel, Field


class TapForm(BaseModel):
    """Somebody says that an appliance is on, or off, or that it is as planned; with no appliance, that all are.

    tab, sequence: the page it comes from, and how manieth it is there.
    """

    appliance: Annotated[str, Field(max_length=100)] = ""
    to: Literal["on", "off", "plan"]
    tab: Annotated[str, Field(min_length=1, max_length=64)]
    sequence: Annotated[int, Field(ge=1, le=2**53)]
