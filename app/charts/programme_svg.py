"""The picture of a programme as SVG: starts on top, the draw, water and hours under it, what it sets off at the foot.

Everything is at percentages of one drawing, so that it stretches with the screen and its texts do not. The hatch is
that of `hatch_svg`, once a page.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from app.charts.labels import BEFORE, HOUR, Face, Labels, Spot, around, text_width_px
from app.charts.picture import FACES, FIGURE, LEVEL, NAME, picture_svg, round_levels, round_times_s, strip_svg, tick_svg
from app.charts.programme import Follower, ProgrammeChart, Step, told
from app.charts.shapes import grid_svg, percent

STARTS_PX, DRAW_PX, WATER_PX, AXIS_PX, LANE_PX = 44, 124, 18, 22, 20
HEADROOM = 1.22  # over the highest draw there is room for a name
START_HEADROOM = 1.75  # and over the largest start for its figure
LEAST_SHARE = 0.006  # of the width: what a short stage is drawn with at least, two pixels on a phone
LINE_PX = 16  # what a text on a line needs
DROP = '<path class="drop" d="M0,2C-2.6,6-4.2,8-4.2,10.4A4.2,4.2,0,0,0,4.2,10.4C4.2,8,2.6,6,0,2z"/>'


@dataclass(frozen=True, slots=True)
class ProgrammeWords:
    """How figures are written, and what stands at an end that is none.

    quantity: a value with its unit, of W or VA. duration: a length of time in seconds. average: before an average.
    open_end: over a stage that lasts as long as it is on.
    """

    quantity: Callable[[float, str], str]
    duration: Callable[[float], str]
    average: str = "average"
    open_end: str = ""


def programme_svg(chart: ProgrammeChart, words: ProgrammeWords) -> str:
    """One drawing of the whole programme."""
    starts = [step for step in chart.steps if step.start_va is not None]
    watered = [step for step in chart.steps if step.water_l]
    strips: list[tuple[float, str]] = []
    if starts:
        strips.append((STARTS_PX, _starts(chart, starts, words)))
    strips.append((DRAW_PX, _draw(chart, words)))
    if watered:
        strips.append((WATER_PX, _water(chart, watered)))
    strips.append((AXIS_PX, _axis(chart, words)))
    strips += [(LANE_PX, _lane(chart, one)) for one in chart.followers]
    high_px = sum(each_px for each_px, _ in strips)
    top_px, parts = 0.0, []
    for each_px, drawing in strips:
        parts.append(strip_svg(top_px, each_px, high_px, drawing))
        top_px += each_px
    return picture_svg("programme", told(chart, words.quantity, words.duration), high_px, *parts)


def _starts(chart: ProgrammeChart, starts: list[Step], words: ProgrammeWords) -> str:
    """Pins as high as their start, their heads filled where the instant is known."""
    top_va = chart.highest_va * START_HEADROOM
    largest = sorted(starts, key=lambda step: -(step.start_va or 0))
    places = {id(step): (_share(chart, step.begin_s), 1 - (step.start_va or 0) / top_va) for step in starts}
    drawn = []
    for step in starts:
        x, head = places[id(step)]
        itself = "itself" if step.comes_and_goes else "planned"
        drawn.append(
            f'<line class="pin" x1="{percent(x)}" x2="{percent(x)}" y1="100%" y2="{percent(head)}"/>'
            f'<circle class="head {itself}" cx="{percent(x)}" cy="{percent(head)}" r="3"/>'
        )
    texts = []
    for face in FACES:
        labels = Labels(face, STARTS_PX, spare_px=3)
        for x, head in places.values():
            labels.block(x, x, head * STARTS_PX - 3, STARTS_PX, spare_px=3)
        for step in largest:
            x, head = places[id(step)]
            head_px = head * STARTS_PX
            over = [Spot(x, 0, head_px - 8, anchor) for anchor in ("middle", "start", "end")]
            labels.place(words.quantity(step.start_va or 0, "VA"), FIGURE, [*around(x, head_px, 6), *over])
        texts.append(labels.svg())
    return "".join((*drawn, *texts))


def _draw(chart: ProgrammeChart, words: ProgrammeWords) -> str:
    """Stages as steps, hatched where they come and go, with a line at their average."""
    top_w = max(chart.highest_w, 1.0) * HEADROOM
    levels = round_levels(top_w / HEADROOM, 4)
    drawn = [grid_svg([1 - level / top_w for level in (0, *levels)])]
    # The higher of two that share a place is drawn over the other, so that a short one is not lost.
    for step in sorted(chart.steps, key=lambda step: step.draw_w):
        drawn.append(_block(chart, step, top_w))
    for step in chart.steps:
        if step.comes_and_goes:
            x1, x2 = (percent(_share(chart, at_s)) for at_s in (step.begin_s, step.end_s))
            y = percent(1 - step.average_w / top_w)
            drawn.append(f'<line class="average" x1="{x1}" x2="{x2}" y1="{y}" y2="{y}"/>')
    if chart.open_ended:
        drawn.append('<line class="no-end" x1="100%" x2="100%" y1="0" y2="100%"/>')
    texts = []
    for face in FACES:
        labels = Labels(face, DRAW_PX, spare_px=2)
        for step in sorted(chart.steps, key=lambda step: (-step.draw_w, step.begin_s - step.end_s)):
            _name(labels, chart, step, top_w, words)
        for level in levels:
            text, y_px = words.quantity(level, "W"), (1 - level / top_w) * DRAW_PX - 3
            wide = text_width_px(text, LEVEL) / face.widths_px[0]
            ends = [(Spot(0, 2, y_px, "start"), 0.0), (Spot(1, -2, y_px, "end"), 1 - wide)]
            labels.place(text, LEVEL, [spot for spot, x in ends if _highest_w(chart, x, x + wide) <= level])
        texts.append(labels.svg())
    return "".join((*drawn, *texts))


def _block(chart: ProgrammeChart, step: Step, top_w: float) -> str:
    left = _share(chart, step.begin_s)
    wide = max(_share(chart, step.end_s) - left, LEAST_SHARE)
    left = min(left, 1 - wide)
    high = max(step.draw_w / top_w, 1 / DRAW_PX)
    kind = f'class="hatch {chart.key}" fill="url(#hatch-{chart.key})"'
    if not step.comes_and_goes:
        kind = f'class="layer {chart.key}"'
    return (
        f'<rect {kind} x="{percent(left)}" y="{percent(1 - high)}" width="{percent(wide)}" height="{percent(high)}"/>'
    )


def _name(labels: Labels, chart: ProgrammeChart, step: Step, top_w: float, words: ProgrammeWords) -> None:
    """The stage's name and draw on top of it, else one of the two; of what comes and goes its average as well."""
    figure = words.quantity(step.draw_w, "W")
    texts = [f"{step.name} {figure}", step.name, figure] if step.name else [figure]
    if chart.open_ended and words.open_end:
        texts.insert(0, f"{texts[0]}, {words.open_end}")
    for text in texts:
        if labels.place(text, NAME, _spots(labels.face, chart, step, top_w, text_width_px(text, NAME))):
            break
    if step.comes_and_goes:
        _average(labels, chart, step, top_w, words)


