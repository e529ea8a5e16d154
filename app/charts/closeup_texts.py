"""The texts of the close-up: the bracket's, those of limits, starts and bands, the most important first."""

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from app.charts.closeup import CloseUp
from app.charts.day import Start
from app.charts.labels import BEFORE, Face, Labels, Lettering, Spot, around, text_width_px
from app.charts.layers import Layer
from app.charts.lines import block_line, on_line
from app.charts.shapes import grid_levels
from app.engine.results import Floats

HIGH = 200  # pixels, and units of the stretched drawing
HEAD = 36  # of these, what is kept for the bracket and the words over the highest line
BRACKET_TOP, BRACKET_BOTTOM = 14, 20

# By the width of the drawing: phones with large text, the smallest phones, phones, and what is wider.
FACES = (Face("tight", (136, 276)), Face("small", (276, 340)), Face("narrow", (340, 640)), Face("wide", (640, 1240)))
MARK, WORDS = Lettering("mark-words", 12.5, True), Lettering("words", 12, True)
NAME, LEVEL = Lettering("band", 11.5, True), Lettering("grid-level", 11.5)
LINE_PX, LEAST_PX = 13.5, 6  # what a band needs to have its name inside, and to have one at all
NAMED, PINNED, TRIED = 10, 4, 3  # bands, starts, and parts of a band that are tried for a name, the largest


@dataclass(frozen=True, slots=True)
class CloseUpWords:
    """What is written in the drawing.

    label: for a screen reader. mark: over the stretch that decides. limit, level, start_limit: on their lines.
    quantity: a value with its unit, of W or VA.
    """

    label: str
    mark: str
    limit: str
    level: str
    start_limit: str
    quantity: Callable[[float, str], str]


class Scale:
    """From watts and volt-amperes to the drawing's height."""

    def __init__(self, part: CloseUp, starts: Sequence[Start]) -> None:
        lines = [part.limit_w, part.worst_w]
        lines += [part.level.va] if part.level else []
        lines += [part.start_limit_va] if part.start_limit_va is not None else []
        self.drawn = max(1.0, *(float(line.max()) for line in lines), *(start.total_va for start in starts))
        self.most = self.drawn * HIGH / (HIGH - HEAD)

    def share(self, value: float) -> float:
        """Share of the height, from the top."""
        return 1 - min(value / self.most, 1.0)

    def y_px(self, values: Floats) -> Floats:
        """Pixels from the top."""
        return HIGH * (1 - np.minimum(values / self.most, 1.0))


class Limit(NamedTuple):
    """A limit line. kind: its classes. y_px: shape of `POINTS`, from the top. words: what stands on it."""

    kind: str
    y_px: Floats
    words: str


class Room(NamedTuple):
    """A rectangle inside a band: shares of the width, pixels from the top, and the band's draw there."""

    from_share: float
    to_share: float
    top_px: float
    bottom_px: float
    draw_w: float
    in_mark: bool

    @property
    def high_px(self) -> float:
        """Its height."""
        return self.bottom_px - self.top_px

    @property
    def worth(self) -> tuple[bool, float]:
        """What decides is named before the rest, what is large before what is small."""
        return self.in_mark, (self.to_share - self.from_share) * self.high_px


