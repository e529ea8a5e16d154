"""One small question that tells whether anything has happened to any household: for open pages that wait for news."""

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.store.tables import household, link, tap

_HOUSEHOLDS = select(household.c.key, household.c.revision, household.c.removed_at.is_(None))
# A tap is no change of the plan; those of a household are few, for each day's go with the next day's first.
_TAPS = select(tap.c.household_key, func.count(), func.max(tap.c.at_utc)).group_by(tap.c.household_key)
_LINKS = select(func.count(), func.max(link.c.revoked_at)).where(link.c.revoked_at.is_not(None))


def pulses(session: Session) -> dict[str, str]:
    """A word for the state of each household, by its key: another one after any change, tap or revoked link."""
    taps = {key: f"{count}.{_at(last)}" for key, count, last in session.execute(_TAPS)}
    count, last = session.execute(_LINKS).one()
    links = f"{count}.{_at(last)}"
    return {
        key: f"{revision}-{int(is_there)}-{taps.get(key, '0')}-{links}"
        for key, revision, is_there in session.execute(_HOUSEHOLDS)
    }


def _at(moment: object) -> str:
    return str(moment).replace(" ", "T") if moment else ""
