"""A page as tests read it: its elements in order, each with its attributes and all the text inside it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from html import unescape

VOID = {"area", "base", "br", "col", "hr", "img", "input", "link", "meta", "source", "wbr"}


@dataclass
class Element:
    """One element. said: every text of the page, in order; those from `begin` to `end` are inside it."""

    tag: str
    attributes: dict[str, str]
    parent: Element | None
    said: list[str]
    begin: int
    end: int

    def __getitem__(self, name: str) -> str:
        return self.attributes[name]

    def get(self, name: str) -> str | None:
        return self.attributes.get(name)

    @property
    def classes(self) -> list[str]:
        return self.attributes.get("class", "").split()

    @property
    def words(self) -> list[str]:
        """Every text inside, in order."""
        return self.said[self.begin : self.end]

    @property
    def text(self) -> str:
        """All the text inside, white space made single and no-break spaces plain."""
        return " ".join("".join(self.words).replace("\u00a0", " ").split())

    def inside(self, other: Element) -> bool:
        """Whether it lies within another element."""
        above = self.parent
        while above is not None and above is not other:
            above = above.parent
        return above is other


# A comment or a declaration, an end, or a beginning with its attributes; in quotes there may be anything.
TAG = re.compile(
    r"""<(?:!--.*?--|![^>]*|/(?P<end>[a-zA-Z][^\s/>]*)\s*"""
    r"""|(?P<tag>[a-zA-Z][^\s/>]*)(?P<rest>(?:[^>"']++|"[^"]*+"|'[^']*+')*+))>""",
    re.DOTALL,
)
ATTRIBUTE = re.compile(r"""([^\s=/"'>]+)(?:\s*=\s*(?:"([^"]*)"|'([^']*)'|([^\s"'=<>`]+)))?""")
PLAIN = {"script": re.compile("</script>"), "style": re.compile("</style>")}  # what is in them is no markup


class Page:
    """A parsed page or fragment.

    Read by two patterns: the standard library's parser takes longer for a page than the server does.
    """

    def __init__(self, text: str) -> None:
        self.elements: list[Element] = []
        self._open: list[Element] = []
        self._said: list[str] = []
        self._read(text)
        assert not self._open, f"never closed: {[one.tag for one in self._open]}"

    def _read(self, text: str) -> None:
        at = 0
        while (found := TAG.search(text, at)) is not None:
            self._said.append(unescape(text[at : found.start()]))
            at = found.end()
            if (end := found["end"]) is not None:
                self._close(end.lower())
            elif found["tag"] is not None:
                self._begin(found["tag"].lower(), found["rest"])
                if plain := PLAIN.get(found["tag"].lower()):
                    ending = plain.search(text, at)
                    assert ending is not None, f"never closed: {found['tag']}"
                    self._said.append(text[at : ending.start()])
                    at = ending.start()
        self._said.append(unescape(text[at:]))

    def _begin(self, tag: str, rest: str) -> None:
        given = {
            name.lower(): unescape(double or single or bare) for name, double, single, bare in ATTRIBUTE.findall(rest)
        }
        at = len(self._said)
        element = Element(tag, given, self._open[-1] if self._open else None, self._said, at, at)
        self.elements.append(element)
        if tag not in VOID and not rest.endswith("/"):
            self._open.append(element)

    def _close(self, tag: str) -> None:
        assert self._open, f"</{tag}> closes nothing"
        assert self._open[-1].tag == tag, f"</{tag}> closes <{self._open[-1].tag}>"
        self._open.pop().end = len(self._said)

    def all(self, tag: str = "", kind: str = "", **attributes: str) -> list[Element]:
        """Every element of a tag, of a class, with some attributes."""
        return [
            one
            for one in self.elements
            if (not tag or one.tag == tag)
            and (not kind or kind in one.classes)
            and all(one.get(name.replace("_", "-")) == value for name, value in attributes.items())
        ]

    def by_id(self, name: str) -> Element:
        """The one element of that id."""
        (found,) = [one for one in self.elements if one.get("id") == name]
        return found

    def form(self, form: Element) -> dict[str, str]:
        """What a form's hidden fields say."""
        return {
            one["name"]: one["value"]
            for one in self.elements
            if one.tag == "input" and one.get("type") == "hidden" and one.inside(form)
        }
