"""Sun and bank on the day's axis: the charge and the sun drawn, said in sentences, and as a table."""

from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

from app.charts.energy import EnergyChart, energy_chart, means_w
from app.charts.energy_svg import charge_svg, sun_svg
from app.engine.bankday import NOTICED_W
from app.engine.results import Assessment, BankDay
from app.household.resolve import Resolved
from app.web import words
from app.web.figures import clock, quantity
from app.web.views.about import About

HOUR_MS = 3_600_000
TABLE = "energy-table"
LITTLE_WH = 50.0  # of a day; less to spare is none


@dataclass(frozen=True, slots=True)
class EnergyHour:
    """One hour in the table of sun and bank."""

    at: str  # its beginning
    charge: str  # state of charge then
    used: str  # sun that is used, mean of the hour
    spare: str  # sun that nobody can use, mean of the hour
    generator: str  # what the generator gives, mean of the hour
    house: str  # what the house takes with all losses, mean of the hour


@dataclass(frozen=True, slots=True)
class EnergyView:
    """day/_energy.html and day/_energy_more.html."""

    pending: bool  # the sun has not been worked out yet
    href: str  # the page with it worked out
    typical: str  # the sentence on the typical case
    darker: str  # and on the darker day
    notes: tuple[str, ...]  # what else there is to say of this day
    cautions: tuple[str, ...]  # what may hurt
    place: str  # what is to be said of where it is; empty where that is told, or nothing hangs on it
    place_href: str  # where that is told; empty for who may not
    panels_href: str  # where panels are put in; empty where there are some, or who looks may not
    charge: Markup  # the charge, drawn
    sun: Markup  # the sun, drawn; empty on a day without any
    lowest: str  # the lowest charge, and when
    totals: str  # what of the sun is used; empty on a day without any
    runs: bool  # the generator does
    spares: bool  # there is sun to spare
    table: tuple[EnergyHour, ...]  # hour by hour; empty while that is folded
    table_href: str  # the page with the table


def energy_view(about: About, assessment: Assessment) -> EnergyView:
    """Draw sun and bank and put them in words; as long as they are not worked out, say so."""
    bank, resolved = assessment.battery, about.resolved
    href, table_href = about.part("sun"), about.unfold(TABLE, "tables")
    if bank is None:
        return EnergyView(
            True, href, "", "", (), (), "", "", "", Markup(), Markup(), "", "", False, False, (), table_href
        )
    drawn = energy_chart(bank, assessment.day_ms, assessment.horizon_ms)
    lowest = f"lowest {words.charge_words(drawn.lowest.charge)}, {clock(resolved.frame, drawn.lowest.at_ms)}"
    typical = words.typical_sentence(resolved, bank)
    no_panels = not resolved.household.supply.arrays and not about.locked
    place = words.place_words(resolved.household.site) if resolved.household.supply.arrays else ""
    return EnergyView(
        pending=False,
        href="",
        typical=typical,
        darker=words.darker_sentence(resolved, bank),
        notes=words.energy_notes(resolved, bank),
        cautions=words.energy_cautions(resolved, bank),
        place=place,
        place_href=f"{about.page}/household" if place and not about.locked else "",
        panels_href=f"{about.page}/supply#adding-arrays" if no_panels else "",
        charge=_charge(drawn, lowest),
        sun=_sun(resolved, drawn, bank, assessment.day_ms) if drawn.bars else Markup(),
        lowest=lowest,
        totals=_totals(resolved, bank) if drawn.bars else "",
        runs=bool(bank.generator),
        spares=any(bar.spare_w >= NOTICED_W for bar in drawn.bars),
        table=_hours(resolved, bank, assessment.horizon_ms) if TABLE in about.unfolded else (),
        table_href=table_href,
    )


def _charge(drawn: EnergyChart, lowest: str) -> Markup:
    reserve = words.per_cent(drawn.reserve)
    low, high = words.charge_words(drawn.lowest.charge), words.charge_words(drawn.highest.charge)
    label = f"State of charge, typical draw: {lowest}, highest {high}; reserve {reserve}."
    return Markup(charge_svg(drawn, label, f"reserve {reserve}", low, high))


def _sun(resolved: Resolved, drawn: EnergyChart, bank: BankDay, day_ms: int) -> Markup:
    longest = max(bank.spare, key=lambda spell: spell.to_ms - spell.from_ms, default=None)
    spare = f"{quantity(longest.wh, 'Wh')} to spare" if longest else ""
    if longest and longest.from_ms >= day_ms:
        spare += " tomorrow"  # the totals beside it are the day's
    return Markup(sun_svg(drawn, f"Sun in half hours: {_totals(resolved, bank)}, until midnight.", spare))


def _totals(resolved: Resolved, bank: BankDay) -> str:
    """What of the day's sun is used; from when the bank is followed."""
    used_wh, spare_wh = bank.totals.sun_used_wh, bank.totals.spare_sun_wh
    since = f", from {clock(resolved.frame, float(bank.edges_ms[0]))} on" if bank.edges_ms[0] > 0 else ""
    if spare_wh < LITTLE_WH:
        return f"{quantity(used_wh, 'Wh')}, all used{since}"
    return f"{quantity(used_wh, 'Wh')} used of {quantity(used_wh + spare_wh, 'Wh')}{since}"


def _hours(resolved: Resolved, bank: BankDay, horizon_ms: int) -> tuple[EnergyHour, ...]:
    from_ms = np.arange(bank.edges_ms[0] // HOUR_MS * HOUR_MS, horizon_ms, HOUR_MS)
    edges_ms = np.append(from_ms, horizon_ms).astype(float)
    used_w = bank.sun_w - bank.spare_w
    house_w = used_w + bank.generator_w + bank.out_w - bank.into_w
    columns = [means_w(bank, watts, edges_ms) for watts in (used_w, bank.spare_w, bank.generator_w, house_w)]
    return tuple(
        EnergyHour(
            clock(resolved.frame, at_ms),
            words.charge_words(bank.charge_at(at_ms)),
            *(quantity(max(watts, 0.0), "W") for watts in means),
        )
        for at_ms, *means in zip(from_ms.tolist(), *(column.tolist() for column in columns), strict=True)
    )
