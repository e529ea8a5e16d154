"""What a plan needs at least of one figure of its supply, and what it has of it."""

from dataclasses import dataclass
from typing import Literal

What = Literal[
    "continuous_w", "rated_va", "surge_va", "restart_va", "bank_a", "bank_peak_a", "usable_wh", "array_w"
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Need:
    """The least of one figure of the supply that carries a plan; what is meant by each stands at `needs_of`.

    has: the plan's supply as it is, in the same terms. least: None where no size would do; `why` says why.
    for_s: of surge_va and bank_peak_a, for how long it is needed at most; 0 where no start needs more than what is
    there for hours. has_s: how long the supply gives what it has. Both None of the other figures.
    enough: the supply as it is carries this, its energy without the generator. Of starts that is the engine's word on
    all the inverter's levels, so an inverter with several may have enough though it gives its highest for a shorter
    time than `for_s`.
    at_ms: when it is needed most; None where nothing is needed at all.
    appliance: whose start it is, or who draws most then; of the bank's and the arrays' energy who takes most of it.
    limit: id of the limit that decides; "midnight" where the bank would have less at midnight than the day began with.
    why: "" or, where no size would do: "cold" (it is too cold for any current, of panels: for charging),
    "cannot_deliver" (the bank's resistance lets no such current through), "voltage" (the bank's volts fall below the
    cut-off, however large the figure), "begins_below" (the day begins at the reserve or below), "night" (the reserve
    is passed before any sun comes), "no_array" (there is none to make larger), "dark_day" (no sun comes), "charger"
    (the bank takes no more current), "full" (even a full bank has less at midnight than the day began with).
    """

    what: What
    unit: Literal["W", "VA", "A", "Wh"]
    has: float
    least: float | None
    enough: bool
    for_s: float | None = None
    has_s: float | None = None
    at_ms: int | None = None
    appliance: str | None = None
    limit: str = ""
    why: str = ""
