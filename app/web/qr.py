"""QR codes for pages."""

import segno
from markupsafe import Markup


def qr_svg(text: str) -> Markup:
    """A QR code as SVG, its modules one unit each, with the quiet margin it needs; told by attributes alone."""
    drawn = segno.make(text, error="m", micro=False)
    svg = drawn.svg_inline(svgclass="qr", lineclass=None, omitsize=True, border=4, dark="#000", light="#fff")
    # It stands beside the same address in writing, so nobody needs to hear it.
    return Markup(svg.replace("<svg ", '<svg aria-hidden="true" shape-rendering="crispEdges" ', 1))
