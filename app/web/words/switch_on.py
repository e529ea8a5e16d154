"""What may be switched on this minute, in words: one line each, read at arm's length."""

import datetime
from collections.abc import Sequence

from app.engine.answers import Answer, MaySwitch, OnNow, Room, Switching
from app.household.gaps import MINUTE_S
from app.household.resolve import Resolved
from app.web.figures import MONTHS, SPACE, WEEKDAYS, against, clock, clock_after, duration, number, quantity
from app.web.words.limits import limit_name
from app.web.words.plain import Headline, listed, sentence_case

ANSWERS: dict[Answer, str] = {"go": "GO", "ask": "ASK", "not_now": "NOT NOW"}
# What a machine does in a stage, by what the stage is called in the library of typical appliances.
_DOES = {
    "heats": ("heat", "heat up", "heat again", "warm-up", "warm up", "wash heat", "rinse heat", "heating rod"),
    "keeps warm": ("keep warm", "keep hot"),
    "fills": ("fill", "rinse fill", "top up"),
    "washes": ("wash",),
    "rinses": ("rinse", "pre-rinse"),
    "drains": ("drain", "last drain"),
    "tumbles": ("tumble", "loosen"),
    "spins": ("spin",),
    "dries": ("dry", "drying", "heated dry"),
    "cools down": ("cool-down", "cool down"),
    "bakes": ("bake",),
    "boils": ("boil",),
    "simmers": ("simmer",),
    "fries": ("fry",),
    "brews": ("brew",),
    "cooks": ("cook", "cooking"),
    "charges": ("charge", "bulk", "absorption", "float"),
    "prints": ("print",),
}
_DOING = {stage: does for does, stages in _DOES.items() for stage in stages}
LITTLE_W = 50.0


def short_names(resolved: Resolved) -> dict[str, str]:
    """Appliances by their ids, without what follows a comma where they can be told apart without it."""
    full = {one.name: one.name.partition(",")[0].strip() for one in resolved.household.appliances}
    heads = list(full.values())
    names = {name: head if heads.count(head) == 1 else name for name, head in full.items()}
    return {one.id: names[one.name] for one in resolved.household.appliances}


def room_headline(resolved: Resolved, room: Room) -> Headline:
    """`Room for 1.4 kW more` `until 10:20. Then 3.3 kW, once Washing machine no longer heats.`"""
    if room.least_w < room.room_w - LITTLE_W:
        return Headline(_room(room.least_w, quantity(abs(room.least_w), "W")), BANK_GIVES_NO_MORE, "")
    if room.until_ms is None or room.then_w is None:
        return Headline(_room(room.room_w, quantity(abs(room.room_w), "W")), "for the rest of today.", "")
    now, then = (_room(watts, text) for watts, text in zip(*_told_apart(room.room_w, room.then_w), strict=True))
    until = (clock_after if room.then_w > room.room_w else clock)(resolved.frame, room.until_ms)
    # What there is room for need not be said twice.
    if room.room_w >= LITTLE_W and room.then_w >= LITTLE_W:
        then = then.removeprefix("Room for ").removesuffix(" more")
    then = f"{then[:1].lower()}{then[1:]}"
    if room.by_generator:
        runs = "has stopped" if room.then_w > room.room_w else "runs"
        return Headline(now, f"until {until}. Then {then}, once the generator {runs}.", "")
    if room.because is None:
        weather = "cooler" if room.then_w > room.room_w else "warmer"
        return Headline(f"{now}.", f"By {until} it will be {then}, as it gets {weather}.", "")
    change = _begins if room.begins else _draws_less if room.goes_on else _ends
    return Headline(now, f"until {until}. Then {then}, {change(resolved, room.because, room.because_stage)}.", "")


def _told_apart(now_w: float, then_w: float) -> tuple[tuple[float, float], tuple[str, str]]:
    """Two figures of what is left, without their signs, and as they are written."""
    texts = quantity(abs(now_w), "W"), quantity(abs(then_w), "W")
    return (now_w, then_w), against(abs(now_w), abs(then_w), "W") if texts[0] == texts[1] else texts


