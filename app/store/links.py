"""Links that let people in: owner, helper (may edit), reader. Only a token's hash is ever stored."""

import hashlib
import hmac
from dataclasses import dataclass
from typing import Literal

from sqlalchemy import exists, insert, select, update
from sqlalchemy.orm import Session

from app.store.clock import now_utc
from app.store.history import Entry, append
from app.store.keys import new_key
from app.store.tables import link

Scope = Literal["owner", "helper", "reader"]


@dataclass(frozen=True, slots=True)
class Link:
    """A link that was found by its token.

    household_key: the only household it opens; None opens them all.
    """

    key: str
    name: str
    scope: Scope
    household_key: str | None


def make_link(session: Session, name: str, scope: Scope, household_key: str | None = None) -> str:
    """Make a link and return its token of 128 random bits, which cannot be read again; the caller commits."""
    key, token = new_key(), new_key()
    session.execute(
        insert(link).values(
            key=key,
            token_sha256=_sha256(token),
            name=name,
            scope=scope,
            household_key=household_key,
            created_at=now_utc(),
        )
    )
    made = {"do": "make_link", "link": key, "name": name, "scope": scope, "household": household_key}
    _log(session, made, {"do": "revoke_link", "link": key})
    return token


def find_link(session: Session, token: str) -> Link | None:
    """The link of a token, if there is one and it was not revoked."""
    wanted = _sha256(token)
    row = session.execute(select(link).where(link.c.token_sha256 == wanted, link.c.revoked_at.is_(None))).first()
    # The index finds by hash, which tells nothing about the token; the last word takes constant time.
    if row is None or not hmac.compare_digest(row.token_sha256, wanted):
        return None
    return Link(row.key, row.name, row.scope, row.household_key)


def has_link(session: Session, scope: Scope) -> bool:
    """Whether there is a link of that scope that was not revoked."""
    found = select(exists().where(link.c.scope == scope, link.c.revoked_at.is_(None)))
    return bool(session.scalar(found))


def note_use(session: Session, link_key: str) -> None:
    """Note that a link was opened just now; the caller commits."""
    session.execute(update(link).where(link.c.key == link_key).values(last_used_at=now_utc()))


def revoke_link(session: Session, link_key: str) -> None:
    """Let a link open nothing any more; the caller commits."""
    session.execute(update(link).where(link.c.key == link_key).values(revoked_at=now_utc()))
    _log(session, {"do": "revoke_link", "link": link_key}, {"do": "restore_link", "link": link_key})


def _log(session: Session, command: dict[str, str | None], inverse: dict[str, str | None]) -> None:
    append(session, Entry(household_key=None, command=command, inverse=inverse, revision=0, link_key=None))


def _sha256(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "replace")).hexdigest()
