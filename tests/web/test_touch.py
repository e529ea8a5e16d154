"""Room for fingers: every run can be hit, and nobody's tap goes to a neighbour."""

from itertools import pairwise

from hypothesis import example, given
from hypothesis import strategies as st

from app.web.touch import DESK, DESK_PX, DRAWN_PX, FINGER_PX, LANES, PHONE, PHONE_PX, Span, reaches, touching_rules

# Up to two dozen runs of one machine, of one minute to six hours, which do not overlap.
STEPS = st.lists(st.tuples(st.floats(0.0, 0.05), st.floats(0.0005, 0.17)), min_size=1, max_size=24)


def laid(steps: list[tuple[float, float]]) -> list[Span]:
    spans, at = [], 0.0
    for pause, length in steps:
        begin = at + pause
        if begin > 0.66:
            break
        at = begin + length
        spans.append((begin, at))
    return spans


ROWS = STEPS.map(laid)


def areas(spans: list[Span], track_px: float) -> list[tuple[int, float, float, float, float]]:
    """Lane, and drawn and touched begin and end of each run, on the track."""
    found = []
    for (begin, end), reach in zip(spans, reaches(tuple(spans), track_px), strict=True):
        left, right = begin * track_px, max(end * track_px, begin * track_px + DRAWN_PX)
        side = max((FINGER_PX - (right - left)) / 2, 0)
        before = side if reach.left_px is None else reach.left_px
        after = side if reach.right_px is None else reach.right_px
        found.append((reach.lane, left, right, left - before, right + after))
    return found


@example([(0.0, 0.07194116092203429)], PHONE_PX)  # a hair less than twenty pixels, at the track's end
@given(ROWS, st.sampled_from([PHONE_PX, DESK_PX]))
def test_every_run_has_room_for_a_finger(spans: list[Span], track_px: float) -> None:
    """Whatever stands on a row, each touch area is 44 pixels wide at least."""
    for _, _, _, begin, end in areas(spans, track_px):
        assert end - begin >= FINGER_PX - 1e-9


@given(ROWS, st.sampled_from([PHONE_PX, DESK_PX]))
def test_no_area_reaches_over_the_middle_between_neighbours(spans: list[Span], track_px: float) -> None:
    """In one lane, drawn runs keep apart, and where areas meet, the nearer run is meant."""
    rows = areas(spans, track_px)
    for lane in {row[0] for row in rows}:
        own = sorted(one for one in rows if one[0] == lane)
        for (_, _, right, _, reached), (_, left, _, from_there, _) in pairwise(own):
            assert right <= left
            assert reached <= (right + left) / 2 + 1
            assert from_there >= (right + left) / 2 - 1


def test_a_wider_track_only_gives_more_room() -> None:
    """What was worked out for the narrowest phone holds on a wider one: areas still keep off the neighbours."""
    spans = ((0.26, 0.3), (0.301, 0.33), (0.7, 0.71))
    for track_px in (PHONE_PX, 348, 600):
        found = reaches(spans, PHONE_PX)
        for (begin, end), reach in zip(spans, found, strict=True):
            wide = max((end - begin) * track_px, DRAWN_PX)
            sides = (reach.left_px, reach.right_px)
            assert None in sides or wide + sum(side or 0 for side in sides) >= FINGER_PX


def test_two_washes_in_a_row_share_a_lane_by_reaching_outwards() -> None:
    """Neighbours that touch each go to the side where there is nobody."""
    first, second = reaches(((0.264, 0.299), (0.3, 0.335)), PHONE_PX)

    assert (first.lane, second.lane) == (0, 0)
    assert first.left_px and first.left_px > 30
    assert second.right_px and second.right_px > 30


def test_a_run_squeezed_from_both_sides_gets_a_lane_of_its_own() -> None:
    """Three short runs within two hours cannot lie side by side under fingers."""
    found = reaches(((0.3, 0.31), (0.325, 0.335), (0.35, 0.36)), PHONE_PX)

    assert [one.lane for one in found] == [0, 1, 0]


def test_the_rules_know_every_class() -> None:
    """Each lane and each reach that can come out has its rule."""
    rules = touching_rules()
    for lane, left, right, lanes in (PHONE, DESK):
        assert all(f".{lane}{number}{{" in rules for number in range(1, LANES))
        assert all(f".{lanes}{number}{{" in rules for number in range(2, LANES + 1))
        assert all(f".{side}{px}{{" in rules for side in (left, right) for px in range(FINGER_PX + 1))