def _room(watts: float, text: str) -> str:
    if watts <= -LITTLE_W:
        return f"{text} too much for hours"
    return f"Room for {text} more" if watts >= LITTLE_W else "No room for more"


def may_line(resolved: Resolved, may: MaySwitch, switching: Switching, *, anyway: bool = False) -> str:
    """What follows GO, ASK or NOT NOW, with the stop at its end: until when, and why.

    anyway: the limit that refuses is passed without it too.
    """
    if may.answer == "go":
        return _go(resolved, may)
    until = clock_after(resolved.frame, may.until_ms) if may.until_ms is not None else ""
    until += " at the latest" if until and may.later_unknown else ""
    if may.alone_too_much:
        return ": too much alone, whatever else is off."
    why = _why(resolved, may, anyway=anyway)
    if may.answer == "ask":
        if may.until_ms is not None and may.then == "not_now":
            return f": {why}. NOT NOW from {clock(resolved.frame, may.until_ms)}."
        return f": {why}.{f' GO from {until}.' if until else ''}"
    if not until:
        return f"{LATER_UNKNOWN if may.later_unknown else ' any more today'}: {why}."
    blocks = why if anyway or not _is_in_the_way(may, switching) else doing(resolved, may.because, may.because_stage)
    return f" until {until}{', then ask' if may.then == 'ask' else ''}: {blocks}."


def _is_in_the_way(may: MaySwitch, switching: Switching) -> bool:
    """Who makes the difference is surely on, from now until it is too much.

    Else what is in the way is still to come, while the run would last, or may not come at all: the limit is told then.
    """
    return (
        may.limit != "generator"
        and may.at_ms is not None
        and not may.is_missed
        and any(
            one.certain and one.until_ms > may.at_ms
            for one in switching.on
            if (one.appliance, one.stage) == (may.because, may.because_stage)
        )
    )


def _go(resolved: Resolved, may: MaySwitch) -> str:
    just = ", but only just" if may.verdict == "tight" else ""
    if may.until_ms is None:
        length = f", {duration(may.lasts_ms / 1000)} at a time" if _is_open(resolved, may.appliance) else ""
        return f" for the rest of today{length}{just}."
    still = f" until {clock(resolved.frame, may.until_ms)}{' at least' if may.later_unknown else ''}{just}"
    if _is_open(resolved, may.appliance):
        # It was asked about for a while; nobody says that it goes off by itself then.
        still += f", off again by {clock(resolved.frame, may.until_ms + may.lasts_ms)}"
    return f"{still}: {_comes(resolved, may.because, may.because_stage)}." if may.because else f"{still}."


def reason(resolved: Resolved, may: MaySwitch, switching: Switching, *, anyway: bool = False) -> str:
    """Why something had better not go on now, as a sentence: `Could cut out at 11:53.` anyway: as in `may_line`."""
    if may.alone_too_much:
        return "Too much alone, whatever else is off."
    if may.answer == "not_now" and not anyway and _is_in_the_way(may, switching):
        return f"{sentence_case(doing(resolved, may.because, may.because_stage))}."
    return f"{sentence_case(_why(resolved, may, anyway=anyway))}."


def _why(resolved: Resolved, may: MaySwitch, *, anyway: bool) -> str:
    if may.limit is None:
        beside = f" with {short_names(resolved).get(may.because, may.because)}" if may.because else ""
        return f"only one of them may be on, so not together{beside}"
    if may.limit == "reserve":
        return (
            "the charge goes below the reserve even without it" if anyway else "the charge would go below the reserve"
        )
    if may.limit == "cold_restart":
        return "after a power cut it would be too much at once"
    at = f" at {clock(resolved.frame, may.at_ms)}" if may.at_ms is not None else ""
    without = ", even without it" if anyway else _missed(resolved, may)
    if may.limit == "generator":
        if may.answer == "not_now":
            return f"the generator runs{at}, and this is too much beside its charging{without}"
        beside = f" while {doing(resolved, may.because, may.because_stage)}" if may.because else ""
        return f"the generator would run{at}{beside}, too much for it"
    name = _limit_name(resolved, may.limit)
    if may.verdict == "short_time":
        return _for_a_while(may, at, without)
    return f"could cut out{at}{without}" if may.answer == "ask" else f"too much for “{name}”{at}{without}"


