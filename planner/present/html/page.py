"""One self-contained HTML document: no outside links, light and dark, print and phone, every text escaped."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Iterable, Sequence
from html import escape

from planner.present.drawings import style
from planner.present.pages.bob_card import Block

DARK = {
    style.INK: "#e8ecf1",
    style.PALE_INK: "#aab4bf",
    style.PAPER: "#14191f",
    style.STEEL: "#2b333c",
    style.GRID.edge: "#47515c",
    style.NEW_HOLE.edge: "#7db7ff",
    style.SLUG.edge: "#e39be6",
    style.SLUG.face: "#6e3a73",
    style.OLD_HOLE.edge: "#9aa5af",
    style.OLD_HOLE.face: "#3d464f",
    style.OLD_SLUG.face: "#574a59",
    style.MADE_CUT.edge: "#f0b95a",
    style.MADE_CUT.face: "#5b4313",
    style.KEEP_OUT.edge: "#ff8a80",
    style.RING.edge: "#6bd39c",
    style.BEARING.face: "#66707a",
}
"""What every colour of the drawings becomes on a dark screen."""


def variable(colour: str) -> str:
    """Return the name under which the page knows a colour of the drawings."""
    return f"--c{colour.lstrip('#').lower()}"


_SCRIPT = """(function(){
var shown=null,kept=null;
function set(n,on){document.querySelectorAll('[data-step="'+n+'"]').forEach(function(e){e.classList.toggle('on',on)})}
function show(n){if(n===shown)return;if(shown!==null)set(shown,false);shown=n;if(n!==null)set(n,true)}
function of(e){var t=e.target&&e.target.closest?e.target.closest('[data-step]'):null;return t?t.getAttribute('data-step'):null}
function keep(n){kept=n===kept?null:n;show(n===null?null:kept)}
document.addEventListener('pointerover',function(e){if(e.pointerType!=='touch')show(of(e)||kept)});
document.addEventListener('focusin',function(e){show(of(e)||kept)});
document.addEventListener('click',function(e){keep(of(e))});
document.addEventListener('keydown',function(e){if(e.key==='Enter')keep(of(e));if(e.key==='Escape'){kept=null;show(null)}});
})();"""

_LIGHT_VARIABLES = "".join(f"{variable(colour)}:{colour};" for colour in DARK)
_DARK_VARIABLES = "".join(f"{variable(colour)}:{dark};" for colour, dark in DARK.items())
_INK, _PALE, _PAPER, _GRID, _RED = (
    f"var({variable(colour)})"
    for colour in (style.INK, style.PALE_INK, style.PAPER, style.GRID.edge, style.KEEP_OUT.edge)
)

_STYLE = f""":root{{color-scheme:light dark;{_LIGHT_VARIABLES}--mark:#fff1c2;--hot:#b04a00}}
@media screen and (prefers-color-scheme:dark){{:root{{{_DARK_VARIABLES}--mark:#4a3d10;--hot:#ffb066}}}}
*{{box-sizing:border-box}}
body{{margin:0 auto;padding:1rem;max-width:64rem;font:1rem/1.45 "DejaVu Sans",Verdana,system-ui,sans-serif;
color:{_INK};background:{_PAPER}}}
h1{{font-size:1.6rem;line-height:1.2;margin:0 0 .5rem}}
h2{{font-size:1.15rem;margin:1.6rem 0 .4rem;border-bottom:1px solid {_GRID};padding-bottom:.2rem}}
p{{margin:.35rem 0}}
code{{font:.95em "DejaVu Sans Mono",Consolas,monospace;white-space:nowrap}}
.head{{display:flex;flex-wrap:wrap;gap:1rem 2rem;justify-content:space-between}}
.head>div{{flex:1 1 18rem}}
.head>figure{{flex:0 1 13rem;margin:0}}
dl{{display:grid;grid-template-columns:max-content 1fr;gap:.1rem 1rem;margin:0}}
dt,.pale,figcaption,caption{{color:{_PALE}}}
dd{{margin:0}}
table{{border-collapse:collapse;width:100%}}
.scroll{{overflow-x:auto}}
.small table{{font-size:.9rem}}
.small th,.small td{{text-align:left;vertical-align:top;padding:.2rem .9rem .2rem 0;border-bottom:1px solid {_GRID}}}
.small thead th{{border-bottom:1px solid {_INK}}}
.cuts{{border-top:2px solid {_INK}}}
.cuts td,.cuts th{{text-align:left;vertical-align:top;padding:.5rem .8rem .6rem 0;border-bottom:1px solid {_GRID}}}
.cuts thead th{{font-weight:normal;color:{_PALE};padding:.2rem .8rem .1rem 0}}
.cuts .n{{font-size:1.4rem;font-weight:bold;padding-left:.5rem;width:3rem}}
.cuts b{{display:block;font-size:1.75rem;line-height:1.15;white-space:nowrap}}
.cuts b.name{{white-space:normal;overflow-wrap:anywhere}}
.cuts td span{{display:block;font-size:.95rem}}
.cuts .box i{{display:block;width:1.8rem;height:1.8rem;border:2px solid {_INK}}}
.cuts .box u{{display:block;min-width:7rem;height:2rem;border-bottom:1px solid {_INK};text-decoration:none}}
.cuts tr[data-step]{{cursor:pointer}}
tr.on,tr[data-step]:hover{{background:var(--mark)}}
tr:focus-visible,.scroll:focus-visible{{outline:3px solid var(--hot);outline-offset:-2px}}
.next{{border:2px solid {_INK};padding:.5rem .8rem;margin:1rem 0}}
.next p{{display:inline-block;font-size:1.35rem;font-weight:bold;margin:.1rem 2.5rem .1rem 0}}
.verdict{{font-size:1.15rem;font-weight:bold}}
.attention{{font-weight:bold}}
.caution{{border:2px solid {_RED};padding:.4rem .8rem;margin:1rem 0;font-size:.9rem}}
.drawings{{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(100%,21rem),1fr));gap:1rem}}
figure{{margin:0;break-inside:avoid}}
svg *{{stroke-linejoin:round;stroke-linecap:butt}}
figure svg{{display:block;width:100%;height:auto}}
.wide svg{{min-width:38rem}}
svg [data-step]{{cursor:pointer}}
svg .on path,svg .on use{{stroke:var(--hot)!important}}
svg g.on[data-part^="head"] use,svg g.on[data-part^="label"] use,svg g.on[data-part*="text"] use,
svg g.on[data-part^="head"] g,svg g.on[data-part^="label"] g,svg g.on[data-part*="text"] g
{{fill:var(--hot)!important;stroke:none!important}}
svg .on path{{stroke-width:3!important}}
svg .on[data-part*="text"] path{{stroke:none!important}}
.ticks{{list-style:none;padding:0;display:grid;grid-template-columns:repeat(auto-fill,minmax(min(100%,20rem),1fr));
gap:.2rem 1rem;margin:.3rem 0}}
.ticks li{{padding-left:1.7rem;position:relative}}
.ticks li i{{position:absolute;left:0;top:.2rem;width:1.1rem;height:1.1rem;border:1.5px solid {_INK};font-style:normal;
line-height:.95rem;text-align:center}}
.sign{{display:flex;flex-wrap:wrap;gap:2rem;margin-top:3.5rem}}
.sign span{{flex:1 1 14rem;border-top:1px solid {_INK};color:{_PALE};padding-top:.2rem}}
@media (max-width:40rem){{
.cuts,.cuts tbody,.cuts tr,.cuts td,.cuts th{{display:block}}
.cuts thead{{position:absolute;clip-path:inset(50%);height:1px;overflow:hidden}}
.cuts tr{{display:grid;grid-template-columns:2.6rem 1fr 1fr;gap:.1rem .8rem;border-bottom:2px solid {_GRID};padding:.5rem 0}}
.cuts td,.cuts th{{border:0;padding:.1rem 0}}
.cuts .n{{grid-row:1/span 3;padding-left:.4rem}}
.cuts td[data-head]::before{{content:attr(data-head);color:{_PALE};font-size:.85rem}}
.cuts .box{{grid-column:2/span 2;display:flex;gap:.8rem;align-items:end}}
.cuts b{{font-size:1.55rem}}}}
@media print{{body{{max-width:none;padding:0;font-size:.8rem}}h2{{break-after:avoid}}
.cuts tr,.next,.caution,.drawings figure,.small tr{{break-inside:avoid}}.scroll{{overflow:visible}}.wide svg{{min-width:0}}}}
"""


def page(title: str, body: str) -> str:
    """Return a whole document; ``body`` is markup already, ``title`` is escaped here.

    A content policy forbids everything from outside, and every script but the page's own.
    """
    digest = base64.b64encode(hashlib.sha256(_SCRIPT.encode("utf-8")).digest()).decode("ascii")
    policy = f"default-src 'none'; style-src 'unsafe-inline'; script-src 'sha256-{digest}'; base-uri 'none'"
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<meta name="color-scheme" content="light dark">\n'
        f"<title>{escape(title)}</title>\n<style>\n{_STYLE}</style>\n</head>\n<body>\n<main>\n{body}\n</main>\n"
        f"<script>{_SCRIPT}</script>\n</body>\n</html>\n"
    )


def text(words: str) -> str:
    """Return a text escaped; what stands between backticks as code."""
    return re.sub(r"`([^`]+)`", r"<code>\1</code>", escape(words))


def paragraphs(lines: Iterable[str], *, kind: str = "") -> str:
    """Return one paragraph per line."""
    attribute = f' class="{kind}"' if kind else ""
    return "\n".join(f"<p{attribute}>{text(line)}</p>" for line in lines)


def facts(pairs: Iterable[tuple[str, str]]) -> str:
    """Return labels with their texts; an empty label goes on with the one before."""
    items: list[str] = []
    for label, words in pairs:
        if label or not items:
            items.append(f"<dt>{text(label)}</dt><dd>{text(words)}</dd>")
        else:
            items[-1] += f'<dd style="grid-column:2">{text(words)}</dd>'
    return f"<dl>{''.join(items)}</dl>"


def table(rows: Sequence[Sequence[str]], *, label: str) -> str:
    """Return a table whose first row is its head and whose first column names the rows; wide ones scroll."""
    head = "".join(f'<th scope="col">{text(cell)}</th>' for cell in rows[0])
    body = "\n".join(
        f'<tr><th scope="row">{text(row[0])}</th>{"".join(f"<td>{text(cell)}</td>" for cell in row[1:])}</tr>'
        for row in rows[1:]
    )
    return (
        f'<div class="scroll small" role="region" aria-label="{escape(label)}" tabindex="0"><table>'
        f"<thead><tr>{head}</tr></thead>\n<tbody>{body}</tbody></table></div>"
    )


def block(content: Block) -> str:
    """Return a block as a section with its heading."""
    parts = [f"<h2>{text(content.title)}</h2>"]
    if content.table:
        parts.append(table(content.table, label=content.title))
    if content.ticks:
        parts.append(f'<ul class="ticks">{"".join(_tick(*each) for each in content.ticks)}</ul>')
    parts.append(paragraphs(content.lines))
    return f"<section>{''.join(parts)}</section>"


def _tick(words: str, state: bool | None) -> str:
    sign, said = {True: ("✓", "on: "), False: ("✗", "not on: "), None: ("", "")}[state]
    hidden = f'<i aria-hidden="true">{sign}</i>'
    spoken = f'<span class="pale">{said}</span>' if said else ""
    return f"<li>{hidden}{spoken}{text(words)}</li>"
