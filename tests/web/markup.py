"""A page as tests read it: its elements in order, each with its attributes and all the text inside it."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = {"area", "base", "br", "col", "hr", "img", "input", "link", "meta", "source", "wbr"}


@dataclass
class Element:
    """One element. words: every text inside it, in order."""

    tag: str
    attributes: dict[str, str]
    parent: Element | None
    words: list[str] = field(default_factory=list)

    def __getitem__(self, name: str) -> str:
        return self.attributes[name]

    def get(self, name: str) -> str | None:
        return self.attributes.get(name)

    @property
    def classes(self) -> list[str]:
        return self.attributes.get("class", "").split()

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


class Page(HTMLParser):
    """A parsed page or fragment."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[Element] = []
        self._open: list[Element] = []
        self.feed(text)
        assert not self._open, f"never closed: {[one.tag for one in self._open]}"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = Element(tag, {name: value or "" for name, value in attrs}, self._open[-1] if self._open else None)
        self.elements.append(element)
        if tag not in VOID:
            self._open.append(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self._open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self._open, f"</{tag}> closes nothing"
        assert self._open[-1].tag == tag, f"</{tag}> closes <{self._open[-1].tag}>"
        self._open.pop()

    def handle_data(self, data: str) -> None:
        for element in self._open:
            element.words.append(data)

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
