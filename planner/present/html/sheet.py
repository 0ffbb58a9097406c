"""The shop sheet and the customer's record as self-contained HTML."""

from __future__ import annotations

from collections.abc import Callable
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

from planner.files import write_bytes
from planner.present.drawings.convention import SIZE_IN, plot_convention
from planner.present.drawings.counterweight import labels_height_in, plot_counterweight
from planner.present.drawings.place import own_axes
from planner.present.drawings.plan import touched_counterweights
from planner.present.drawings.save import quiet_about_glyphs
from planner.present.drawings.side import plot_side_view
from planner.present.drawings.vectors import plot_plane_vectors, vector_labels_in, words_below_in
from planner.present.drawings.words import SIDES, vector_words, zero_words
from planner.present.html import page as html
from planner.present.html.drawing import drawing
from planner.present.pages.record import RecordContent, record_content
from planner.present.pages.sheet import CutCard, Fact, SheetContent, sheet_content
from planner.present.sheet.cards import HEADS
from planner.present.sheet.record_page import bars_height_in, plot_before_after
from planner.present.sheet.save import letters_once
from planner.present.words import centre_words, depth_words, drill_words
from planner.steps.plan_answer import PlanAnswer
from planner.steps.sheet import RecordAnswer, SheetAnswer

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Progress = Callable[[str], None]
_PANEL_IN = 4.4
_BARS_IN = 5.6


def save_html(markup: str, target: Path) -> Path:
    """Write a document in one step.

    Raises
    ------
    InputError
        If it can't be written there.
    """
    write_bytes(target, markup.encode("utf-8"))
    return target


@quiet_about_glyphs()
def sheet_html(sheet: SheetAnswer, *, progress: Progress | None = None) -> str:
    """Return the shop sheet as a document."""
    say = progress or (lambda text: None)
    content = sheet_content(sheet)
    answer = sheet.answer
    say("drawing")
    parts = [_head(content, answer), _cuts(content)]
    parts.append(_section("Drawings", _counterweights(answer) + _side_view(answer)))
    say("drawing the vectors")
    parts.append(_section("Vectors", _vectors(answer)))
    parts += [html.block(each) for each in content.blocks]
    return html.page(content.title, letters_once("\n".join(parts)))


@quiet_about_glyphs()
def record_html(record: RecordAnswer) -> str:
    """Return the customer's record as a document."""
    content = record_content(record)
    picture = record.picture
    signatures = "".join(f"<span>{html.text(each)}</span>" for each in content.signatures)
    parts = [
        f"<header><h1>{html.text(content.title)}</h1>{_facts(content.facts)}</header>",
        f'<section><h2>Result</h2><p class="verdict">{html.text(content.verdict.capitalize())}</p>'
        f"{html.paragraphs((f'Limit: {content.limit}.', f'{content.state}.'))}</section>",
        html.block(content.results),
        _bars(content),
        _section("Drawings", _counterweights(picture) + _side_view(picture, made=True)),
        f"<section><h2>Metal out and in</h2>{html.paragraphs(content.metal)}</section>",
        "" if content.cuts is None else html.block(content.cuts),
        "" if content.bobs is None else html.block(content.bobs),
        f'<footer>{html.paragraphs((f"{content.on} {content.reserve}",))}<div class="sign">{signatures}</div></footer>',
    ]
    title = f"{content.title}: {record.job.details.title}" if record.job.details.title else content.title
    return html.page(title, letters_once("\n".join(part for part in parts if part)))


def _facts(facts: tuple[Fact, ...]) -> str:
    return html.facts((fact.label, fact.text) for fact in facts)


def _section(title: str, inside: str) -> str:
    return f"<section><h2>{html.text(title)}</h2>{inside}</section>" if inside else ""


def _head(content: SheetContent, answer: PlanAnswer) -> str:
    ax = own_axes(SIZE_IN[0] + 0.3, SIZE_IN[1] + 0.1, top_in=0.0, bottom_in=0.0)
    plot_convention(answer.job, ax=ax)
    picture = drawing(
        _figure(ax),
        prefix="counting",
        title="How the machine counts",
        says=f"{content.convention}, zero at {zero_words(answer.job)}.",
    )
    caption = f"<figcaption>{html.text(content.convention)}</figcaption></figure>"
    picture = picture.removesuffix("</figure>") + caption
    return f'<header class="head"><div><h1>{html.text(content.title)}</h1>{_facts(content.facts)}</div>{picture}</header>'


def _cuts(content: SheetContent) -> str:
    parts = [f"<h2>{html.text(content.cuts_head)}</h2>", html.paragraphs(content.why)]
    if content.cards:
        columns = ("number", *HEADS[1:])
        head = "".join(f'<th scope="col" role="columnheader">{escape(each)}</th>' for each in columns)
        rows = "\n".join(_card(card) for card in content.cards)
        parts.append(
            f'<table class="cuts" role="table" aria-label="Cuts in order"><thead role="rowgroup"><tr role="row">{head}</tr>'
            f'</thead><tbody role="rowgroup">{rows}</tbody></table>'
        )
        readings = "".join(f"<p>{html.text(f'{side} {words}')}</p>" for side, words in content.next_reading)
        note = html.text(f"The next spin should read, {content.next_note}:")
        parts.append(f'<div class="next"><span class="pale">{note}</span><br>{readings}</div>')
    parts.append(f'<p class="verdict">{html.text(content.verdict)}</p>')
    parts.append(html.paragraphs(content.verdict_rows))
    parts.append(html.paragraphs(content.attention, kind="attention"))
    if content.cards:
        parts.append(html.paragraphs((f"{content.metal}. {content.enter_hint}",)))
    cautions = html.paragraphs(content.cautions)
    parts.append(
        f'<div class="caution" role="note" aria-label="Caution"><strong>Caution</strong>{cautions}</div>'
    )
    return f"<section>{''.join(parts)}</section>"


