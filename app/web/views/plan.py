"""The sheet of a plan's own values, each edited in place."""

from dataclasses import dataclass
from typing import NamedTuple

from app.engine.sun import known_suns
from app.household.names import LONGEST_NAME
from app.household.resolve import DAY_FIELDS, Day
from app.store.commands.days import BESIDE
from app.store.stored import StoredScenario
from app.web import words
from app.web.customs import customs_of, warmth_of
from app.web.fields.measures import WARMTH
from app.web.forms.typed import SHORT_AT_MOST
from app.web.views.about import About

SHEET = "plan-sheet"
LINES_SHOWN = 8


@dataclass(frozen=True, slots=True)
class PlanAttempt:
    """A change to the plan, or to which plans there are, that could not be done.

    field: the plan's field; or `new`, `copied`, `removed`. messages: why, a sentence each.
    typed: what was typed; at: the time told with it. lines: the temperatures as they were typed instead.
    wrong: in which of them something is wrong.
    """

    field: str
    messages: tuple[str, ...]
    typed: str = ""
    lines: tuple[tuple[str, str], ...] = ()
    wrong: frozenset[int] = frozenset()
    at: str = ""


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing to choose."""

    value: str  # what is sent
    says: str  # what is shown
    chosen: bool  # it is the present one


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the temperatures."""

    hour: str  # the time of day, as it is shown or was typed
    degrees: str  # how warm it is then
    wrong: bool  # something in it could not be read


@dataclass(frozen=True, slots=True)
class FieldView:
    """One value of the plan and the form that changes it."""

    field: str  # its name in commands
    label: str  # its name on the page
    kind: str  # how it is entered: text, date, choice, lines, or record for what is taken on another page
    typed: str  # what stands in it
    at: str | None  # the time of day told with it; None where none is
    shown: str  # the value in words, for who may only look
    at_most: int  # how many characters it takes
    unit: str  # what stands behind it; may be empty
    help: str  # how it can be written; may be empty
    button: str  # what the button says
    choices: tuple[Choice, ...]  # what there is to choose
    lines: tuple[Line, ...]  # the temperatures, and an empty line for one more
    source: str  # name of the plan the value comes from, if not from this one
    parents: str  # what the parent says where this plan says something else; may be empty
    messages: tuple[str, ...]  # why the last change could not be done
    keep: bool  # leave the form as it is on the page, with what is typed in it
    elsewhere: str  # the page it is taken on; empty where it is entered here
    taken: bool  # there is something to take out again
    folded: str  # what its lines say in few words, where they are too many to stand open; else empty
    open: bool  # its lines are shown, however many


@dataclass(frozen=True, slots=True)
class PlanView:
    """day/_plan.html."""

    summary: str  # the values in a few words
    open: bool  # the sheet is unfolded
    locked: bool  # who looks may not change anything
    parent: str  # name of the plan it builds on, or empty
    what_if: str  # the page that says what is different in it
    action: str  # where a change goes
    remove: str  # where its deletion goes
    remove_messages: tuple[str, ...]  # why it could not be deleted
    fields: tuple[FieldView, ...]  # from top to bottom
    revision: int  # the household's count of changes
    tab: str  # a name for this page, for commands without a script
    open_run: str  # key of the run that is being moved, or empty


class _Said(NamedTuple):
    """What stands beside a field whatever its value."""

    label: str
    kind: str
    unit: str
    help: str
    button: str


_FIELDS = {
    "name": _Said("Name", "text", "", "", "Rename"),
    "date": _Said("Day", "date", "", "", "Set day"),
    "cloud_oktas": _Said("Sky", "choice", "", "in eighths of the sky", "Set sky"),
    "expected_yield_wh": _Said(
        "Expected yield", "text", "kWh", "what all panels should give on the day; empty: by the sky", "Set yield"
    ),
    "measured_day": _Said("Sun of a measured day", "record", "", "", "Take it out"),
    "start_state_of_charge": _Said(
        "Battery charge", "text", "%",
        "percentage, such as 75 or 67.5, and when it is so: as the display shows it now, or at midnight", "Set charge",
    ),
    "wanted_margin": _Said("Wanted margin", "text", "%", "percentage of each limit to be left", "Set margin"),
    "ambient_c": _Said(
        "Outdoor temperatures", "lines", "", "a straight line from each to the next, the same every day",
        "Set temperatures",
    ),
}  # fmt: skip


# What is said beside a field changes with others, so that its form is written anew with them.
_SEEN_FROM = {"cloud_oktas": ("measured_day", "expected_yield_wh")}


def plan_view(about: About, attempt: PlanAttempt | None, touched: str) -> PlanView:
    """Lay out the sheet.

    attempt: what was tried and could not be done. touched: the field the present answer is about, or empty.
    """
    day, parent = about.resolved.day, _parent(about)
    tried = attempt if attempt and attempt.field in (*_FIELDS, "removed") else None
    return PlanView(
        summary=", ".join(
            (
                _sun_shortly(day),
                words.warmth(day.ambient_c, customs_of(about.stored.household)),
                f"battery {words.day_value('start_state_of_charge', _charge(day), customs_of(about.stored.household))}",
            )
        ),
        open=SHEET in about.unfolded or bool(touched) or tried is not None,
        locked=about.locked,
        parent=parent.name if parent else "",
        what_if=f"{about.page}/what-if",
        action=f"{about.page}/plan",
        remove=f"{about.page}/delete",
        remove_messages=tried.messages if tried and tried.field == "removed" else (),
        fields=tuple(_field(about, field, tried, touched) for field in _FIELDS),
        revision=about.stored.revision,
        tab=about.tab,
        open_run=about.open_run,
    )


