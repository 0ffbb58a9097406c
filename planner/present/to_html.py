"""One self-contained HTML document: no outside links, light and dark, print and phone, every text escaped by Jinja2.

The templates, the style and the script are files beside this one; a document has the style and the script within.  Jinja2 is
imported where it is used: most commands make no HTML.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Callable
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.files import write_bytes
from planner.present.drawings.html_svg import drawing_markup
from planner.present.drawings.svg import letters_once
from planner.present.page_colours import DARK, NAMES, variable
from planner.present.to_paper import table_data

if TYPE_CHECKING:
    from planner.present.drawings.picture import Picture

Progress = Callable[[str], None]
_HERE = Path(__file__).parent
_WIDTH_IN = {"full": 9.2, "wide": 4.8, "half": 4.4, "narrow": 3.8, "card": 2.6}
_LEAST_WIDE_IN = 6.0


def save_html(markup: str, target: Path) -> Path:
    """Write a document in one step.

    Raises
    ------
    InputError
        If it can't be written there.
    """
    write_bytes(target, markup.encode("utf-8"))
    return target


def html_page(template: str, content: Any, *, title: str, progress: Progress | None = None) -> str:
    """Return a content as a whole document, painted by a template.

    Parameters
    ----------
    template : str
        Name of a template without its ending: ``sheet``.
    content : object
        What the template paints; texts, tables and `Picture` in it.
    title : str
        The document's title.
    progress : callable, optional
        Called with a short text before every drawing.

    Notes
    -----
    A content policy forbids everything from outside, and every script but the page's own.
    """
    import jinja2
    from markupsafe import Markup

    say = progress or (lambda text: None)

    def drawing(picture: Picture, caption: str = "") -> Markup:
        say(f"drawing: {picture.title}")
        figure = picture.figure(_WIDTH_IN[picture.size])
        markup = drawing_markup(
            figure,
            prefix=picture.name,
            title=picture.title,
            says=picture.says,
            wide=figure.get_size_inches()[0] > _LEAST_WIDE_IN,
            caption=caption,
        )
        return Markup(markup)

    def code(text: str) -> Markup:
        """Return a text escaped; what stands between backticks as code."""
        parts = str(text).split("`")
        if len(parts) % 2 == 0:
            return Markup(escape(text))
        return Markup(
            "".join(
                escape(part) if index % 2 == 0 else f"<code>{escape(part)}</code>"
                for index, part in enumerate(parts)
            )
        )

    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(_HERE / "templates"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    environment.filters.update(
        drawing=drawing, code=code, table=table_data, kind=lambda part: type(part).__name__
    )
    script = (_HERE / "assets" / "page.js").read_text(encoding="utf-8")
    digest = base64.b64encode(hashlib.sha256(script.encode("utf-8")).digest()).decode("ascii")
    policy = f"default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src 'sha256-{digest}'; base-uri 'none'"
    markup = environment.get_template(f"{template}.html").render(
        content=content,
        title=title,
        policy=Markup(policy),
        colours=Markup(colours_css()),
        css=Markup((_HERE / "assets" / "page.css").read_text(encoding="utf-8")),
        script=Markup(script),
    )
    return letters_once(markup)


def colours_css() -> str:
    """Return the colours of a page as the style sheet's variables, light and dark."""
    light = "".join(f"{variable(colour)}:{colour};" for colour in DARK)
    dark = "".join(f"{variable(colour)}:{there};" for colour, there in DARK.items())
    names = "".join(f"--{name}:var({variable(colour)});" for name, colour in NAMES.items())
    return f":root{{{light}{names}}}\n@media screen and (prefers-color-scheme:dark){{:root{{{dark}}}}}"
