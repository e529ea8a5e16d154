"""A change is tried first, and every plan it touches worked out, while others may write; then it is done.

A writer keeps all others waiting, on SQLite those of other households too, and to work out a plan takes fifty times as
long as to write what makes it another.
"""

from collections.abc import Callable
from typing import Any

from app.store.commands import Applied
from app.store.households import claim, load
from app.store.kept import KEPT
from app.store.stored import StoredHousehold
from app.web.planned import take_over, work_out


def try_and_do(session: Any, before: StoredHousehold | None, do: Callable[[Any], Applied]) -> Applied:
    """Carry out a change that every plan can be worked out with; the caller commits at once.

    before: the household as it was; None where it could not be read. do: applies the command in the session; it is
    called twice, and the first time is undone. What others stored in between they have worked out; only a plan that
    both of them make another is worked out while nobody may write.
    Raises as `do`, and HouseholdFaults for a plan that cannot be worked out.
    """
    tried = do(session)
    session.rollback()
    KEPT.drop(tried.change_id)
    work_out(tried.household, before)
    if before is not None:
        load(session, before.key)  # so that it need not be read while others wait
        before = claim(session, before.key)
    applied = do(session)
    take_over(applied.household, tried.household)
    work_out(applied.household, before)
    return applied
