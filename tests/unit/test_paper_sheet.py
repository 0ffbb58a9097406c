"""The shop sheet read back from its PDF: numbers, places, shapes, tags, bytes.

All jobs are invented (see plan_samples).  Angles are checked by own arithmetic on the convention, drawings by fitting the
shapes of the PDF to the crankshaft's own outline.
"""

from __future__ import annotations

import dataclasses
import functools
import math

import numpy as np
import paper_checks as paper
import pypdf
import pytest
import sheet_samples

from planner.frames import TwoPlanes
from planner.present.drawings import style
from planner.present.pages.sheet import sheet_content
from planner.present.to_paper import A4, LETTER, Paper, paper_of, printed_pages
from planner.rotor.vectors import difference_deg
from planner.steps.plan_answer import PlanAnswer
from planner.steps.sheet import SheetAnswer

NAMES = [
    "one cut",
    "eight cuts",
    "slugs",
    "rear view",
    "inches",
    "other outlines",
    "nothing to cut",
    "no plan",
]
RANDOM = [f"random {seed}" for seed in (1, 12)]


@functools.cache
def printed(name: str) -> bytes:
    told = sheet_samples.sample(name)
    size = LETTER if told.answer.job.units.in_inches else A4
    return printed_pages("sheet", sheet_content(told), ending=".pdf", paper=size, title="t").data


@functools.cache
def pages_of(name: str) -> list[paper.Page]:
    return paper.read_pages(printed(name))


def dial_deg(answer: PlanAnswer, angle_deg: float) -> float:
    """The number to dial for a place, from the meaning of the settings alone."""
    machine = answer.job.machine
    grows = 1.0 if (machine.direction == "ccw") == (machine.viewed_from == "front") else -1.0
    return (grows * (angle_deg - machine.zero_deg) + machine.drill_offset_deg) % 360.0


def same(one: float, other: float) -> bool:
    return abs(difference_deg(one, other)) < 0.051


def faults_of_numbers(answer: PlanAnswer, pages: list[paper.Page]) -> list[str]:
    """Return what is wrong with the numbers to be set: each in 48 pt, in order, and no other number called dial."""
    faults = []
    found = [each for page in pages for each in paper.big_numbers(page)]
    dials = [float(text.rstrip("°")) for label, text in found if label == "dialnumber"]
    wanted = [dial_deg(answer, step.cut.angle_deg) for step in answer.steps]
    if len(dials) != len(wanted) or not all(map(same, dials, wanted)):
        faults.append(f"dials {dials}, wanted {wanted}")
    stops = [text for label, text in found if label.startswith("stop")]
    numbers = [text for text in stops if text != "through"]
    per_unit = 25.4 if answer.job.units.in_inches else 1.0
    shop = answer.job.shop
    deep = []
    for step in answer.steps:
        cut = step.cut
        depth = (
            None
            if cut.through or cut.kind == "fill"
            else cut.length_mm
            if cut.kind == "slug"
            else cut.depth_shoulder_mm
        )
        if depth is not None:
            tip = cut.diameter_mm / 2.0 / math.tan(math.radians(shop.point_angle_deg / 2.0))
            deep.append((depth + (tip if shop.depth_to == "tip" else 0.0)) / per_unit)
    if len(numbers) != len(deep) or any(
        abs(float(a) - b) > 0.006 for a, b in zip(numbers, deep, strict=True)
    ):
        faults.append(f"stops {numbers}, wanted {deep}")
    radii = [float(text) for label, text in found if label.startswith("radius")]
    out = [step.cut.radius_mm / per_unit for step in answer.steps if step.cut.radius_mm is not None]
    if len(radii) != len(out) or any(abs(a - b) > 0.051 for a, b in zip(radii, out, strict=True)):
        faults.append(f"radii {radii}, wanted {out}")
    allowed = [*wanted, *(dial_deg(answer, each.angle_deg) for each in answer.problem.counterweights)]
    # what the display shows at 0 is drilled there: at the heavy spot, opposite of what a light-spot display marks
    machine = answer.job.machine
    allowed.append((machine.drill_offset_deg + (180.0 if machine.marks == "light spot" else 0.0)) % 360.0)
    for number in paper.dial_numbers(paper.all_words(pages)):
        if not any(same(number, each) for each in allowed):
            faults.append(f"{number} is called a dial number and is none")
    return faults


