"""Links that let people in: owner, helper (may edit), reader. Only a token's hash is ever stored."""

import datetime
import hashlib
import hmac
from dataclasses import dataclass
from typing import Literal

from sqlalchemy import ColumnElement, Row, bindparam, exists, insert, select, update
from sqlalchemy.orm import Session

from app.household.errors import Fault, HouseholdFaults
from app.household.names import LONGEST_NAME, same_name, taken_words
from app.store.clock import now_utc
from app.store.errors import NotThere
from app.store.history import Entry, append
from app.store.keys import is_key, new_key
from app.store.tables import link

Scope = Literal["owner", "helper", "reader"]
Ended = Literal["revoked", "expired"]

# Of one household at the same time; whoever has more has lost sight of them.
LINKS_AT_MOST = 200
# A use is noted once in this time: a page that stays open asks all day long.
NOTED_AGAIN = datetime.timedelta(minutes=5)

# Put together once: every request asks the first.
_OF_TOKEN = select(link).where(link.c.token_sha256 == bindparam("sha256"))
_USED = update(link).where(link.c.key == bindparam("of_link")).values(last_used_at=bindparam("used_at"))


@dataclass(frozen=True, slots=True)
class Link:
    """A link that was found by its token.

    household_key: the only household it opens; None opens them all. scenario_key: the only plan it shows; None for
    all of them. expires_at: when it ends; None for never. last_used_at: as it is noted, None before the first time.
    """

    key: str
    name: str
    scope: Scope
    household_key: str | None
    scenario_key: str | None = None
    expires_at: datetime.datetime | None = None
    last_used_at: datetime.datetime | None = None


@dataclass(frozen=True, slots=True)
class LinkRow:
    """A link in a list. ended: why it opens nothing any more; None while it does. ended_at: since when."""

    link: Link
    created_at: datetime.datetime
    ended: Ended | None
    ended_at: datetime.datetime | None


def make_link(
    session: Session,
    name: str,
    scope: Scope,
    household_key: str | None = None,
    scenario_key: str | None = None,
    *,
    key: str | None = None,
    expires_at: datetime.datetime | None = None,
    by: str | None = None,
) -> str:
    """Make a link and return its token of 128 random bits, which cannot be read again; the caller commits.

    scenario_key: of the only plan a reader is to see. key: its own, chosen beforehand, so that a form that is sent
    twice makes one link. by: the link it is made with.
    """
    key, token = key or new_key(), new_key()
    made = {"name": name, "scope": scope, "household_key": household_key, "scenario_key": scenario_key}
    session.execute(
        insert(link).values(key=key, token_sha256=_sha256(token), created_at=now_utc(), expires_at=expires_at, **made)
    )
    said = {"do": "make_link", "link": key, "name": name, "scope": scope, "household": household_key}
    _log(session, said, {"do": "revoke_link", "link": key}, by)
    return token


def refuse_link(session: Session, household_key: str, name: str, at_utc: datetime.datetime) -> None:
    """Refuse a link that would have no name, the name of another one that opens this household, or be one too many.

    Raises HouseholdFaults.
    """
    if not name:
        raise HouseholdFaults([Fault("name", "give it a name by which you will know it, such as Kitchen tablet")])
    if len(name) > LONGEST_NAME:
        raise HouseholdFaults([Fault("name", f"a name has at most {LONGEST_NAME} characters")])
    own = [row.link.name for row in links_of(session, household_key, at_utc) if row.ended is None]
    if any(same_name(name, other) for other in own):
        raise HouseholdFaults([Fault("name", taken_words("link", name, own))])
    if len(own) >= LINKS_AT_MOST:
        raise HouseholdFaults([Fault("name", f"there are {LINKS_AT_MOST} links already; revoke one of them first")])


def link_made(session: Session, key: str) -> Link | None:
    """The link of a key, whatever has become of it; None if there is none."""
    row = session.execute(select(link).where(link.c.key == key)).first() if is_key(key) else None
    return None if row is None else _link(row)


def find_link(session: Session, token: str, at_utc: datetime.datetime | None = None) -> Link | None:
    """The link of a token, if it opens something at that moment, else now; None if there is none, or it has ended."""
    found = look_up(session, token, at_utc)
    return found if isinstance(found, Link) else None


