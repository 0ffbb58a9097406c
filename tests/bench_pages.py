"""A page as its forms, links and texts: what a browser would send when somebody fills them in."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from html import unescape
from html.parser import HTMLParser

from starlette.testclient import TestClient


@dataclass
class PageForm:
    """A form as it stands in the page: where it goes, and what its boxes hold."""

    action: str = ""
    method: str = "get"
    fields: list[tuple[str, str]] = field(default_factory=list)
    buttons: list[tuple[str, str, str]] = field(default_factory=list)

    def filled(self, **typed: str | None) -> list[tuple[str, str]]:
        """Return names and values with some typed in the place of what stands there; None leaves one away."""
        kept = [(name, value) for name, value in self.fields if name not in typed]
        return kept + [(name, value) for name, value in typed.items() if value is not None]


class _Forms(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.forms: list[PageForm] = []
        self.now: PageForm | None = None
        self.select: str | None = None
        self.option: tuple[str, bool] | None = None
        self.options: list[tuple[str, bool]] = []
        self.button: tuple[str, str, str] | None = None
        self.area: tuple[str, str] | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.now = PageForm(action=found.get("action", ""), method=found.get("method", "get"))
            self.forms.append(self.now)
        elif self.now is None:
            return
        elif tag == "input" and "name" in found:
            kind = found.get("type", "text")
            if kind not in ("checkbox", "radio") or "checked" in found:
                self.now.fields.append(
                    (found["name"], found.get("value", "on" if kind == "checkbox" else ""))
                )
        elif tag == "select":
            self.select, self.options = found.get("name", ""), []
        elif tag == "option":
            self.option = (found.get("value", "\0"), "selected" in found)
        elif tag == "textarea":
            self.area = (found.get("name", ""), "")
        elif tag == "button":
            self.button = (found.get("name", ""), found.get("value", ""), "")

    def handle_data(self, data: str) -> None:
        if self.option is not None and self.option[0] == "\0":
            self.option = (data.strip(), self.option[1])
        if self.area is not None:
            self.area = (self.area[0], self.area[1] + data)
        if self.button is not None:
            self.button = (self.button[0], self.button[1], self.button[2] + data)

    def handle_endtag(self, tag: str) -> None:
        if self.now is None:
            return
        if tag == "option" and self.option is not None:
            self.options.append((self.option[0].replace("\0", ""), self.option[1]))
            self.option = None
        elif tag == "select" and self.select is not None:
            chosen = [value for value, is_chosen in self.options if is_chosen]
            if self.options:
                self.now.fields.append((self.select, chosen[-1] if chosen else self.options[0][0]))
            self.select = None
        elif tag == "textarea" and self.area is not None:
            self.now.fields.append(self.area)
            self.area = None
        elif tag == "button" and self.button is not None:
            self.now.buttons.append(self.button)
            self.button = None
        elif tag == "form":
            self.now = None


def forms_of(text: str) -> list[PageForm]:
    """Return the forms of a page."""
    found = _Forms()
    found.feed(text)
    return found.forms


class Page:
    """A browser without a screen: it follows links, fills in forms and reads texts."""

    def __init__(self, client: TestClient) -> None:
        self.client = client
        self.status = 0
        self.html = ""
        self.at = ""
        self.query = ""

    def get(self, path: str) -> Page:
        """Load a page, following where it sends."""
        return self._took(self.client.get(path))

    def submit(self, action: str, *, method: str = "post", having: str = "", **typed: str | None) -> Page:
        """Fill in the form that goes to an address ending so (with a box of a name), and send it."""
        form = self.form(action, method=method, having=having)
        pairs = form.filled(**typed)
        path = form.action or self.at
        if method == "get":
            from urllib.parse import urlencode

            return self.get(f"{path}?{urlencode([pair for pair in pairs if pair[1]])}")
        return self.post(path, pairs)

    def post(self, path: str, pairs: list[tuple[str, str]] | dict[str, str], **headers: str) -> Page:
        """Send names and values."""
        from urllib.parse import urlencode

        body = urlencode(pairs)
        sent = {
            "content-type": "application/x-www-form-urlencoded",
            "origin": "http://127.0.0.1:8000",
            **headers,
        }
        return self._took(self.client.post(path, content=body, headers=sent))

    def form(self, action: str, *, method: str = "post", having: str = "") -> PageForm:
        """Return the first form that goes to an address ending so, with a box of a name."""
        found = forms_of(self.html)
        for each in found:
            if (
                (each.action or self.at).split("?")[0].endswith(action)
                and each.method == method
                and (not having or any(name == having for name, _ in each.fields))
            ):
                return each
        raise AssertionError(f"no form goes to {action}: {[(f.method, f.action) for f in found]}")

    def has_form(self, action: str) -> bool:
        """Return whether the page has a form that goes to an address ending so."""
        return any(each.action.split("?")[0].endswith(action) for each in forms_of(self.html))

    @property
    def text(self) -> str:
        """The page's words, in one line."""
        bare = re.sub(r"<(script|style).*?</\1>", " ", self.html, flags=re.S)
        return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", bare))).strip()

    def _took(self, response: object) -> Page:
        import httpx2 as httpx

        assert isinstance(response, httpx.Response)
        self.status, self.html = response.status_code, response.text
        self.at = response.url.path
        self.query = response.url.query.decode()
        return self