def faults_of_cards(answer: PlanAnswer, pages: list[paper.Page]) -> list[str]:
    """Return what is wrong with the drawings on the cards: outline turned so that the hole faces the drill, hole to scale."""
    faults = []
    view = answer.job.machine.viewed_from
    drawn = [
        (outline, holes)
        for page in pages
        if any(label == "dialnumber" for label, _ in paper.big_numbers(page))
        for outline, holes in _card_shapes(page)
    ]
    if len(drawn) != len(answer.steps):
        return [f"{len(drawn)} drawings on cards, {len(answer.steps)} cuts"]
    for step, (outline, holes) in zip(answer.steps, drawn, strict=True):
        turn = 90.0 - step.cut.angle_deg
        expected = paper.as_seen(paper.outline_points(step.counterweight), turn_deg=turn, viewed_from=view)
        if len(outline) != len(expected):
            faults.append(f"cut {step.label}: {len(outline)} corners, {len(expected)} wanted")
            continue
        scale, shift, off = paper.similarity(outline, expected)
        if scale <= 0.0 or off > 0.02:
            faults.append(f"cut {step.label}: the outline is {off:.2f} pt off")
        if step.cut.kind == "rim hole":
            tips = [hole[np.argmin(np.abs(hole - shift))] - shift for hole in holes]
            rim = step.counterweight.outline.greatest_radius_mm
            assert step.cut.depth_shoulder_mm is not None
            drilled = step.cut.diameter_mm + answer.job.shop.hole_oversize_mm
            cone = drilled / 2.0 / math.tan(math.radians(answer.job.shop.point_angle_deg / 2.0))
            wanted = 1j * (rim - step.cut.depth_shoulder_mm - cone)
            # 0.1 mm at the scale of the paper
            if not any(abs(tip / scale - wanted) < 0.1 for tip in tips):
                faults.append(f"cut {step.label}: tips {[tip / scale for tip in tips]}, wanted {wanted}")
    return faults


def _card_shapes(page: paper.Page) -> list[tuple[np.ndarray, list[np.ndarray]]]:
    """Return the outline of every card down the page with the holes to drill now that lie on it."""
    outlines = sorted(paper.filled(page, style.STEEL), key=lambda points: -float(points.imag.max()))
    holes = paper.filled(page, style.NOW)
    bottoms = [float(points.imag.min()) for points in outlines]
    return [
        (
            points,
            [
                hole
                for hole in holes
                if bottom - 90.0 < float(hole.imag.mean()) < float(points.imag.max()) + 20.0
            ],
        )
        for points, bottom in zip(outlines, bottoms, strict=True)
    ]


def faults_of_overview(answer: PlanAnswer, pages: list[paper.Page]) -> list[str]:
    """Return the counterweights whose nearest name in the overview is another's, or that stand at a wrong place."""
    page = next(page for page in pages if "as seen standing before the machine" in page.words)
    subjects = answer.problem.counterweights
    sign = -1.0 if answer.job.planes_z_mm[0] > answer.job.planes_z_mm[1] else 1.0
    top = next(
        each["top"] for each in page.letters if each["size"] > 9.5 and _starts(page, each, "along the shaft")
    )
    boxes = sorted(
        (
            points
            for points in paper.filled(page, style.STEEL)
            if len(points) in (4, 5) and float(points.imag.max()) < -top
        ),
        key=lambda points: -float(points.imag.max()),
    )
    # the overview comes first below its title; counterweights drawn from the end come after it
    found = [points for points in boxes if _upright(points)][: len(subjects)]
    found.sort(key=lambda points: float(points.real.mean()))
    ordered = sorted(subjects, key=lambda each: sign * each.z_mm)
    if len(found) != len(subjects):
        return [f"{len(found)} counterweights in the overview, {len(subjects)} wanted"]
    x = np.array([float(0.5 * (points.real.min() + points.real.max())) for points in found])
    z = np.array([sign * each.z_mm for each in ordered])
    fit = np.polyfit(z, x, 1)
    faults = []
    if np.abs(np.polyval(fit, z) - x).max() > 0.05:
        faults.append("the counterweights do not stand at their z")
    names = {each.name: _places(page, each.name, top) for each in subjects}
    for points, subject in zip(found, ordered, strict=True):
        box = (points.real.min(), -points.imag.max(), points.real.max(), -points.imag.min())
        distance = {
            name: min((_apart(box, place) for place in places), default=math.inf)
            for name, places in names.items()
        }
        nearest = min(distance, key=lambda name: distance[name])
        # bodies that overlap (random ones may) have two names straight below them, equally near
        if distance[subject.name] > distance[nearest] + 0.01:
            faults.append(f"{nearest} is nearest to {subject.name}")
    return faults