def _field(about: About, field: str, attempt: PlanAttempt | None, touched: str) -> FieldView:
    said, day, parent = _FIELDS[field], about.resolved.day, _parent(about)
    tried = attempt if attempt and attempt.field == field else None
    source = _source(about, field)
    own = source is about.scenario
    typed = tried.typed if tried else _typed(day, field)
    parents = _shown(about, about.stored.days[parent.id], field) if parent and own and field in DAY_FIELDS else ""
    return FieldView(
        field=field,
        label=said.label,
        # A date field shows nothing at all where what was typed is no date.
        kind="text" if tried and field == "date" else said.kind,
        typed=typed,
        at=(tried.at if tried else day.state_of_charge_at) if field == "start_state_of_charge" else None,
        shown=_shown(about, day, field),
        at_most=LONGEST_NAME if field == "name" else SHORT_AT_MOST,
        unit=WARMTH.unit_shown(customs_of(about.stored.household)) if field == "ambient_c" else said.unit,
        help=_instead(about) if field == "cloud_oktas" else said.help,
        button=said.button,
        choices=_skies(day.cloud_oktas) if field == "cloud_oktas" else (),
        lines=_lines(about, day, tried) if field == "ambient_c" else (),
        source="" if own else source.name,
        parents=parents,
        messages=tried.messages if tried else (),
        keep=bool(touched) and touched != field and touched not in _SEEN_FROM.get(field, ()),
        elsewhere=f"{about.page}/weather" if said.kind == "record" else "",
        taken=said.kind == "record" and day.measured_day is not None,
        folded=_folded(about, day, tried) if field == "ambient_c" else "",
        open=touched == field or f"all-{field}" in about.unfolded,
    )


def _sun_shortly(day: Day) -> str:
    """Where the day's sun comes from, in few words."""
    taken = day.measured_day
    sun = words.sky(day.cloud_oktas) if taken is None else f"sun of {words.sun_taken(taken)}"
    return sun if day.expected_yield_wh is None else f"{sun}, {words.kilowatt_hours(day.expected_yield_wh)} expected"


def _instead(about: About) -> str:
    """What stands in for the sky where it does not make the day's sun; else how the sky is told."""
    day = about.resolved.day
    if day.measured_day is None and day.expected_yield_wh is None:
        return _FIELDS["cloud_oktas"].help
    if day.measured_day is not None:
        lead = "not used: the sun is that of the measured day"
    else:
        lead = "the sun is as much as you expect, whatever the sky"
    suns = known_suns(about.resolved)
    if suns is None or suns.expected.oktas is None:
        return lead
    oktas = round(suns.expected.oktas, 1)
    return f"{lead}; as dim as with {words.sky(oktas)}, {words.plain_number(oktas)} of 8"


def _parent(about: About) -> StoredScenario | None:
    return next(iter(about.stored.lineage(about.scenario)[1:]), None)


def _source(about: About, field: str) -> StoredScenario:
    """The plan whose value it is: this one, or the nearest of its parents that says something."""
    line = about.stored.lineage(about.scenario)
    if field not in DAY_FIELDS:
        return line[0]
    patches = ((one, about.stored.pieces[one.key].document.get("changes") or {}) for one in line[:-1])
    fields = {field, *BESIDE.get(field, ())}
    return next((one for one, changes in patches if fields & set(changes.get("day") or {})), line[-1])


def _typed(day: Day, field: str) -> str:
    if field == "expected_yield_wh":
        return "" if day.expected_yield_wh is None else words.plain_number(round(day.expected_yield_wh / 1000, 6))
    if field in ("start_state_of_charge", "wanted_margin"):
        return words.plain_number(round(100 * getattr(day, field), 6))
    return str(getattr(day, field))


def _shown(about: About, day: Day, field: str) -> str:
    if field == "start_state_of_charge":
        return words.day_value(field, _charge(day), customs_of(about.stored.household))
    value: str = getattr(day, field)
    if field == "date":
        return words.day_name(value, about.stored.household.site.timezone)
    return value if field == "name" else words.day_value(field, value, customs_of(about.stored.household))


def _charge(day: Day) -> dict[str, float | str]:
    """The battery's charge and when it is so, as `day_value` reads it."""
    return {"charge": day.start_state_of_charge, "at": day.state_of_charge_at}


def _skies(cloud_oktas: float) -> tuple[Choice, ...]:
    """Every whole number of eighths, and the present one in between if it is none of them."""
    eighths = sorted({*range(9), cloud_oktas})
    return tuple(
        Choice(value=f"{one:.10g}", says=f"{words.plain_number(one)} of 8, {words.sky(one)}", chosen=one == cloud_oktas)
        for one in eighths
    )


def _lines(about: About, day: Day, attempt: PlanAttempt | None) -> tuple[Line, ...]:
    if attempt:
        lines = [Line(*line, number in attempt.wrong) for number, line in enumerate(attempt.lines)]
    else:
        warmth = warmth_of(about.stored.household)
        lines = [Line(_face(hour), warmth.show(degrees), False) for hour, degrees in day.ambient_c]
    spare = not lines or bool(lines[-1].hour or lines[-1].degrees)
    return (*lines, Line("", "", False)) if spare else tuple(lines)


def _folded(about: About, day: Day, attempt: PlanAttempt | None) -> str:
    lines = len(_lines(about, day, attempt)) - 1  # the last is empty, for one more
    return f"{_shown(about, day, 'ambient_c')}, {lines} lines" if lines > LINES_SHOWN else ""


def _face(hour: float) -> str:
    minutes, seconds = divmod(round(hour * 3600), 60)
    face = f"{minutes // 60:02d}:{minutes % 60:02d}"
    return f"{face}:{seconds:02d}" if seconds else face