def _missed(resolved: Resolved, may: MaySwitch) -> str:
    """` without its run at 10:20`: what that made up for is too much then, when it is over already."""
    times = [clock(resolved.frame, at_ms) for at_ms in may.instead_ms]
    return f" without its {'run' if len(times) == 1 else 'runs'} at {listed(times)}" if may.is_missed else ""


def _for_a_while(may: MaySwitch, at: str, without: str) -> str:
    """`0.4 kW too much for 8 min from 10:05; 30 min are allowed`."""
    if may.above_s is None or may.allowed_s is None or may.use is None or may.most is None or may.unit is None:
        return f"fine only for a while{at}"
    excess = f"{quantity(may.use - may.most, may.unit)} too much for"
    if may.above_s < 1:
        return f"{excess} a moment{at}{without}"
    allowed, are = duration(may.allowed_s), "is" if may.allowed_s == MINUTE_S else "are"
    return f"{excess} {duration(may.above_s)}{at.replace(' at ', ' from ')}{without}; {allowed} {are} allowed"


def may_figures(resolved: Resolved, may: MaySwitch) -> tuple[str, ...]:
    """The figures behind an answer, and how long it would run; a sentence each."""
    lines = []
    if may.limit is not None and may.use is not None and may.most is not None and may.unit is not None:
        use, most = against(may.use, may.most, may.unit)
        at = f" at {clock(resolved.frame, may.at_ms)}" if may.at_ms is not None else ""
        name = _limit_name(resolved, may.limit)
        of = (
            f"{use}, not below {most}" if may.unit in ("V", "%") and may.limit in ("battery_voltage", "reserve") else ""
        )
        lines.append(f"{name}: {of or f'{use} of {most}'}{at}.")
    elif may.limit is not None:
        least = f"not below {quantity(may.most, '%')}" if may.most is not None and may.unit == "%" else ""
        name = _limit_name(resolved, may.limit)
        lines.append(f"{name}: {least}." if least else f"{name} decides, by how long it lasts.")
    length = f"It would run for {duration(may.lasts_ms / 1000)}."
    lines.append(f"{length} It has no length of its own." if _is_open(resolved, may.appliance) else length)
    return (*lines, *filter(None, (instead(resolved, may),)))


def instead(resolved: Resolved, may: MaySwitch) -> str:
    """Which of its planned runs this one would be: `In place of its run at 18:15.`; empty for none."""
    times = [clock(resolved.frame, at_ms) for at_ms in may.instead_ms if may.answer != "not_now"]
    return INSTEAD.format(at=listed(times)) if times else ""


def _limit_name(resolved: Resolved, limit: str) -> str:
    """Of the inverter's levels it may be one that is run above for too long: nothing need start."""
    return "Inverter" if limit == "inverter_overload" else limit_name(limit, resolved.household)


def on_line(resolved: Resolved, now: OnNow, since: str) -> str:
    """`heats until 10:20, done 11:24`, `comes and goes, counted as on`. since: who tapped it on; may be empty."""
    if now.by_itself:
        return "starts by itself; room is kept for it" if not now.certain else "runs by itself with something else"
    if now.always_on or (not since and now.until_ms >= resolved.frame.horizon_ms):
        return "always on" if now.certain else "comes and goes, counted as on"
    if _is_open(resolved, now.appliance) and since:
        return f"{since}, until somebody says off"
    until, done = clock(resolved.frame, now.until_ms), clock(resolved.frame, now.done_ms)
    does = _DOING.get((now.stage or "").casefold(), "on")
    here = f"{does} until {until}" if now.certain else f"comes and goes until {until}, counted as on"
    ends = f", done {done}" if done != until else ""
    return f"{here}{ends}{f'; {since}' if since else ''}"


