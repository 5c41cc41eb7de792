"""A small reader of HTML for the tests: elements with their attributes and the text a person would see."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser

BLOCK = frozenset({"p", "div", "dt", "dd", "td", "th", "li", "h1", "h2", "h3", "text"})
VOID = frozenset({"meta", "link", "input", "br", "hr", "img", "wbr"})


@dataclass(slots=True)
class Element:
    tag: str
    attributes: dict[str, str]
    children: list["Element | str"] = field(default_factory=list)

    @property
    def classes(self) -> set[str]:
        return set(self.attributes.get("class", "").split())

    def each(self) -> Iterator["Element"]:
        yield self
        for child in self.children:
            if isinstance(child, Element):
                yield from child.each()

    def all(self, tag: str = "", css: str = "", **attributes: str) -> list["Element"]:
        return [
            e
            for e in self.each()
            if (not tag or e.tag == tag)
            and (not css or css in e.classes)
            and all(e.attributes.get(k.replace("_", "-")) == v for k, v in attributes.items())
        ]

    def one(self, tag: str = "", css: str = "", **attributes: str) -> "Element":
        found = self.all(tag, css, **attributes)
        assert len(found) == 1, f"{len(found)} of {tag} {css} {attributes}"
        return found[0]

    @property
    def text(self) -> str:
        return " ".join(self._raw().split())

    def _raw(self) -> str:
        inner = "".join(c if isinstance(c, str) else c._raw() for c in self.children)
        return f" {inner} " if self.tag in BLOCK else inner


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.root = Element("", {})
        self.open = [self.root]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = Element(tag, {k: v or "" for k, v in attrs})
        self.open[-1].children.append(element)
        if tag not in VOID:
            self.open.append(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.open[-1].children.append(Element(tag, {k: v or "" for k, v in attrs}))

    def handle_endtag(self, tag: str) -> None:
        assert self.open[-1].tag == tag, f"</{tag}> closes <{self.open[-1].tag}>"
        self.open.pop()

    def handle_data(self, data: str) -> None:
        self.open[-1].children.append(data)


def read(html: str) -> Element:
    """The document; every element must be closed by its own end tag."""
    reader = _Reader()
    reader.feed(html)
    reader.close()
    assert reader.open == [reader.root], [e.tag for e in reader.open]
    return reader.root
