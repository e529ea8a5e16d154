"""Room for fingers: how far the touch area of each run reaches, and in which lane of its row the run lies.

Runs are often a few pixels wide, a finger is not. Each run's area is as wide as a finger; between neighbours the middle
of the gap divides it, so that the nearest one is meant; near a neighbour it reaches farther to the other side. Where
even that is too little, a run goes to a lane of its own. It is worked out for the narrowest track of each kind of
screen: on a wider one there is only more room. Classes carry it, for the page allows no inline styles.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

FINGER_PX = 44
DRAWN_PX = 6  # a run is drawn at least so wide
BEYOND_PX = 8  # an area may reach past the track's ends
LANES = 12
ROUNDING_PX = 1e-9

# The narrowest track of a phone, 320 px wide, and of a desk, from 1200 px on; with the letters of their classes.
PHONE_PX, DESK_PX = 278, 494
PHONE, DESK = ("k", "l", "r", "h"), ("q", "m", "n", "g")

Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Reach:
    """Where a run lies in its row and how far its touch area goes beyond it.

    lane: from 0 on. left_px, right_px: None where it lies alone, the area's middle being its own.
    """

    lane: int
    left_px: int | None
    right_px: int | None


@lru_cache(maxsize=4096)
def reaches(spans: tuple[Span, ...], track_px: float) -> tuple[Reach, ...]:
    """Lanes and reaches of a row's runs.

    spans: begin and end of each run as shares of the track's width, in any order.
    """
    boxes = [(begin * track_px, max(end * track_px, begin * track_px + DRAWN_PX)) for begin, end in spans]
    found: dict[int, Reach] = {}
    left = sorted(range(len(boxes)), key=lambda one: boxes[one])
    for lane in range(LANES):
        stays, moves = list(left), []
        while lane < LANES - 1 and (squeezed := _most_squeezed(boxes, stays, track_px)) is not None:
            stays.remove(squeezed)
            moves.append(squeezed)
        found |= {one: _reach(boxes, stays, place, track_px, lane) for place, one in enumerate(stays)}
        if not moves:
            break
        left = sorted(moves, key=lambda one: boxes[one])
    return tuple(found[one] for one in range(len(boxes)))


def run_classes(reach: Reach, letters: tuple[str, str, str, str]) -> list[str]:
    """The classes of a run for one kind of screen.

    >>> run_classes(Reach(1, 12, 26), PHONE), run_classes(Reach(0, None, None), DESK)
    (['k1', 'l12', 'r26'], [])
    """
    lane, left, right, _ = letters
    classes = [f"{lane}{reach.lane}"] if reach.lane else []
    if reach.left_px is not None:
        classes += [f"{left}{reach.left_px}", f"{right}{reach.right_px}"]
    return classes


def track_classes(of_runs: Sequence[Reach], letters: tuple[str, str, str, str]) -> list[str]:
    """The classes of a track for one kind of screen: how many lanes it has, if more than one."""
    lanes = max((reach.lane for reach in of_runs), default=0) + 1
    return [f"{letters[3]}{lanes}"] if lanes > 1 else []


def touching_rules() -> str:
    """The stylesheet's part that gives the classes their meaning."""
    rules = []
    for lane, left, right, lanes in (PHONE, DESK):
        rules += [f".{lane}{number}{{--{lane}:{number}}}" for number in range(1, LANES)]
        rules += [f".{lanes}{number}{{--{lanes}:{number}}}" for number in range(2, LANES + 1)]
        rules += [f".{side}{px}{{--{side}:-{px}px}}" for side in (left, right) for px in range(FINGER_PX + 1)]
    return "\n".join(rules) + "\n"


def _gaps_px(boxes: Sequence[Span], row: Sequence[int], place: int, track_px: float) -> tuple[int, int]:
    """How far the area of a run may go to either side: half-way to its neighbours, or a bit past the track's ends."""
    begin, end = boxes[row[place]]
    left = (begin - boxes[row[place - 1]][1]) / 2 if place else begin + BEYOND_PX
    right = (boxes[row[place + 1]][0] - end) / 2 if place + 1 < len(row) else track_px - end + BEYOND_PX
    return max(int(left), 0), max(int(right), 0)


def _most_squeezed(boxes: Sequence[Span], row: Sequence[int], track_px: float) -> int | None:
    """The run with the least room among those whose area would be narrower than a finger."""
    room = {
        one: boxes[one][1] - boxes[one][0] + sum(_gaps_px(boxes, row, place, track_px)) for place, one in enumerate(row)
    }
    # Drawn as wide as they are at least, two short runs in a row may even lie on each other.
    room |= {after: 0.0 for before, after in pairwise(row) if boxes[after][0] < boxes[before][1]}
    tightest = min(row, key=lambda one: room[one], default=None)
    return tightest if tightest is not None and len(row) > 1 and room[tightest] < FINGER_PX else None


def _reach(boxes: Sequence[Span], row: Sequence[int], place: int, track_px: float, lane: int) -> Reach:
    begin, end = boxes[row[place]]
    needed = max(math.ceil(FINGER_PX - (end - begin) - ROUNDING_PX), 0)
    free_left, free_right = _gaps_px(boxes, row, place, track_px)
    half = (needed + 1) // 2
    if free_left >= half and free_right >= half:
        return Reach(lane, None, None)
    left = min(free_left, half)
    right = min(free_right, needed - left)
    return Reach(lane, min(free_left, needed - right), right)