def _card(card: CutCard) -> str:
    stop = f"<b>{html.text(card.stop)}</b>"
    if card.stop_64th:
        stop += f"<b>{html.text(card.stop_64th)} in</b>"
    stop += "".join(f"<span>{html.text(each)}</span>" for each in (card.stop_note, card.first_pass) if each)
    pinned = '<span class="pale">pinned</span>' if card.pinned else ""
    cells = (
        f'<b class="name">{html.text(card.counterweight)}</b><span>{html.text(card.cut)}</span>{pinned}',
        f"<b>{html.text(card.dial)}</b><span>{html.text(card.place)}</span>",
        f"<b>{html.text(card.drill)}</b>",
        stop,
    )
    body = "".join(
        f'<td role="cell" data-head="{escape(head)}">{cell}</td>'
        for head, cell in zip(HEADS[1:5], cells, strict=True)
    )
    depth = "" if card.stop == "through" else '<u></u><span class="pale">actual depth</span>'
    return (
        f'<tr role="row" tabindex="0" data-step="{card.number}"><th scope="row" role="rowheader" class="n">{card.number}</th>'
        f'{body}<td role="cell" class="box" data-head="done"><i></i>{depth}</td></tr>'
    )


def _counterweights(answer: PlanAnswer) -> str:
    view = answer.job.machine.viewed_from
    figures = []
    for number, counterweight in enumerate(touched_counterweights(answer), start=1):
        high_in = max(3.6, 0.8 * labels_height_in(answer, counterweight) + 0.9)
        ax = own_axes(_PANEL_IN, high_in)
        plot_counterweight(answer, counterweight, viewed_from=view, ax=ax)
        figures.append(
            drawing(
                _figure(ax),
                prefix=f"counterweight-{number}",
                title=f"Counterweight {counterweight.name}, seen from the {view}, to scale",
                says=_steps_words(answer, counterweight.name) or "Only cuts made since the spin.",
            )
        )
    return f'<div class="drawings">{"".join(figures)}</div>' if figures else ""


def _side_view(answer: PlanAnswer, *, made: bool = False) -> str:
    ax = own_axes(9.2, 3.4, bottom_in=0.45)
    plot_side_view(answer, ax=ax)
    if made:
        ax.set_xlabel(ax.get_xlabel().replace("cuts of the plan", "cuts made"))
    cut = ", ".join(f"cut {step.label} on {step.cut.counterweight}" for step in answer.steps)
    names = ", ".join(each.name for each in answer.problem.counterweights)
    says = f"Front at the left. Counterweights {names}. {cut[:1].upper()}{cut[1:]}"
    return drawing(_figure(ax), prefix="side", title="The crankshaft from the side", says=says, wide=True)


def _steps_words(answer: PlanAnswer, name: str) -> str:
    job = answer.job
    return " ".join(
        f"Cut {step.label}: {step.cut.kind}, dial {step.dial_deg:g}°, {centre_words(step, job)}, "
        f"drill {drill_words(job, step.cut.diameter_mm)}, {depth_words(step, job)}."
        for step in answer.steps
        if step.cut.counterweight == name
    )


def _vectors(answer: PlanAnswer) -> str:
    job, view = answer.job, answer.job.machine.viewed_from
    figures = []
    for index, side in enumerate(SIDES):
        for zoom in (False, True):
            below_in = words_below_in(answer, side, width_in=_PANEL_IN - 0.24, zoom=zoom) + 0.05
            high_in = max(2.9, vector_labels_in(answer, side) + 0.1) + 0.55 + below_in
            ax = own_axes(_PANEL_IN, high_in, bottom_in=below_in)
            plot_plane_vectors(answer, side, viewed_from=view, ax=ax, zoom=zoom)
            left = vector_words(answer.residual_gmm[index], job, side)
            now = vector_words(answer.unbalance_gmm[index], job, side)
            says = f"Left over: {left}." if zoom else f"Heavy spot now: {now}; after the cuts: {left}."
            what = "what is left, enlarged" if zoom else "unbalance and what every cut does"
            figures.append(
                drawing(
                    _figure(ax),
                    prefix=f"{side}-{'left-over' if zoom else 'vectors'}",
                    title=f"{side.capitalize()} plane, {what}, seen from the {view}",
                    says=says,
                )
            )
    return f'<div class="drawings">{"".join(figures)}</div>'


def _bars(content: RecordContent) -> str:
    high_in = bars_height_in(content)
    ax = own_axes(_BARS_IN, high_in + 0.1, top_in=0.05, bottom_in=0.05)
    plot_before_after(content, ax=ax, width_in=_BARS_IN - 0.24, height_in=high_in)
    says = "; ".join(f"{bar.place}, {bar.text}" for bar in content.bars)
    picture = drawing(_figure(ax), prefix="bars", title="Before and after against the limit", says=says)
    return f'{picture}<p class="pale">dashed: the limit</p>'


def _figure(ax: Axes) -> Figure:
    from matplotlib.figure import Figure

    figure = ax.figure
    assert isinstance(figure, Figure)
    # the page shows through, whatever its colour
    figure.patch.set_visible(False)
    for each in figure.axes:
        each.patch.set_visible(False)
    return figure
