"""Households in and out of the store."""

from typing import Any, NamedTuple

from sqlalchemy import bindparam, insert, select, update
from sqlalchemy.orm import Session

from app.household.checks import check_has_plan
from app.household.errors import Fault, HouseholdFaults
from app.household.file import household_from
from app.household.names import free_name, same_name, taken_words
from app.household.starting import starting_document
from app.store.clock import now_utc
from app.store.errors import NotThere, Unreadable
from app.store.history import Change, Entry, append, since
from app.store.kept import KEPT
from app.store.keys import is_key, new_key
from app.store.mapping import Piece, piece_of, put_together, row_of, take_apart
from app.store.past import keep_past
from app.store.stored import StoredHousehold, stored_from
from app.store.tables import household, part
from app.store.weather import copy_records

_CLAIM = (
    update(household)
    .where(household.c.key == bindparam("of_household"), household.c.removed_at.is_(None))
    .values(revision=household.c.revision)
    .returning(household.c.change_id)
)
_NEWEST = select(household.c.change_id, household.c.revision).where(
    household.c.key == bindparam("of_household"), household.c.removed_at.is_(None)
)


class HouseholdRow(NamedTuple):
    """A household in a list."""

    key: str
    name: str


def import_household(session: Session, document: dict[str, Any], link_key: str | None) -> str:
    """Store a household file as a new household and return its key; the caller commits.

    document: a household file's JSON value. Where another household has its name, it gets the next free one.
    link_key: the link it is done with; None at the machine itself.
    Raises HouseholdFaults with every fault found; nothing is stored then.
    """
    brought = household_from(document)
    check_has_plan(brought)
    name = free_name(brought.name, [row.name for row in list_households(session)])
    document = document if name == brought.name else document | {"name": name}
    return _store(session, document, {"do": "import_household", "document": document}, link_key)


def create_household(
    session: Session,
    name: str,
    link_key: str | None,
    *,
    date: str,
    timezone: str = "UTC",
    latitude: float = 0,
    longitude: float = 0,
) -> str:
    """Store a new household with a plain supply and one empty plan, and return its key; the caller commits.

    date: of the plan, YYYY-MM-DD. timezone: as Area/City. latitude, longitude: degrees, north and east positive.
    Raises HouseholdFaults when one of these cannot be, or another household has that name.
    """
    refuse_taken_name(session, name)
    document = starting_document(name, date, timezone, latitude, longitude)
    return _store(session, document, {"do": "create_household", "document": document}, link_key)


def duplicate_household(session: Session, household_key: str, name: str, link_key: str | None) -> str:
    """Store a copy of a household as it stands, its records of sun too, under another name; the caller commits.

    Returns its key.

    Raises NotThere for an unknown household, HouseholdFaults for a name that cannot be, or that another one has.
    """
    refuse_taken_name(session, name)
    document = export_document(session, household_key) | {"name": name}
    command = {"do": "duplicate_household", "household": household_key, "document": document}
    key = _store(session, document, command, link_key)
    original = load(session, household_key)
    if original is not None:
        copy_records(session, original, key)
    return key


def _store(session: Session, document: dict[str, Any], command: dict[str, Any], link_key: str | None) -> str:
    household_from(document)
    household_key, revision = new_key(), 1
    entry = Entry(
        household_key=household_key,
        command=command,
        inverse={"do": "remove_household"},
        revision=revision,
        link_key=link_key,
    )
    change_id = append(session, entry)
    session.execute(
        insert(household).values(
            key=household_key,
            name=document["name"],
            created_at=now_utc(),
            revision=revision,
            change_id=change_id,
        )
    )
    pieces = take_apart(document, household_key, revision)
    session.execute(insert(part), [row_of(piece, household_key) for piece in pieces])
    keep_past(session, household_key, pieces, revision)
    return household_key


def refuse_taken_name(session: Session, name: str, own_key: str | None = None) -> None:
    """Refuse a name that another household has; own_key: of the one that is to have it.

    Raises HouseholdFaults.
    """
    taken = [row.name for row in list_households(session) if row.key != own_key]
    if any(same_name(name, other) for other in taken):
        raise HouseholdFaults([Fault("name", taken_words("household", name, taken))])