def doing(resolved: Resolved, appliance_id: str | None, stage: str | None) -> str:
    """`Washing machine heats`, `Vacuum cleaner is on`."""
    name = short_names(resolved).get(appliance_id or "", appliance_id or "")
    return f"{name} {_DOING.get((stage or '').casefold(), 'is on')}"


def _begins(resolved: Resolved, appliance_id: str, stage: str | None) -> str:
    does = _DOING.get((stage or "").casefold())
    name = _name(resolved, appliance_id)
    return f"once {name} {does}" if does else f"with {name} on"  # names may be in the plural


def _comes(resolved: Resolved, appliance_id: str, stage: str | None) -> str:
    does = _DOING.get((stage or "").casefold())
    name = _name(resolved, appliance_id)
    return f"then {name} {does}" if does else f"{name} on then"


def _ends(resolved: Resolved, appliance_id: str, stage: str | None) -> str:
    does = _DOING.get((stage or "").casefold())
    name = _name(resolved, appliance_id)
    return f"once {name} no longer {does}" if does else f"with {name} off"


def _draws_less(resolved: Resolved, appliance_id: str, stage: str | None) -> str:
    """As `_ends`, where something else of it follows."""
    does = _DOING.get((stage or "").casefold())
    return f"once {_name(resolved, appliance_id)} {f'no longer {does}' if does else 'draws less'}"


def _name(resolved: Resolved, appliance_id: str) -> str:
    return short_names(resolved).get(appliance_id, appliance_id)


def _is_open(resolved: Resolved, appliance_id: str) -> bool:
    appliance = resolved.appliance(appliance_id)
    return appliance is not None and appliance.stages[0].duration_s is None


def left_figure(value: float, unit: str) -> tuple[str, str]:
    """A figure of what is left, and what stands behind it: `1.4`, `kW left`; below nothing what is too much."""
    figure, _, shown = quantity(abs(value), unit).partition(SPACE)
    return figure, f"{shown} left" if value >= 0 else f"{shown} too much"


def legs_line(room: Room) -> str:
    """`Of both legs together. For hours, one leg alone has 1.4 kW left on A, 2.7 kW left on B.` Nothing of one."""
    if not room.legs_w:
        return ""
    left = [f"{' '.join(left_figure(watts, 'W'))} on {leg}" for leg, watts in room.legs_w]
    return f"Of both legs together. For hours, one leg alone has {', '.join(left)}."


def reserve_figure(to_reserve_h: float | None, *, has_sun: bool, known: bool) -> tuple[str, str]:
    """Hours to the reserve without sun, and what stands behind them; known: the charge is."""
    if not has_sun:
        return "…", "being worked out"
    if not known:
        return "?", "h, not known yet"
    if to_reserve_h is None:
        return "24", "h and more"
    return number(to_reserve_h, 0 if to_reserve_h >= 10 else 1), "h to reserve"


def charge_note(resolved: Resolved, unknown_until_ms: int | None, dark_ms: int | None, *, may_tell: bool) -> str:
    """What has to be known of the charge first: that it is not told yet, or that there is none left; may be empty."""
    if dark_ms is not None and unknown_until_ms is None:
        return DARK_BY_NOW.format(at=clock(resolved.frame, dark_ms))
    return charge_unknown(resolved, unknown_until_ms, may_tell=may_tell)


def charge_unknown(resolved: Resolved, from_ms: int | None, *, may_tell: bool) -> str:
    """That nothing is known of the charge before it was told; empty where it is known."""
    if from_ms is None:
        return ""
    found = CHARGE_UNKNOWN.format(at=clock(resolved.frame, from_ms))
    return f"{found} {TELL_CHARGE}" if may_tell else found


def day_words(local: datetime.datetime) -> str:
    """`Tue 12 May`."""
    return f"{WEEKDAYS[local.weekday()]} {local.day} {MONTHS[local.month - 1]}".replace(" ", SPACE)


def always_words(count: int) -> str:
    """`4 more, always on or coming by themselves; counted as on`."""
    which = "always on or coming by itself" if count == 1 else "always on or coming by themselves"
    return f"{count} more, {which}; counted as on"


