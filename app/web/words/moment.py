"""One instant of a plan in words."""

from app.engine.moment import MayStart, Moment
from app.household.resolve import Resolved
from app.web.figures import clock, quantity
from app.web.words.limits import passing_name

VA_PARTS = "VA of each: its part of those together, which is less than its own where others lag or lead."


def may_start_sentence(may: MayStart, resolved: Resolved) -> str:
    """`Kettle may go on, until 10:06.` or `Kettle not before 10:26: Inverter, for a short time.`"""
    appliance = resolved.appliance(may.appliance)
    name = appliance.name if appliance else may.appliance
    at = clock(resolved.frame, may.until_ms) if may.until_ms is not None else ""
    if may.allowed:
        return f"{name} may go on, until {at}." if at else f"{name} may go on."
    why = f": {passing_name(may.limit, resolved.household)}" if may.limit else ""
    beyond = not at or (may.until_ms is not None and may.until_ms >= resolved.frame.horizon_ms)
    return f"{name} not at all any more{why}." if beyond else f"{name} not before {at}{why}."


def room_sentence(moment: Moment) -> str:
    """`Room for 0.9 kW more for hours, and 3.1 kVA more for a start even if another comes at the same moment.`"""
    hours, start = (
        f"{quantity(room, unit)} more" if room > 0 else "nothing more"
        for room, unit in ((moment.left.room_for_hours_w, "W"), (moment.left.start_va, "VA"))
    )
    beside = "even if" if moment.left.start_va > 0 else "if"
    return f"Room for {hours} for hours, and {start} for a start {beside} another comes at the same moment."