def _upright(points: np.ndarray) -> bool:
    return all(min(abs(each.real), abs(each.imag)) < 0.02 for each in np.diff(points))


def _starts(page: paper.Page, letter: dict[str, object], text: str) -> bool:
    index = page.letters.index(letter)
    bare = text.replace(" ", "")
    return "".join(each["text"] for each in page.letters[index : index + len(bare)]) == bare


def _places(page: paper.Page, name: str, top: float) -> list[tuple[float, float, float, float]]:
    """Return the boxes of a one-letter name in the overview."""
    return [
        (each["x0"], each["top"], each["x1"], each["bottom"])
        for index, each in enumerate(page.letters)
        if each["text"] == name
        and top < each["top"] < top + 320.0
        and each["size"] < 9.0
        and not _touches(page.letters, index)
    ]


def _touches(letters: list[dict[str, object]], index: int) -> bool:
    """Whether a letter is a part of a longer word."""
    here = letters[index]
    return any(
        abs(other["top"] - here["top"]) < 1.0
        and min(abs(other["x0"] - here["x1"]), abs(here["x0"] - other["x1"])) < 1.0  # type: ignore[operator]
        for other in letters[max(0, index - 1) : index + 2]
        if other is not here
    )


def _apart(one: tuple[float, ...], other: tuple[float, ...]) -> float:
    across = max(0.0, other[0] - one[2], one[0] - other[2])
    down = max(0.0, other[1] - one[3], one[1] - other[3])
    return math.hypot(across, down)


def faults_of(told: SheetAnswer, pages: list[paper.Page]) -> list[str]:
    """Return everything that is wrong with a sheet."""
    answer = told.answer
    faults = [f"page {n}: {each}" for n, page in enumerate(pages, 1) for each in paper.covered_letters(page)]
    faults += [f"page {n}: {each} outside" for n, page in enumerate(pages, 1) for each in paper.outside(page)]
    faults += faults_of_numbers(answer, pages)
    faults += faults_of_cards(answer, pages)
    return faults + faults_of_overview(answer, pages)


@pytest.mark.parametrize("name", [*NAMES, *RANDOM])
def test_read_back(name: str) -> None:
    assert faults_of(sheet_samples.sample(name), pages_of(name)) == []


def test_a_wrong_number_would_be_found() -> None:
    """The checks are worth something: a sheet held against another offset of the drill fails them."""
    told = sheet_samples.sample("rear view").answer
    machine = dataclasses.replace(told.job.machine, drill_offset_deg=told.job.machine.drill_offset_deg + 1.0)
    other = dataclasses.replace(told, job=dataclasses.replace(told.job, machine=machine))
    assert faults_of_numbers(other, pages_of("rear view"))
    mirrored = dataclasses.replace(told.job.machine, viewed_from="front")
    other = dataclasses.replace(told, job=dataclasses.replace(told.job, machine=mirrored))
    assert faults_of_cards(other, pages_of("rear view"))
    turned = dataclasses.replace(told.job, planes_z_mm=TwoPlanes(*told.job.planes_z_mm[::-1]))
    assert faults_of_overview(dataclasses.replace(told, job=turned), pages_of("rear view"))