def _average(labels: Labels, chart: ProgrammeChart, step: Step, top_w: float, words: ProgrammeWords) -> None:
    """What it draws on average, on its line or under it, inside the stage."""
    text = f"{words.average} {words.quantity(step.average_w, 'W')}"
    left, right = _share(chart, step.begin_s), _share(chart, step.end_s)
    if text_width_px(text, FIGURE) + 4 > (right - left) * labels.face.widths_px[0]:
        return
    y_px, top_px = ((1 - draw_w / top_w) * DRAW_PX for draw_w in (step.average_w, step.draw_w))
    lines_px = [y_px - 4] if y_px - top_px > LINE_PX else []
    if DRAW_PX - y_px > LINE_PX:
        lines_px.append(y_px + 13)
    labels.place(text, FIGURE, [Spot((left + right) / 2, 0, line_px, "middle") for line_px in lines_px])


def _spots(face: Face, chart: ProgrammeChart, step: Step, top_w: float, wide_px: float) -> Iterator[Spot]:
    """Places on top of a stage: over its middle or from either edge, where nothing higher stands under the text."""
    wide = (wide_px + 2) / face.widths_px[0]
    left, right = _share(chart, step.begin_s), _share(chart, step.end_s)
    y_px = (1 - step.draw_w / top_w) * DRAW_PX - 5
    for x, dx_px, anchor in (((left + right) / 2, 0, "middle"), (left, 2, "start"), (right, -2, "end")):
        first = x - wide * BEFORE[anchor]
        if _highest_w(chart, first, first + wide) <= step.draw_w:
            yield Spot(x, dx_px, y_px, anchor)