def list_households(session: Session) -> list[HouseholdRow]:
    """Every household that was not removed, the first stored first."""
    rows = session.execute(
        select(household.c.key, household.c.name)
        .where(household.c.removed_at.is_(None))
        .order_by(household.c.created_at, household.c.key)
    )
    return [HouseholdRow(row.key, row.name) for row in rows]


def load(session: Session, household_key: str) -> StoredHousehold | None:
    """A household, checked, or None if there is none of that key; one query when it is unchanged.

    Raises Unreadable for one that this program does not take as it is stored.
    """
    row = _newest(session, household_key)
    try:
        return None if row is None else _as_left_by(session, household_key, row[0])
    except NotThere:
        return None  # removed between the two questions


def existing(session: Session, household_key: str) -> StoredHousehold:
    """A household, checked.

    Raises NotThere for an unknown or removed one, Unreadable as `load`.
    """
    stored = load(session, household_key)
    if stored is None:
        raise NotThere("there is no such household")
    return stored


def newest(session: Session, household_key: str) -> int | None:
    """A household's revision, or None if there is none of that key; one small query."""
    row = _newest(session, household_key)
    return None if row is None else row[1]


def _newest(session: Session, household_key: str) -> tuple[str, int] | None:
    if not is_key(household_key):
        return None
    row = session.execute(_NEWEST, {"of_household": household_key}).first()
    return None if row is None else (row.change_id, row.revision)


def changes_since(session: Session, household_key: str, scenario_key: str, revision: int) -> list[Change]:
    """What changed on a plan's page after a revision of the household, newest last; the last 20 at most.

    Changes of the plan, of the plans it stands on, and of the household itself; of a plan that is there no more,
    only the household's, among which is what removed it.
    """
    stored = load(session, household_key)
    if stored is None:
        return []
    scenario = stored.scenario(scenario_key)
    line = stored.lineage(scenario) if scenario else ()
    return since(session, household_key, [one.key for one in line], revision)


def export_document(session: Session, household_key: str) -> dict[str, Any]:
    """A household's file, equal to what was imported with every change since.

    Raises NotThere for an unknown household.
    """
    return put_together(read_pieces(session, household_key)[2])


def claim(session: Session, household_key: str) -> StoredHousehold:
    """Wait for one's turn to change a household, and read it then.

    Writing the household's row, even unchanged, locks it until the transaction ends: on PostgreSQL the
    row, on SQLite the file. Two writers can so never both build on the same state.
    Raises NotThere for an unknown household, Unreadable as `load`.
    """
    row = session.execute(_CLAIM, {"of_household": household_key}).first() if is_key(household_key) else None
    if row is None:
        raise NotThere("there is no such household")
    return _as_left_by(session, household_key, row.change_id)


def _as_left_by(session: Session, household_key: str, change_id: str) -> StoredHousehold:
    """A household as its last change left it: kept, or read.

    Raises Unreadable where that is none.
    """
    kept = KEPT.get(change_id)
    if kept is not None:
        return kept
    change_id, revision, pieces = read_pieces(session, household_key)
    try:
        stored = stored_from(household_key, revision, pieces)
    except HouseholdFaults as refused:
        name = str(put_together(pieces)["name"])
        raise Unreadable(household_key, name, revision, tuple(pieces), refused.faults) from refused
    KEPT.put(change_id, stored)
    return stored


def read_pieces(session: Session, household_key: str) -> tuple[str, int, list[Piece]]:
    """The id of a household's last change, its revision, and its parts as that change left them.

    Raises NotThere for an unknown household.
    """
    # One statement, for only one statement sees a single state on both databases.
    rows = session.execute(
        select(part, household.c.change_id, household.c.revision.label("changes"))
        .join(household, household.c.key == part.c.household_key)
        .where(household.c.key == household_key, household.c.removed_at.is_(None))
    ).all()
    if not rows:
        raise NotThere(f"there is no household {household_key}")
    return rows[0].change_id, rows[0].changes, [piece_of(row) for row in rows]