@pytest.mark.parametrize("name", ["one cut", "slugs", "inches"])
def test_two_cuts_fit_the_first_page_with_what_it_takes(name: str) -> None:
    told = sheet_samples.sample(name).answer
    first = pages_of(name)[0]
    assert sum(label == "dialnumber" for label, _ in paper.big_numbers(first)) == min(2, len(told.steps))
    assert "CAUTION" in first.words
    assert "in tolerance if cut as planned" in first.words.lower()


def test_equal_sheets_are_equal_bytes() -> None:
    told = sheet_samples.sample("slugs")
    again = printed_pages("sheet", sheet_content(told), ending=".pdf", paper=A4, title="t").data
    assert again == printed("slugs")


def test_an_archive_copy_with_tags() -> None:
    """PDF/A-2a (ISO 19005-2) and PDF/UA-1 (ISO 14289-1) are declared, and the structure tree holds what a reader needs."""
    import io

    reader = pypdf.PdfReader(io.BytesIO(printed("slugs")))
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    packet = root["/Metadata"].get_object().get_data().decode()
    assert "<pdfaid:part>2</pdfaid:part>" in packet
    assert "<pdfaid:conformance>A</pdfaid:conformance>" in packet
    assert "<pdfuaid:part>1</pdfuaid:part>" in packet
    kinds: dict[str, int] = {}
    pictures: list[str] = []

    def walk(node: object) -> None:
        node = node.get_object() if hasattr(node, "get_object") else node
        if isinstance(node, list):
            for each in node:
                walk(each)
        elif isinstance(node, dict):
            kind = str(node.get("/S", ""))
            kinds[kind] = kinds.get(kind, 0) + 1
            if kind == "/Figure":
                pictures.append(str(node.get("/Alt", "")))
            if "/K" in node:
                walk(node["/K"])

    walk(root["/StructTreeRoot"])
    assert kinds["/H1"] == 1
    assert kinds["/H2"] >= 3
    assert kinds["/Table"] >= 2
    assert kinds["/TH"] >= 6
    assert all(pictures)
    assert any("under the drill" in each for each in pictures)
    fonts = {
        str(font.get_object()["/BaseFont"])
        for page in reader.pages
        for font in page["/Resources"].get("/Font", {}).values()
    }
    assert fonts
    assert all("DejaVu" in font for font in fonts)


def test_png_and_svg_have_the_pages_below_each_other() -> None:
    import io
    from xml.etree import ElementTree

    from matplotlib.image import imread

    content = sheet_content(sheet_samples.sample("one cut"))
    count = len(pages_of("one cut"))
    picture = printed_pages("sheet", content, ending=".png", paper=LETTER, title="t")
    assert imread(io.BytesIO(picture.data), format="png").shape[:2] == (1650 * count, 1275)
    drawn = printed_pages("sheet", content, ending=".svg", paper=LETTER, title="a < b")
    root = ElementTree.fromstring(drawn.data)
    assert root.attrib["height"] == f"{792 * count}pt"
    ids = [each.attrib["id"] for each in root.iter() if "id" in each.attrib]
    assert len(ids) == len(set(ids))
    assert drawn.pages == picture.pages == count
    again = printed_pages("sheet", content, ending=".svg", paper=LETTER, title="a < b")
    assert again.data == drawn.data


def test_texts_of_a_job_are_never_markup() -> None:
    hostile = '#panic() *x* _y_ $z$ \\ <label> @ref [a] "quoted" `raw`'
    told = sheet_samples.sample("one cut")
    details = dataclasses.replace(told.answer.job.details, title=hostile, customer=hostile, engine=hostile)
    job = dataclasses.replace(told.answer.job, details=details)
    content = sheet_content(dataclasses.replace(told, answer=dataclasses.replace(told.answer, job=job)))
    pages = paper.read_pages(printed_pages("sheet", content, ending=".pdf", paper=A4, title=hostile).data)
    assert "#panic() *x* _y_ $z$ \\ <label> @ref [a]" in pages[0].words


