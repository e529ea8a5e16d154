"""What a search found: a day, or why there is none."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from app.engine.results import Assessment

ENERGY_STEP_WH = 10.0  # less through the bank is no difference: the figures behind it are not as good as that


@dataclass(frozen=True, slots=True)
class Proposal:
    """A day that `assess` confirmed.

    starts: run id to HH:MM. through_bank_wh: what the house draws beyond what the sun gives in the same five minutes,
    over the horizon. cannot_be_below_wh: no placing of these runs has less. proven: the two are as good as equal.
    finish_ms: when the last of the runs has ended. tightest: share of the inverter's watts left at the tightest moment.
    """

    starts: Mapping[str, str]
    through_bank_wh: float
    cannot_be_below_wh: float
    finish_ms: int
    tightest: float
    assessment: Assessment

    @property
    def proven(self) -> bool:
        """No placing takes less through the bank, to within the step that counts."""
        return self.through_bank_wh - self.cannot_be_below_wh < ENERGY_STEP_WH


@dataclass(frozen=True, slots=True)
class Easing:
    """The smallest change of one thing that makes a day possible, with that day.

    kind: leave runs off, end later, widen a run's window to the day, allow quiet hours, or allow what could cut out.
    run: which run; where several are left off, one of those that the proposal has no start for.
    clock: by when all would be done; for a window, when that run would begin.
    """

    kind: Literal["leave_off", "done_by", "window", "quiet", "chance"]
    run: str | None
    clock: str | None
    proposal: Proposal


@dataclass(frozen=True, slots=True)
class Stuck:
    """No day was found.

    limit: id of the limit that refused most often; None where windows, order or machines leave no room.
    runs: a smallest set that stands in each other's way: without any one of them the others find a place.
    """

    limit: str | None
    runs: tuple[str, ...]
    easings: tuple[Easing, ...]
