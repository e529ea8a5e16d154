"""Sun and bank in words: how low the charge goes, what sun is left over, and what comes after two dark days.

Two cases are told: the typical one, which the drawing shows, and the darker day, two eighths more of cloud with every
draw at its upper end.
"""

from collections.abc import Sequence

from app.engine.bankday import NOTICED_W
from app.engine.charge import BankDay, Lowest, Spell
from app.household.resolve import Resolved
from app.web.customs import customs_of
from app.web.fields.customary import in_degrees
from app.web.figures import SPACE, against, clock, face, number, quantity
from app.web.words.plain import listed, sentence_case
from app.web.words.plans import day_name, per_cent, plain_number, sky

TYPICAL = "typical draw"
_OVERCAST = 8
_MOST_NAMED = 3
_NO_SUN_W = 1.0
BRIGHTER = 1.15  # times a clear day; no day is brighter by more than a model of the sky is off
_NO_CHARGE_IN_THE_COLD = "A lithium bank must not be charged at or below 0\u00a0°C, whatever from."


def limit_case(limit_id: str) -> str:
    """What a limit is judged by where that is not the worst case; empty for all others."""
    return TYPICAL if limit_id == "reserve" else ""


def typical_sentence(resolved: Resolved, bank: BankDay) -> str:
    """`Lowest 41 % at Wed 06:50; 5.2 kWh of sun to spare between 12:10 and 16:30; two dark days after this and ...`"""
    parts = [_lowest(resolved, bank, bank.expected), _spare(resolved, bank), _two_dark_days(resolved, bank)]
    return f"{sentence_case('; '.join(part for part in parts if part))}."


def darker_sentence(resolved: Resolved, bank: BankDay) -> str:
    """`With more cloud and every draw at its upper end: lowest 36 % at Wed 06:50.`"""
    cloudier = bank.oktas is not None and bank.oktas < _OVERCAST and _has_sun(bank)
    more = "more cloud and " if cloudier else ""
    return f"With {more}every draw at its upper end: {_lowest(resolved, bank, bank.pessimistic)}."


def energy_notes(resolved: Resolved, bank: BankDay) -> tuple[str, ...]:
    """What else there is to say of this day, each in a sentence."""
    notes = (_no_sun(resolved, bank), _stands_for_the_cloud(resolved, bank), _cold(resolved, bank))
    return tuple(note for note in (*notes, _generator(resolved, bank)) if note)


def energy_cautions(resolved: Resolved, bank: BankDay) -> tuple[str, ...]:
    """What may hurt, where the day meets it."""
    supply = resolved.household.supply
    cautions = []
    if any(array.coupling == "ac" for array in supply.arrays):
        cautions.append(
            "Panels on the AC side: when the bank is full or cold nothing takes their power and the voltage rises, so"
            " their inverter must be able to throttle then. Its settings are for a licensed person."
        )
    if supply.battery.chemistry == "lfp":
        coldest_c = min(point[1] for point in resolved.day.ambient_c) + supply.battery.room_offset_k
        if bank.cold_until_ms is not None or coldest_c <= 0:
            cautions.append(in_degrees(_NO_CHARGE_IN_THE_COLD, customs_of(resolved.household)))
    else:
        cautions.append("A lead-acid bank gives off explosive gas while it charges: its room needs ventilation.")
    if supply.generator is not None and bank.generator:
        cautions.append(
            "The generator's exhaust kills indoors: carbon monoxide. Never two sources on one board without a"
            " changeover switch."
        )
    if _has_sun(bank):
        cautions.append("Panels are live in daylight, whatever is switched off.")
    return tuple(cautions)


def energy_at(bank: BankDay, at_ms: int) -> str:
    """One instant: `Bank 64 %, sun 2.1 kW, 0.4 kW to spare`; nothing before the bank's charge is known."""
    if at_ms < bank.edges_ms[0]:
        return ""
    step = min(max(int((bank.edges_ms <= at_ms).sum()) - 1, 0), len(bank.sun_w) - 1)
    sun_w, spare_w, generator_w = (float(watts[step]) for watts in (bank.sun_w, bank.spare_w, bank.generator_w))
    parts = [f"Bank {charge_words(bank.charge_at(at_ms))}"]
    if _has_sun(bank):
        parts.append(f"sun {quantity(sun_w, 'W')}" if sun_w >= _NO_SUN_W else "no sun")
    if spare_w > NOTICED_W:
        parts.append(f"{quantity(spare_w, 'W')} to spare")
    if generator_w > 0:
        parts.append(f"generator {quantity(generator_w, 'W')}")
    return ", ".join(parts)


def charge_words(charge: float) -> str:
    """A state of charge, 0 to 1, as `64 %`."""
    return f"{number(100 * charge, 0)}{SPACE}%"


def _lowest(resolved: Resolved, bank: BankDay, lowest: Lowest) -> str:
    charge = charge_words(lowest.state_of_charge)
    passed = []
    if lowest.below_ms is not None:
        charge, reserve = against(round(100 * lowest.state_of_charge, 3), round(100 * bank.reserve, 3), "%")
        passed.append(f"below the reserve of {reserve} {_from(resolved, lowest.below_ms)}")
    if lowest.dark_ms is not None:
        passed.append(f"the house dark {_from(resolved, lowest.dark_ms)}")
    since = f"from {clock(resolved.frame, begin_ms)} on: " if (begin_ms := float(bank.edges_ms[0])) > 0 else ""
    return ", ".join([f"{since}lowest {charge} at {clock(resolved.frame, lowest.at_ms)}", *passed])


def _from(resolved: Resolved, at_ms: int) -> str:
    return f"from {clock(resolved.frame, at_ms)}" if at_ms > 0 else "from the start"