def ago(seconds: float) -> str:
    """`just now`, `12 minutes ago`."""
    minutes = int(seconds // 60)
    if minutes < 1:
        return "just now"
    if minutes < 60:
        return "a minute ago" if minutes == 1 else f"{minutes} minutes ago"
    hours = minutes // 60
    return "an hour ago" if hours == 1 else f"{hours} hours ago"


def last_tap(name: str, who: str, age_s: float, *, is_on: bool) -> str:
    """`Last tapped 12 minutes ago by Ada: Bread oven on.`"""
    return f"Last tapped {ago(age_s)} by {who}: {name} {'on' if is_on else 'off'}."


def tapped_there(name: str, local: datetime.datetime, who: str) -> str:
    """`Induction hob since 11:00, by Ada`."""
    return f"{name} since {local:%H:%M}, by {who}"


def left_there(name: str, until: str) -> str:
    """`Dryer since yesterday, until 01:35`."""
    return f"{name} since yesterday, {until}"


def elsewhere_sentence(on: Sequence[str], plan: str) -> str:
    """That something was tapped on where another plan is followed; plan: its name, or nothing."""
    where = f"“{plan}”" if plan else "another plan of this house"
    return f"Tapped on in {where}: {'; '.join(on)}. It is not counted here."


def since_words(local: datetime.datetime, who: str, *, is_on: bool) -> str:
    """`on since 10:12, by Ada`."""
    return f"{'on' if is_on else 'off'} since {local:%H:%M}, by {who}"


CHARGE_UNKNOWN = (
    "The bank’s charge is known from {at} on; until then nothing here says whether a run would take it below the"
    " reserve."
)
TELL_CHARGE = "Put in what the display shows now, under Sun and bank."
NOBODY_TAPPED = "Nobody has tapped anything on this plan today."
KNOWS = (
    "This page knows the plan and what people tapped, not the wires: it does not see what somebody just switched on."
)
BANK_GIVES_NO_MORE = "now: the bank gives no more, at its reserve."
LATER_UNKNOWN = ", and later today is not known yet"
RESTING = ": just switched off; if it has a compressor, that rests until {at}."
RESTS = "Just switched off: if it has a compressor, that needs 5 minutes before it starts again, so not before {at}."
TAPS_SAY = "A tap says what is on, until midnight. It switches nothing, and the plan stays as it is."
LEFT_OUT = "{name} was to run at {at}. It runs already then, so that run is left out today."
MISSING = "Something that was tapped today is in the library no longer; that tap is left out."
IMPOSSIBLE = (
    "The plan was changed, and what was tapped today cannot be with it any more; it is shown as planned until you go"
    " back to what the plan says."
)
OVER_MIDNIGHT = "{name} may still be on from yesterday, {until}. It is not counted here until somebody taps it on."
NOBODY_SAID_OFF = "for nobody said off"
OFF_TODAY = "Off for the day in this plan."
INSTEAD = "In place of its run at {at}."
PLANNED_UNTIL = "The plan has it on until {at}."
PLANNED_ON = "The plan has it on."
OTHER_DAY = "Planned for {day}; taken as today’s, its sun and weather too."
DARK_BY_NOW = (
    "By the plan the battery is empty since {at} and the house dark. Look at the battery's meter first: the answers"
    " are about power alone."
)
COULD = "Could cut out: if everything that comes and goes happens to be on then, or to follow one another."
# What is refused.
NO_SUCH = "There is no such appliance in this plan; take one of the list."
WAS_DELETED = "This was deleted from the library meanwhile. Nothing was stored."
BY_ITSELF = "{name} starts and stops by itself; there is nothing to tap."
TWICE = "This hour comes twice tonight and is passing for the second time; tap again from {at} on."
NOW = "now"  # as a time that is typed
NO_TIME = "That is no time of this day. Give one as 15:04."
GONE_BY = "That is past already. Give a time from {at} on."
IS_ON = "{name} is on at {at} already."
CHOOSE = "Choose what you are about to run."
NOT_ASKED = "{name} is always on, or comes on by itself; there is nothing to ask."