class CloseUpTexts:
    """Everything texts have to keep to, found once, and placed for every face."""

    def __init__(
        self, part: CloseUp, scale: Scale, words: CloseUpWords, limits: Sequence[Limit], starts: Sequence[Start]
    ) -> None:
        self._part, self._scale, self._words, self._limits = part, scale, words, limits
        self._mark = part.at_share(part.mark.from_ms), part.at_share(part.mark.to_ms)
        self._shares = ((part.edges_ms - part.from_ms) / (part.to_ms - part.from_ms)).tolist()
        self._tops_px = scale.y_px(part.worst_w).tolist()
        self._starts = sorted(starts, key=lambda one: -one.total_va)
        self._levels = grid_levels(scale.drawn)
        half = bisect_right(self._shares, 0.5)
        self._right = min(self._tops_px[half - 1 :]) >= min(self._tops_px[:half])
        bands = [(rooms, layer.kind.name) for layer in part.layers if (rooms := self._rooms(layer))]
        self._bands = sorted(bands, key=lambda band: band[0][0].worth, reverse=True)[:NAMED]

    def svg(self) -> str:
        """All texts, a set for each face."""
        return "".join(map(self._of_face, FACES))

    def _of_face(self, face: Face) -> str:
        labels = Labels(face, HIGH)
        labels.block(*self._mark, BRACKET_TOP - 0.5, BRACKET_BOTTOM, spare_px=3)
        for limit in self._limits:
            block_line(labels, limit.y_px)
        for start in self._starts:
            x, head_px = self._head(start)
            labels.block(x, x, head_px - 5, HIGH * self._scale.share(start.before_va), spare_px=5)
        self._mark_words(labels)
        for start in self._starts[:1]:
            self._start(labels, start)
        for limit in self._limits:
            wide_px = text_width_px(limit.words, WORDS)
            spots = on_line(labels, limit.y_px, wide_px, 0, at_right=self._right)
            labels.place(limit.words, WORDS, self._clear_first(labels, spots, wide_px))
        for start in self._starts[1:PINNED]:
            self._start(labels, start)
        for rooms, name in self._bands:
            self._name(labels, name, rooms)
        for level in self._levels:
            spot = Spot(0, 2, HIGH * self._scale.share(level) - 4, "start")
            labels.place(f"{level / 1000:g} kW", LEVEL, [spot] if self._clear(labels, spot, 30) else [])
        return labels.svg()

    def _head(self, start: Start) -> tuple[float, float]:
        return self._part.at_share(start.at_ms), HIGH * self._scale.share(start.total_va)

    def _mark_words(self, labels: Labels) -> None:
        if labels.face.name == "tight":
            return  # where it stands over the drawing, on a line of its own
        left, right = self._mark
        spots = [
            Spot(right, 7, BRACKET_TOP + 2, "start"),
            Spot(left, -7, BRACKET_TOP + 2, "end"),
            Spot((left + right) / 2, 0, BRACKET_TOP - 4, "middle"),
            Spot(0, 0, BRACKET_TOP - 4, "start"),
            Spot(1, 0, BRACKET_TOP - 4, "end"),
        ]
        labels.place(self._words.mark, MARK, spots, f"s-{self._part.mark.verdict}")

    def _start(self, labels: Labels, start: Start) -> None:
        figure = self._words.quantity(start.total_va, "VA")
        spots = around(*self._head(start), 8)
        if not labels.place(f"{start.name} {figure}", NAME, spots):
            labels.place(figure, NAME, spots)

    def _name(self, labels: Labels, name: str, rooms: Sequence[Room]) -> None:
        """A band's name and draw inside of it, else beside what decides where that is clear; else the name inside."""
        for room in rooms:
            text = f"{name} {self._words.quantity(room.draw_w, 'W')}"
            wide_px = text_width_px(text, NAME)
            if labels.place(text, NAME, self._inside(labels, room, wide_px)):
                return
            if labels.place(text, NAME, self._beside(labels, room, wide_px)):
                return
        for room in rooms:
            if labels.place(name, NAME, self._inside(labels, room, text_width_px(name, NAME))):
                return

    def _inside(self, labels: Labels, room: Room, wide_px: float) -> Iterator[Spot]:
        spare = (room.to_share - room.from_share) - (wide_px + 8) / labels.face.widths_px[0]
        if room.high_px < LINE_PX or spare < 0:
            return
        middle_px = (room.top_px + room.bottom_px) / 2 + 4
        lines_px = (middle_px, room.top_px + 11, room.bottom_px - 4) if room.high_px > 2 * LINE_PX else (middle_px,)
        for y_px in lines_px:
            for part in (0.5, 0.1, 0.9):
                yield Spot((room.from_share + room.to_share) / 2 + (part - 0.5) * spare, 0, y_px, "middle")

    def _beside(self, labels: Labels, room: Room, wide_px: float) -> Iterator[Spot]:
        spare = (wide_px + 5) / labels.face.widths_px[0]
        if not room.in_mark:
            return
        # Half way up, else higher: what stands beside is mostly lower.
        for part in (0.5, 0.3, 0.1):
            y_px = room.top_px + part * room.high_px + 4
            right, left = Spot(room.to_share, 5, y_px, "start"), Spot(room.from_share, -5, y_px, "end")
            if room.to_share + spare <= 1 and self._clear(labels, right, wide_px):
                yield right
            if room.from_share >= spare and self._clear(labels, left, wide_px):
                yield left

    def _clear_first(self, labels: Labels, spots: Iterator[Spot], wide_px: float) -> Iterator[Spot]:
        """The places over which nothing is drawn before the others."""
        covered = []
        for spot in spots:
            if self._clear(labels, spot, wide_px):
                yield spot
            else:
                covered.append(spot)
        yield from covered

    def _clear(self, labels: Labels, spot: Spot, wide_px: float) -> bool:
        """The stack ends below a text there."""
        wide = (wide_px + abs(spot.dx_px)) / labels.face.widths_px[0]
        left = spot.x - wide * BEFORE[spot.anchor]
        first = max(bisect_right(self._shares, left) - 1, 0)
        tops_px = self._tops_px[first : max(bisect_left(self._shares, left + wide), first + 1)]
        return min(tops_px, default=HIGH) >= spot.y_px + 3

    def _rooms(self, layer: Layer) -> list[Room]:
        """Rectangles inside a band that are worth a name, each with one draw throughout, the worthiest first."""
        rooms: list[Room] = []
        mark_from, mark_to = self._mark
        low_px, high_px = self._scale.y_px(layer.low_w), self._scale.y_px(layer.high_w)
        draws_w = layer.high_w - layer.low_w
        for number in np.flatnonzero(low_px - high_px >= LEAST_PX).tolist():
            bottom_px, top_px, draw_w = float(low_px[number]), float(high_px[number]), float(draws_w[number])
            from_share, to_share = self._shares[number], self._shares[number + 1]
            in_mark = from_share < mark_to and to_share > mark_from
            if rooms and rooms[-1].to_share == from_share and abs(rooms[-1].draw_w - draw_w) < 0.5:
                last = rooms[-1]
                both_top_px, both_bottom_px = max(last.top_px, top_px), min(last.bottom_px, bottom_px)
                if both_bottom_px - both_top_px >= min(LINE_PX, bottom_px - top_px):
                    in_mark = in_mark or last.in_mark
                    rooms[-1] = Room(last.from_share, to_share, both_top_px, both_bottom_px, draw_w, in_mark)
                    continue
            rooms.append(Room(from_share, to_share, top_px, bottom_px, draw_w, in_mark))
        return sorted(rooms, key=lambda room: room.worth, reverse=True)[:TRIED]