def _spare(resolved: Resolved, bank: BankDay) -> str:
    if not bank.spare:
        return "no sun to spare" if _has_sun(bank) else ""
    first, *others = bank.spare
    if len(bank.spare) > _MOST_NAMED:
        whole = Spell(first.from_ms, others[-1].to_ms, sum(one.wh for one in bank.spare))
        return f"{_energy(whole)} of sun to spare in {len(bank.spare)} spells {_between(resolved, whole)}"
    return listed(
        [
            f"{_energy(first)} of sun to spare {_between(resolved, first)}",
            *(f"{_energy(one)} {_between(resolved, one)}" for one in others),
        ]
    )


def _energy(spell: Spell) -> str:
    return quantity(spell.wh, "Wh")


def _between(resolved: Resolved, spell: Spell) -> str:
    frame = resolved.frame
    begin = clock(frame, spell.from_ms)
    if spell.to_ms >= frame.horizon_ms:
        return f"from {begin} on"
    same_day = frame.local(spell.from_ms).date() == frame.local(spell.to_ms).date()
    return f"between {begin} and {(face if same_day else clock)(frame, spell.to_ms)}"


def _two_dark_days(resolved: Resolved, bank: BankDay) -> str:
    dark = bank.then_dark
    goes_dark = "" if dark.dark_ms is None else f"the house goes dark {clock(resolved.frame, dark.dark_ms)}"
    if bank.end_state_of_charge < bank.reserve:
        return "two dark days after this would begin below the reserve" + (f", and {goes_dark}" if goes_dark else "")
    comes = []
    if dark.generator_ms is not None:
        comes.append(f"the generator starts {clock(resolved.frame, dark.generator_ms)}")
    if dark.reserve_ms is not None:
        comes.append(f"the reserve is reached {clock(resolved.frame, dark.reserve_ms)}")
    if goes_dark:
        comes.append(goes_dark)
    midnight_ms = resolved.frame.day_ms
    runs = any(spell.from_ms < midnight_ms < spell.to_ms for spell in bank.generator)
    holds = "the reserve still holds, with the generator running" if runs else "the reserve still holds"
    return f"two dark days after this and {listed(comes) or holds}"


def _has_sun(bank: BankDay) -> bool:
    """The panels give something on this day, whether or not the bank is followed by then, or the next morning."""
    return bank.yield_wh >= 1 or bool((bank.sun_w >= _NO_SUN_W).any())


def _no_sun(resolved: Resolved, bank: BankDay) -> str:
    arrays = resolved.household.supply.arrays
    if not arrays:
        beside = " and the generator" if resolved.household.supply.generator is not None else ""
        return f"No panels yet: the house lives on the battery{beside} alone."
    if bank.unreached_wh is not None:
        expected = quantity(bank.unreached_wh, "Wh")
        return (
            f"The {expected} you expect of the panels cannot be: no sun reaches them on this day, and none is counted."
        )
    return "" if bank.yield_wh >= 1 else "The panels give nothing on this day."


def _stands_for_the_cloud(resolved: Resolved, bank: BankDay) -> str:
    """Where the sun does not come from the plan's cloud: where from, and how cloudy that is."""
    day = resolved.day
    if bank.unreached_wh is not None or bank.oktas is None or not _has_sun(bank):
        return ""
    if day.measured_day is None and day.expected_yield_wh is None:
        return ""
    if bank.clear_wh is not None and bank.yield_wh > BRIGHTER * bank.clear_wh:
        dim = f"more than a clear sky gives there on that day, which is about {quantity(bank.clear_wh, 'Wh')}"
    else:
        dim = f"as dim as with {sky(bank.oktas)}, {plain_number(round(bank.oktas, 1))} of 8"
    scaled = f"the {quantity(day.expected_yield_wh, 'Wh')} you expect" if day.expected_yield_wh is not None else ""
    if day.measured_day is None:
        return f"Sun as much as {scaled}: {dim}."
    on = day_name(day.measured_day.on, resolved.household.site.timezone)
    as_much = f", as much as {scaled}" if scaled else ""
    return f"Sun as on {on}\u00a0{day.measured_day.on[:4]} ({day.measured_day.source}){as_much}: {dim}."


def _cold(resolved: Resolved, bank: BankDay) -> str:
    until_ms = bank.cold_until_ms
    if until_ms is None:
        return ""
    frame, from_ms = resolved.frame, bank.cold_from_ms or 0
    begins = f"from {clock(frame, from_ms)}" if from_ms > bank.edges_ms[0] else ""
    ends = f"until {clock(frame, until_ms)}" if until_ms < frame.horizon_ms else "on" if begins else "all the time"
    return f"Too cold to charge {f'{begins} {ends}'.strip()}: sun the house does not draw is lost."


def _generator(resolved: Resolved, bank: BankDay) -> str:
    generator = resolved.household.supply.generator
    if generator is None or not bank.generator:
        return ""
    shown = _runs(resolved, bank.generator[:_MOST_NAMED])
    more = len(bank.generator) - _MOST_NAMED
    runs = listed([*shown, f"{more} more"] if more > 0 else shown)
    energy = quantity(sum(spell.wh for spell in bank.generator), "Wh")
    starts = f" in {bank.generator_starts} starts" if bank.generator_starts > 1 else ""
    return (
        f"The generator runs {runs}, {energy}{starts}: it starts below {per_cent(generator.start_below)}"
        f" and stops at {per_cent(generator.stop_above)}."
    )


def _runs(resolved: Resolved, spells: Sequence[Spell]) -> list[str]:
    frame = resolved.frame
    return [
        f"from {clock(frame, one.from_ms)} on"
        if one.to_ms >= frame.horizon_ms
        else f"from {clock(frame, one.from_ms)} to {clock(frame, one.to_ms)}"
        for one in spells
    ]
