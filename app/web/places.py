"""Places along the time axis without inline styles, which the page's own rules forbid.

A share of the width is spelled by two classes, whole per cents and hundredths: `a27 b78` stands at 27.78 %,
`w3 v89` is 3.89 % wide. Four hundred short rules place anything to a hundredth of a per cent.
"""


def place(left: float, width: float) -> str:
    """The classes that put something at a share of its parent's width, both from 0 to 1.

    >>> place(0.2778, 0.0389)
    'at a27 b78 w3 v89'
    >>> place(0, 1)
    'at w100'
    """
    return " ".join(["at", *_digits(left, "a", "b"), *_digits(width, "w", "v")])


def placing_rules() -> str:
    """The stylesheet's part that gives the classes their meaning."""
    rules = [
        ".at{--a:0;--b:0;--w:0;--v:0}",
        ".at{left:calc((var(--a) + var(--b)/100)*1%);width:calc((var(--w) + var(--v)/100)*1%)}",
    ]
    for letter, last in (("a", 100), ("b", 99), ("w", 100), ("v", 99)):
        rules += [f".{letter}{number}{{--{letter}:{number}}}" for number in range(1, last + 1)]
    return "\n".join(rules) + "\n"


def _digits(share: float, whole: str, part: str) -> list[str]:
    hundredths = round(min(max(share, 0), 1) * 10_000)
    pairs = ((whole, hundredths // 100), (part, hundredths % 100))
    return [f"{letter}{digits}" for letter, digits in pairs if digits]
