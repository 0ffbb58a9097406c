"""A check of HTML by the standard library's parser: tags balanced, ids unique, nothing fetched from outside."""

from __future__ import annotations

import re
from html.parser import HTMLParser

# elements without an end tag (HTML standard, "void elements"; from memory)
VOID = frozenset({"meta", "br", "hr", "img", "input", "link", "source", "col", "area", "base", "wbr"})
FETCHING = (
    "src",
    "href",
    "xlink:href",
    "srcset",
    "action",
    "formaction",
    "data",
    "poster",
    "background",
    "ping",
)


class HtmlCheck(HTMLParser):
    """What a document holds, and what is wrong with it."""

    def __init__(self, markup: str) -> None:
        super().__init__(convert_charrefs=True)
        self.faults: list[str] = []
        self.ids: list[str] = []
        self.used: list[str] = []
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.texts: list[tuple[str, str]] = []
        self.open: list[str] = []
        self.feed(markup)
        self.close()
        self.faults += [f"<{tag}> is never closed" for tag in self.open]
        self.faults += [f"id {name} twice" for name in {n for n in self.ids if self.ids.count(n) > 1}]
        self.faults += [f"#{name} is nowhere" for name in self.used if name not in set(self.ids)]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._look(tag, attrs)
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._look(tag, attrs)

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open[-1] != tag:
            self.faults.append(f"</{tag}> at {self.getpos()} closes {self.open[-1:] or 'nothing'}")
            return
        self.open.pop()

    def handle_data(self, data: str) -> None:
        if data.strip():
            self.texts.append((self.open[-1] if self.open else "", data.strip()))

    def _look(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = {name: value or "" for name, value in attrs}
        if len(found) != len(attrs):
            self.faults.append(f"<{tag}> has an attribute twice at {self.getpos()}")
        self.tags.append((tag, found))
        if "id" in found:
            self.ids.append(found["id"])
            if not found["id"] or re.search(r"\s", found["id"]):
                self.faults.append(f"id `{found['id']}` has blanks")
        for name, value in found.items():
            if name.startswith("on"):
                self.faults.append(f"<{tag} {name}>: a script in an attribute")
            # a picture that its own address holds whole is not fetched
            held = (tag, name) == ("img", "src") and value.startswith("data:image/")
            if name in FETCHING and not value.startswith("#") and not held:
                self.faults.append(f"<{tag} {name}={value}>: from outside")
            if name in FETCHING and value.startswith("#"):
                self.used.append(value[1:])
            self.used += re.findall(r"url\(#([^)]+)\)", value)
            if re.search(r"url\((?!#)", value):
                self.faults.append(f"<{tag} {name}={value}>: from outside")
            if name == "aria-labelledby":
                self.used += value.split()

    def words(self) -> str:
        """Return the text that is read, without style and script."""
        return " ".join(text for tag, text in self.texts if tag not in ("style", "script"))