def _highest_w(chart: ProgrammeChart, left: float, right: float) -> float:
    """The highest draw between two shares of the width."""
    under = (
        step.draw_w for step in chart.steps if _share(chart, step.begin_s) < right and _share(chart, step.end_s) > left
    )
    return max(under, default=0)


def _water(chart: ProgrammeChart, watered: list[Step]) -> str:
    """A drop where a stage begins to take in water, with its litres."""
    drops, texts = [], []
    for step in watered:
        drops.append(f'<svg x="{percent(_share(chart, step.begin_s))}" width="1" height="1">{DROP}</svg>')
    for face in FACES:
        labels = Labels(face, WATER_PX, spare_px=2)
        for step in watered:
            x = _share(chart, step.begin_s)
            labels.block(x, x, 0, WATER_PX, spare_px=5)
        for step in sorted(watered, key=lambda step: -step.water_l):
            x = _share(chart, step.begin_s)
            labels.place(f"{step.water_l:g}\u00a0l", FIGURE, [Spot(x, 7, 12, "start"), Spot(x, -7, 12, "end")])
        texts.append(labels.svg())
    return "".join((*drops, *texts))


def _axis(chart: ProgrammeChart, words: ProgrammeWords) -> str:
    times_s = round_times_s(chart.length_s, 5)
    ticks = (tick_svg(_share(chart, at_s)) for at_s in (0, *times_s))
    texts = []
    for face in FACES:
        labels = Labels(face, AXIS_PX, spare_px=3)
        for at_s in (*times_s[1::2], *times_s[::2]):
            x = _share(chart, at_s)
            labels.place(words.duration(at_s), HOUR, [Spot(x, 0, 16, "end" if x > 0.95 else "middle")])
        texts.append(labels.svg())
    return "".join((*ticks, *texts))


def _lane(chart: ProgrammeChart, follower: Follower) -> str:
    """A thin bar whenever it runs, its name beside the first one or over it."""
    kind = 'class="hatch follow" fill="url(#hatch-follow)"' if follower.comes_and_goes else 'class="layer follow"'
    bars = []
    for begin_s, end_s in follower.spans_s:
        left = _share(chart, begin_s)
        wide = max(_share(chart, end_s) - left, LEAST_SHARE)
        bars.append(f'<rect {kind} x="{percent(min(left, 1 - wide))}" y="76%" width="{percent(wide)}" height="20%"/>')
    texts = []
    for face in FACES:
        labels = Labels(face, LANE_PX)
        spots = []
        for begin_s, end_s in follower.spans_s:
            left, right = _share(chart, begin_s), _share(chart, end_s)
            spots += [Spot(left, 0, 12, "start"), Spot(right, 0, 12, "end")]
        labels.place(follower.name, FIGURE, spots)
        texts.append(labels.svg())
    return "".join((*bars, *texts))


def _share(chart: ProgrammeChart, at_s: float) -> float:
    """Where an instant lies on the programme's axis, 0 to 1."""
    return at_s / chart.length_s
