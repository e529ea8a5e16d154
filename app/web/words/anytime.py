"""When an any-time load may be on."""

from app.engine.results import AnyTime
from app.household.resolve import Resolved
from app.web.figures import clock
from app.web.words.plain import listed


def any_time_sentence(any_time: AnyTime, resolved: Resolved) -> str:
    """`Kettle any time except 10:06 to 10:26.`"""
    name = next(one.name for one in resolved.household.appliances if one.id == any_time.appliance)
    if not any_time.not_then:
        return f"{name} any time."
    spans = [
        f"{clock(resolved.frame, span.from_ms)} to {clock(resolved.frame, span.to_ms)}" for span in any_time.not_then
    ]
    if len(spans) == 1 and any_time.not_then[0].to_ms - any_time.not_then[0].from_ms >= resolved.frame.horizon_ms:
        return f"{name} at no time."
    return f"{name} any time except {listed(spans)}."
