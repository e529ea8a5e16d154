"""The household an address names."""

from fastapi import HTTPException
from starlette.requests import Request

from app.store.errors import NotThere
from app.store.households import existing
from app.store.stored import StoredHousehold


def asked_household(request: Request, household_key: str) -> StoredHousehold:
    """The household of a key.

    Raises HTTPException 404 for one that is not there, or no longer.
    """
    with request.app.state.database.session() as session:
        try:
            return existing(session, household_key)
        except NotThere as nothing:
            raise HTTPException(404) from nothing
