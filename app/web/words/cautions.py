"""Cautions in words."""

from app.engine.results import Caution, Params
from app.household.resolve import Resolved
from app.web.figures import clock, duration
from app.web.words.plain import listed


def caution_text(caution: Caution, resolved: Resolved) -> str:
    """A caution in words."""
    names = {appliance.id: appliance.name for appliance in resolved.household.appliances}
    circuits = {circuit.id: circuit.name or circuit.id for circuit in resolved.household.supply.circuits}
    p = caution.params
    if caution.code == "start_too_short":
        return (
            f"{names[str(p['appliance'])]} kicks for less than 20\u00a0ms at switch-on; that is left out of every"
            " figure, and may still trip a breaker."
        )
    if caution.code == "breaker_may_not_trip":
        return (
            f"A short circuit on {circuits[str(p['circuit'])]} may darken the house rather than trip its"
            f" breaker: the inverter gives at most {_figure(p, 'source_a'):.0f}\u00a0A, and"
            f" {p['curve']}{_figure(p, 'breaker_a'):g} trips at once somewhere between {_figure(p, 'from_a'):.0f} and"
            f" {_figure(p, 'to_a'):.0f}\u00a0A. Ask a licensed person; local code decides."
        )
    if caution.code == "interlocked_at_once":
        ids = p["appliances"]
        assert isinstance(ids, tuple)  # of the caution's own making
        at = clock(resolved.frame, _figure(p, "at_ms"))
        together = listed([names[one] for one in ids])
        return f"{together} are planned together at {at}; their interlock allows {p['at_most']}."
    runs = {run.id: names[run.appliance] for run in resolved.day.runs}
    mine, other = runs[str(p["run"])], runs[str(p["after"])]
    begin, ended = clock(resolved.frame, _figure(p, "begin_ms")), clock(resolved.frame, _figure(p, "ended_ms"))
    if caution.code == "runs_before_its_turn":
        return f"{mine} begins at {begin}, before {other} has ended at {ended}."
    return f"{mine} begins at {begin}, more than {duration(_figure(p, 'within_s'))} after {other} has ended at {ended}."


def _figure(params: Params, name: str) -> float:
    """A parameter that is a number."""
    value = params[name]
    assert isinstance(value, int | float)  # of the caution's own making
    return value
