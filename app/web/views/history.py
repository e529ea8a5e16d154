"""What became of a household, line by line; and a plan as it was at some time, to be gone back to."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from app.engine.results import Verdict
from app.household.resolve import resolve
from app.store.history import Change, LogLine
from app.store.stored import StoredHousehold, StoredScenario
from app.web import words
from app.web.views.transfer import ChangedGroup, readable
from app.web.words import history as said


@dataclass(frozen=True, slots=True)
class HistoryRow:
    """One change."""

    id: str  # for the page: its count
    at: str  # the time of day
    says: str  # what was done
    who: str  # by which link
    plan: str  # in which plan, where that is another than the one looked at; may be empty
    taken_back: bool  # it was undone since
    then_href: str  # the plan as it left it; empty where it left the plan as it was


@dataclass(frozen=True, slots=True)
class HistoryDay:
    """The changes of one day, the last one first."""

    day: str  # where the household is
    rows: tuple[HistoryRow, ...]  # its changes


@dataclass(frozen=True, slots=True)
class Way:
    """One choice of what is listed."""

    name: str  # what
    href: str  # where
    current: bool  # it is listed


@dataclass(frozen=True, slots=True)
class HistoryView:
    """history/page.html."""

    household: str  # the household's name
    plan: str  # the plan's name
    plan_href: str  # its page
    ways: tuple[Way, ...]  # what may be listed
    days: tuple[HistoryDay, ...]  # the changes
    older: str  # where what came before these is; empty if there is nothing
    newer: str  # back to the newest; empty where these are
    revision: int  # the household's count of changes


@dataclass(frozen=True, slots=True)
class HistoryAround:
    """What the page is told of its surroundings. Fields as in `HistoryView`.

    names: of links, by their keys. then: where the plan is shown as it was, by the count of the change.
    """

    plan_href: str
    ways: tuple[Way, ...]
    older: str
    newer: str
    names: Mapping[str, str]
    then: Mapping[int, str]


def history_view(
    stored: StoredHousehold, scenario: StoredScenario, lines: Iterable[LogLine], about: HistoryAround
) -> HistoryView:
    """Lay out the page. scenario: the plan that is looked at. lines: the newest first."""
    zone = ZoneInfo(stored.household.site.timezone)
    days: dict[str, list[HistoryRow]] = {}
    for line in lines:
        local = line.change.at_utc.astimezone(zone)
        row = HistoryRow(
            id=f"change-{line.change.revision}",
            at=f"{local:%H:%M}",
            says=told(stored, line.change),
            who=_who(line.change, about.names),
            plan=_plan_name(stored, line.change, scenario),
            taken_back=line.taken_back,
            then_href=about.then.get(line.change.revision, ""),
        )
        days.setdefault(said.day(local), []).append(row)
    return HistoryView(
        household=stored.household.name,
        plan=scenario.name,
        plan_href=about.plan_href,
        ways=about.ways,
        days=tuple(HistoryDay(day, tuple(rows)) for day, rows in days.items()),
        older=about.older,
        newer=about.newer,
        revision=stored.revision,
    )


def told(stored: StoredHousehold, change: Change) -> str:
    """What a change did, in words; of a plan that is there no more, as far as the log itself tells."""
    scenario = stored.scenario(change.scenario_key or "") or stored.scenarios[0]
    text = words.what_it_did(change, stored, scenario, resolve(stored.household, scenario.id))
    return readable(said.says(text, undoes=change.undoes is not None, redoes=change.redoes is not None))


def _who(change: Change, names: Mapping[str, str]) -> str:
    return said.AT_THE_MACHINE if change.link_key is None else names.get(change.link_key, said.UNKNOWN_LINK)


def _plan_name(stored: StoredHousehold, change: Change, scenario: StoredScenario) -> str:
    piece = stored.pieces.get(change.scenario_key or "")
    return "" if piece is None or piece.key == scenario.key else str(piece.document["name"])


def meanwhile(stored: StoredHousehold, scenario: StoredScenario, lines: Sequence[LogLine]) -> str:
    """What was changed while a page was open, in one line; empty where nothing was. Parameters as above."""
    if not lines:
        return ""
    last = lines[0].change
    at = last.at_utc.astimezone(ZoneInfo(stored.household.site.timezone))
    return said.meanwhile(told(stored, last), _plan_name(stored, last, scenario), f"{at:%H:%M}", more=len(lines) - 1)


@dataclass(frozen=True, slots=True)
class ThenView:
    """history/then.html."""

    household: str  # the household's name
    plan: str  # the plan's name now
    back: str  # the history
    at: str  # when it was so
    notice: str  # one line of news; may be empty
    verdict: Verdict | None  # how it would stand, for the colour; None where it cannot be
    lead: str  # how it would stand
    rest: str  # who and when
    why: str  # what it means
    now: str  # how it stands now
    groups: tuple[ChangedGroup, ...]  # what would be another
    says: str  # what there is to say where nothing would change, or nothing is known; may be empty
    faults: tuple[str, ...]  # why it cannot be
    keeps: str  # what stays as it is; empty where there is nothing to be done
    action: str  # where it is gone back; empty where that cannot be, or who looks may not
    revision: int  # of the household this was worked out on
    tab: str  # a name for this preview