def look_up(session: Session, token: str, at_utc: datetime.datetime | None = None) -> Link | Ended | None:
    """As `find_link`, but of a link that has ended it says how."""
    wanted = _sha256(token)
    row = session.execute(_OF_TOKEN, {"sha256": wanted}).first()
    # The index finds by hash, which tells nothing about the token; the last word takes constant time.
    if row is None or not hmac.compare_digest(row.token_sha256, wanted):
        return None
    return _ended(row, at_utc or now_utc()) or _link(row)


def links_of(session: Session, household_key: str, at_utc: datetime.datetime) -> list[LinkRow]:
    """Every link that was made for this household, and those for all; the last made first.

    at_utc: at which it is said whether each has ended.
    """
    about = link.c.household_key.is_(None) | (link.c.household_key == household_key)
    rows = session.execute(select(link).where(about).order_by(link.c.created_at.desc(), link.c.key))
    return [_row(row, at_utc) for row in rows]


def link_names(session: Session) -> dict[str, str]:
    """What every link is called, by its key, those that have ended too."""
    return {row.key: row.name for row in session.execute(select(link.c.key, link.c.name))}


def has_link(session: Session, scope: Scope) -> bool:
    """Whether there is a link of that scope for every household that has not ended."""
    return bool(session.scalar(select(exists().where(*_for_all(scope)))))


def is_to_be_noted(used: Link, at_utc: datetime.datetime) -> bool:
    """Whether a use at that moment is not noted yet by one just before."""
    return used.last_used_at is None or at_utc - used.last_used_at >= NOTED_AGAIN


def note_use(session: Session, used: Link, at_utc: datetime.datetime | None = None) -> bool:
    """Note that a link was used, unless that was noted just before, and say whether; the caller commits."""
    at_utc = at_utc or now_utc()
    if not is_to_be_noted(used, at_utc):
        return False
    session.execute(_USED, {"of_link": used.key, "used_at": at_utc})
    return True


def revoke_link(session: Session, link_key: str, by: str | None = None) -> None:
    """Let a link open nothing any more; the caller commits. by: the link it is done with.

    Raises NotThere for one that is unknown or was revoked already.
    """
    # Of two that revoke the last two owners' links at once, the second waits here and then counts what is left.
    session.execute(select(link.c.key).where(*_for_all("owner")).order_by(link.c.key).with_for_update())
    still = (link.c.key == link_key, link.c.revoked_at.is_(None))
    changed = update(link).where(*still).values(revoked_at=now_utc()).returning(link.c.key)
    if not is_key(link_key) or session.execute(changed).first() is None:
        raise NotThere("there is no such link")
    _log(session, {"do": "revoke_link", "link": link_key}, {"do": "restore_link", "link": link_key}, by)


def refuse_last_owner(session: Session) -> None:
    """Refuse what has left no link that owns everything, for then nobody could make another; the caller rolls back.

    Raises HouseholdFaults.
    """
    if not has_link(session, "owner"):
        why = (
            "this is the last link that owns everything here; start Loadstead once with --new-link, open the link it"
            " prints, and revoke this one then"
        )
        raise HouseholdFaults([Fault("", why)])


def _for_all(scope: Scope) -> tuple[ColumnElement[bool], ...]:
    lasts = link.c.expires_at.is_(None) | (link.c.expires_at > now_utc())
    return (link.c.scope == scope, link.c.household_key.is_(None), link.c.revoked_at.is_(None), lasts)


def _ended(row: Row[tuple[object, ...]], at_utc: datetime.datetime) -> Ended | None:
    if row.revoked_at is not None:
        return "revoked"
    return "expired" if row.expires_at is not None and row.expires_at <= at_utc else None


def _link(row: Row[tuple[object, ...]]) -> Link:
    return Link(**{name: getattr(row, name) for name in Link.__dataclass_fields__})


def _row(row: Row[tuple[object, ...]], at_utc: datetime.datetime) -> LinkRow:
    ended = _ended(row, at_utc)
    ended_at = {"revoked": row.revoked_at, "expired": row.expires_at}[ended] if ended else None
    return LinkRow(_link(row), row.created_at, ended, ended_at)


def _log(session: Session, command: dict[str, str | None], inverse: dict[str, str | None], by: str | None) -> None:
    append(session, Entry(household_key=None, command=command, inverse=inverse, revision=0, link_key=by))


def _sha256(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "replace")).hexdigest()