def test_no_gram_millimetres_in_a_job_in_inches() -> None:
    for name in ("inches", "no plan in inches"):
        told = (
            sheet_samples.in_inches(sheet_samples.sample("no plan")) if name == "no plan in inches" else None
        )
        pages = (
            pages_of(name)
            if told is None
            else paper.read_pages(
                printed_pages("sheet", sheet_content(told), ending=".pdf", paper=LETTER, title="t").data
            )
        )
        words = paper.all_words(pages)
        assert "oz·in" in words
        assert "g·mm" not in words
        assert "g*mm" not in words


def test_letters_that_the_font_lacks_are_said() -> None:
    told = sheet_samples.sample("one cut")

    def notes(title: str) -> tuple[str, ...]:
        details = dataclasses.replace(told.answer.job.details, title=title)
        job = dataclasses.replace(told.answer.job, details=details)
        content = sheet_content(dataclasses.replace(told, answer=dataclasses.replace(told.answer, job=job)))
        made = printed_pages("sheet", content, ending=".pdf", paper=A4, title=title)
        assert made.pages >= 2
        return made.notes

    assert notes("Στρόφαλος, коленчатый вал, vilebrequin forgé") == ()
    (note,) = notes("曲轴 V8")
    assert "曲轴" in note or "曲" in note


def test_paper_is_a4_or_letter() -> None:
    from planner.errors import InputError

    assert paper_of(" a4 ") is A4
    with pytest.raises(InputError, match=r"A3.*A4 and Letter are allowed"):
        paper_of("A3")
    for name, size in (("one cut", (595.28, 841.89)), ("inches", (612.0, 792.0))):
        assert all((page.width, page.height) == pytest.approx(size, abs=0.01) for page in pages_of(name))


def test_the_drawings_of_a_plan_stand_on_real_paper() -> None:
    from planner.present.pages.plan_picture import plan_pictures

    answer = sheet_samples.sample("rear view").answer
    made = printed_pages("plan", plan_pictures(answer), ending=".pdf", paper=A4, title="t")
    pages = paper.read_pages(made.data)
    assert all((page.width, page.height) == pytest.approx((595.28, 841.89), abs=0.01) for page in pages)
    words = paper.all_words(pages)
    for step in answer.steps:
        assert f"{step.number}: dial {dial_deg(answer, step.cut.angle_deg):g}°" in words
    assert "Numbers at counterweights are dial numbers, at vectors display numbers" in words
    assert [each for page in pages for each in paper.covered_letters(page) + paper.outside(page)] == []


def test_many_long_names_and_cuts_fit() -> None:
    """Fourteen counterweights with names of forty letters (Latin, Greek, Cyrillic), twelve cuts, four slugs on one."""
    told = sheet_samples.crowded()
    made = printed_pages("sheet", sheet_content(told), ending=".pdf", paper=A4, title="t")
    assert made.notes == ()
    pages = paper.read_pages(made.data)
    assert [each for page in pages for each in paper.covered_letters(page) + paper.outside(page)] == []
    assert faults_of_numbers(told.answer, pages) == []
    assert faults_of_cards(told.answer, pages) == []
    words = paper.all_words(pages)
    for step in told.answer.steps:
        # whole words, whatever the line breaks
        assert step.cut.counterweight in words


@pytest.mark.parametrize("inches", [False, True])
@pytest.mark.parametrize("size", [A4, LETTER])
def test_two_slugs_and_what_the_next_spin_should_read_stand_on_one_page(inches: bool, size: Paper) -> None:
    told = sheet_samples.sample("slugs")
    slugs = tuple(step for step in told.answer.steps if step.cut.kind == "slug")
    assert len(slugs) == 2
    told = sheet_samples.sheet_from(dataclasses.replace(told.answer, steps=slugs))
    if inches:
        told = sheet_samples.in_inches(told)
    made = printed_pages("sheet", sheet_content(told), ending=".pdf", paper=size, title="t")
    first = paper.read_pages(made.data)[0]
    words = paper.all_words([first]).replace(" ", "")
    assert len([label for label, _ in paper.big_numbers(first) if label == "dialnumber"]) == 2
    assert "Thenextspinshouldread" in words
    assert paper.covered_letters(first) == []
