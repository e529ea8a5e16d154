"""The texts of a drawing as boxes on a screen, read from its SVG."""

import re
import xml.etree.ElementTree as ET
from itertools import combinations

from app.charts.closeup_svg import CloseUpWords
from app.charts.closeup_texts import FACES, LEVEL, MARK, NAME
from app.charts.labels import HOUR, Box, Lettering, Spot, box_px, text_width_px
from app.charts.svg import BESIDE, INSIDE, PEAK, TIGHT, VALUE, WORDS
from app.web.figures import quantity

KINDS: dict[str, Lettering] = {kind.name: kind for kind in (WORDS, VALUE, LEVEL, PEAK, MARK, NAME, HOUR)}
# Which face of which drawing a screen of a width shows; in the day's chart that depends on the page as well.
WIDTHS_PX = (136, 174, 275, 276, 300, 339, 340, 366, 639, 640, 860, 1240)
CLOSE_UP = [(face.name, width_px) for face in FACES for width_px in WIDTHS_PX
            if face.widths_px[0] <= width_px <= face.widths_px[1]]  # fmt: skip
DAY = [(TIGHT.name, width_px) for width_px in (136, 174, 276)]
DAY += [(INSIDE.name, width_px) for width_px in (276, 300, 366, 720)]
DAY += [(BESIDE.name, width_px) for width_px in (300, 366, 680, 860)]

SAID = CloseUpWords(
    label="Close-up",
    mark="6.3 kVA for 4 min: too much",
    limit="inverter, for hours 4.3 kW",
    level="6.0 kVA for 1 min",
    start_limit="for a start 10.0 kVA",
    quantity=quantity,
)


def words_of(drawing: str, face: str = "") -> list[str]:
    """What is written in a drawing, on all faces or on one."""
    return [
        text.text or ""
        for text in ET.fromstring(drawing).iter("text")
        if not face or face in (text.get("class") or "").split()
    ]


def boxes(drawing: str, face: str, width_px: float, high_px: float) -> list[tuple[str, Box]]:
    """Every text of a face with the box it covers in a drawing of that size."""
    found = []
    for text in ET.fromstring(drawing).iter("text"):
        classes = (text.get("class") or "").split()
        if face not in classes:
            continue
        kind = KINDS[classes[0]]
        spot = Spot(
            float(str(text.get("x")).rstrip("%")) / 100,
            float((text.get("dx") or "0em").removesuffix("em")) * kind.size_px,
            float(str(text.get("y")).rstrip("%")) / 100 * high_px,
            str(text.get("text-anchor")),
        )
        said = text.text or ""
        found.append((said, box_px(text_width_px(said, kind), kind, spot, width_px)))
    return found


def collisions(drawing: str, face: str, width_px: float, high_px: float) -> list[tuple[str, str]]:
    """Pairs of texts that lie on each other, by more than a rounding of their places."""
    return [
        (one, other)
        for (one, a), (other, b) in combinations(boxes(drawing, face, width_px, high_px), 2)
        if min(a[2], b[2]) - max(a[0], b[0]) > 0.2 and min(a[3], b[3]) - max(a[1], b[1]) > 0.2
    ]


def limit_y(drawing: str, kind: str, high: int) -> list[tuple[float, float]]:
    """The corners of a limit line: shares of the width, and of the height from the top."""
    path = re.search(rf'class="{kind}" d="M([^"]*)"', drawing)
    assert path is not None
    corners = (corner.split(",") for corner in path[1].split("L"))
    return [(int(x) / 1440, int(y) / high) for x, y in corners]
