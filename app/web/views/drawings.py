"""The editors' drawings: an appliance's programme, and what the inverter carries."""

from markupsafe import Markup

from app.charts.derating import DeratingWords, derating_svg
from app.charts.overload import moments_told, overload_chart
from app.charts.overload_svg import OverloadWords, overload_svg
from app.charts.programme import programme_chart
from app.charts.programme_svg import ProgrammeWords, programme_svg
from app.engine.results import Assessment
from app.household.appliance import Appliance
from app.household.household import Household
from app.web.fields.customs import Customs
from app.web.fields.measures import WARMTH
from app.web.figures import duration, quantity


def programme_drawing(appliance: Appliance, household: Household) -> Markup:
    """What an appliance draws from its beginning to its end."""
    known = {one.id: one for one in household.appliances}
    words = ProgrammeWords(quantity, duration, open_end="as long as it is on")
    return Markup(programme_svg(programme_chart(appliance, known), words))


def inverter_drawing(household: Household, assessment: Assessment) -> tuple[Markup, tuple[str, ...]]:
    """The inverter's levels with the plan's hardest moments, and these as lines.

    household: as it is in the plan, for a plan may bring appliances of its own.
    """
    names = {one.id: one.name for one in household.appliances}
    chart = overload_chart(household.supply.inverter, assessment, names)
    drawing = Markup(overload_svg(chart, OverloadWords(quantity, duration)))
    return drawing, moments_told(chart, quantity, duration)


def derating_drawing(household: Household, customs: Customs) -> Markup:
    """What the inverter carries for hours, by the temperature beside it."""

    def degrees(at_c: float) -> str:
        return f"{WARMTH.show(round(at_c, 1), customs)}\u00a0{WARMTH.unit_shown(customs)}"

    return Markup(derating_svg(household.supply.inverter, DeratingWords(quantity, degrees)))
