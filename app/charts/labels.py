"""Where texts go in a drawing, so that none lies on another: estimated boxes, tried place by place.

A drawing stretches with its screen and its texts do not. Places are therefore tried at several widths at once,
and a text that finds none is left out. Pixels here are those of a screen with text of the usual size: where text is
larger the drawing's height and its texts grow alike, so that it is laid out like a narrower one.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from html import escape
from typing import NamedTuple

# Widths of letters in thousandths of the type size, as in the metric-compatible fonts that most screens fall
# back to; whatever is not named is as wide as a digit. From memory, and checked against a browser's own.
_WIDTHS = {
    letter: thousandths
    for letters, thousandths in (
        ("ijl|'", 240), (" .,:;!/()[]ftI\u00a0", 300), ('-r"*', 350), ("cksvxyzJ", 500), ("ABEKPSVXY+<>=", 667),
        ("CDHNRUTFLZw", 723), ("GOQ", 778), ("mM", 840), ("%W@", 1020),
    )
    for letter in letters
}  # fmt: skip
_DIGIT = 556
_SPARE, _BOLD = 1.04, 1.08
_ASCENT, _DESCENT = 0.8, 0.25  # of the type size, above and below the line the letters stand on

BEFORE = {"start": 0.0, "middle": 0.5, "end": 1.0}  # how much of a text stands before its anchor

Box = tuple[float, float, float, float]  # left, top, right, bottom, in pixels


class Lettering(NamedTuple):
    """How a kind of text is set. name: its class in the stylesheet, where its size stands too."""

    name: str
    size_px: float
    bold: bool = False


HOUR = Lettering("hour", 11.5)  # under a time axis


class Spot(NamedTuple):
    """A place for a text.

    x: share of the drawing's width. dx_px: moved right by so much. y_px: the line it stands on, from the top.
    anchor: which end of the text is there, start, middle or end.
    """

    x: float
    dx_px: float
    y_px: float
    anchor: str


@dataclass(frozen=True, slots=True)
class Face:
    """A drawing as one kind of screen shows it; the others' texts are hidden there.

    name: the class of its texts. widths_px: the narrowest and the widest drawing; between them boxes move apart or
    together evenly, so that what is free at both is free at all. left_px, right_px: room for texts outside of it.
    """

    name: str
    widths_px: tuple[float, float]
    left_px: float = 0
    right_px: float = 0


@lru_cache(maxsize=4096)
def text_width_px(text: str, kind: Lettering) -> float:
    """How wide a text is at most, in a font of usual width."""
    thousandths = sum(_WIDTHS.get(letter, _DIGIT if ord(letter) < 0x250 else 1000) for letter in text)
    return thousandths / 1000 * kind.size_px * _SPARE * (_BOLD if kind.bold else 1)


def box_px(wide_px: float, kind: Lettering, spot: Spot, width_px: float) -> Box:
    """What a text so wide covers in a drawing of a width."""
    x, dx_px, y_px, anchor = spot
    left_px = x * width_px + dx_px - wide_px * BEFORE[anchor]
    return left_px, y_px - _ASCENT * kind.size_px, left_px + wide_px, y_px + _DESCENT * kind.size_px


def around(x: float, y_px: float, away_px: float) -> list[Spot]:
    """Places round a point: over it, then at either side."""
    return [
        Spot(x, 0, y_px - away_px, "middle"),
        Spot(x, away_px, y_px + 4, "start"),
        Spot(x, -away_px, y_px + 4, "end"),
        Spot(x, away_px, y_px + 12, "start"),
        Spot(x, -away_px, y_px + 12, "end"),
    ]


class Labels:
    """The texts of one face of a drawing, placed one after the other: the more important the earlier."""

    def __init__(self, face: Face, high_px: float, over_px: float = 0, spare_px: float = 0) -> None:
        """Begin with nothing placed.

        over_px: how far texts may stand over the upper edge. spare_px: what is kept free between two on a line.
        """
        self.face = face
        self._high_px = high_px
        self._over_px = over_px
        self._spare_px = spare_px
        self._taken: list[list[Box]] = [[] for _ in face.widths_px]
        self._drawn: list[str] = []

    def block(self, from_share: float, to_share: float, top_px: float, bottom_px: float, spare_px: float = 0) -> None:
        """Keep texts off an area, so many pixels wider at both sides."""
        for width_px, taken in zip(self.face.widths_px, self._taken, strict=True):
            taken.append((from_share * width_px - spare_px, top_px, to_share * width_px + spare_px, bottom_px))

    def place(self, text: str, kind: Lettering, spots: Iterable[Spot], classes: str = "") -> bool:
        """Put a text on the first spot at which it is free of everything at every width."""
        wide_px = text_width_px(text, kind)
        for spot in spots:
            boxes = []
            for width_px, taken in zip(self.face.widths_px, self._taken, strict=True):
                box = box_px(wide_px, kind, spot, width_px)
                if not self._free(box, width_px, taken):
                    break
                boxes.append(box)
            else:
                for (left_px, top_px, right_px, bottom_px), taken in zip(boxes, self._taken, strict=True):
                    taken.append((left_px - self._spare_px, top_px, right_px + self._spare_px, bottom_px))
                self._drawn.append(self._text(text, kind, spot, classes))
                return True
        return False

    def svg(self) -> str:
        """The texts that found a place."""
        return "".join(self._drawn)

    def _free(self, box: Box, width_px: float, taken: list[Box]) -> bool:
        left_px, top_px, right_px, bottom_px = box
        if left_px < -self.face.left_px or right_px > width_px + self.face.right_px:
            return False
        if top_px < -self._over_px or bottom_px > self._high_px:
            return False
        for left, top, right, bottom in taken:
            if left_px < right and right_px > left and top_px < bottom and bottom_px > top:
                return False
        return True

    def _text(self, text: str, kind: Lettering, spot: Spot, classes: str) -> str:
        x = f'x="{spot.x * 100:.2f}%"' + (f' dx="{spot.dx_px / kind.size_px:.4g}em"' if spot.dx_px else "")
        y = f'y="{spot.y_px / self._high_px * 100:.2f}%"'
        names = f"{kind.name} {self.face.name}{f' {classes}' if classes else ''}"
        return f'<text class="{names}" {x} {y} text-anchor="{spot.anchor}">{escape(text)}</text>'
