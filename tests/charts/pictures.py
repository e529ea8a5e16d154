"""The small pictures beside an editor, read from their SVG: their texts as boxes on a screen."""

import xml.etree.ElementTree as ET
from itertools import combinations

from app.charts.labels import HOUR, Box, Lettering, Spot, box_px, text_width_px
from app.charts.picture import FACES, FIGURE, LEVEL, NAME, ROOT_PX

KINDS: dict[str, Lettering] = {kind.name: kind for kind in (NAME, FIGURE, LEVEL, HOUR)}
WIDTHS_PX = (136, 200, 275, 276, 304, 340, 390, 479, 480, 760, 1240)
SCREENS = [(face.name, width_px) for face in FACES for width_px in WIDTHS_PX
           if face.widths_px[0] <= width_px <= face.widths_px[1]]  # fmt: skip


def texts(drawing: str, face: str, width_px: float) -> list[tuple[str, Box]]:
    """Every text of a face with the box it covers in a picture of that width."""
    picture = ET.fromstring(drawing)
    high_px = float(str(picture.get("height")).removesuffix("rem")) * ROOT_PX
    found = []
    for strip in picture:
        top_px, strip_px = (_share(strip.get(name)) * high_px for name in ("y", "height"))
        for text in strip.iter("text"):
            kind_name, face_name = str(text.get("class")).split()[:2]
            if face_name != face:
                continue
            kind = KINDS[kind_name]
            dx_px = float((text.get("dx") or "0em").removesuffix("em")) * kind.size_px
            y_px = top_px + _share(text.get("y")) * strip_px
            spot = Spot(_share(text.get("x")), dx_px, y_px, str(text.get("text-anchor")))
            said = text.text or ""
            found.append((said, box_px(text_width_px(said, kind), kind, spot, width_px)))
    return found


def said(drawing: str, face: str = "of-phone") -> list[str]:
    """What is written on a face."""
    return [text for text, _ in texts(drawing, face, 340)]


def collisions(drawing: str, face: str, width_px: float) -> list[tuple[str, str]]:
    """Pairs of texts that lie on each other, by more than a rounding of their places."""
    return [
        (one, other)
        for (one, a), (other, b) in combinations(texts(drawing, face, width_px), 2)
        if min(a[2], b[2]) - max(a[0], b[0]) > 0.5 and min(a[3], b[3]) - max(a[1], b[1]) > 0.5
    ]


def well_formed(drawing: str) -> None:
    """It is XML with an accessible name and without a style of its own."""
    picture = ET.fromstring(drawing)
    assert picture.get("role") == "img"
    assert str(picture.get("aria-label")).endswith(".")
    assert "style=" not in drawing
    assert not list(picture.iter("script"))


def _share(percent: str | None) -> float:
    return float(str(percent).removesuffix("%")) / 100
