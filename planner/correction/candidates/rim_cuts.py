"""Cuts of the rim itself as candidates: turned or milled down over a sector, a flat, a bevelled edge.

One block per kind (and edge) of a counterweight, with one cut at most: who turns a rim does so once.  Against what is there the
sector is looked at in narrow pieces, each a hull that holds its part of the rim; against other new cuts it is one hull, so
that those stay out of it at every radius that the hull covers.  Old rim holes have to lie beside it by the wall: what a
cut over a hole takes off is less than its formula says.
"""

from __future__ import annotations

import math

import numpy as np

from planner.correction.candidates.block import Block, finished
from planner.correction.candidates.effects import rim_cut_amounts
from planner.correction.candidates.fitting import dial_angles_deg, fits
from planner.correction.candidates.sections import BoolArray, FloatArray, Sections, rim_cut_sections
from planner.correction.problem import CorrectionProblem
from planner.cuts.rim_off import flat_half_angle_deg
from planner.rotor.crankshaft import Counterweight, CutKind, Face

PIECE_DEG = 5.0
"""Half the greatest angle of a piece of a sector [deg]."""
GREATEST_SECTOR_DEG = 150.0
"""Wider sectors are not planned: their hull would reach to the shaft."""


def rim_cut_blocks(
    problem: CorrectionProblem, index: int, counterweight: Counterweight, density: float, kind: CutKind
) -> list[Block | None]:
    """Return the blocks of one kind of cut of a counterweight's rim."""
    outline, shop = counterweight.outline, problem.shop
    if outline.rim_radius_mm is None or not outline.rim_arcs_deg:
        return []
    form = counterweight.rim_form()
    rim = form.greatest_radius_mm
    step = shop.rim_cut_step_mm
    offs = step * np.arange(1, math.floor(shop.greatest_rim_cut_mm / step + 1e-9) + 1)
    offs = np.round(offs[offs < rim - outline.inner_radius_mm - shop.least_wall_mm + 1e-9], 9)
    if not offs.size:
        return []
    if kind == "flat":
        sectors = np.array([2.0 * flat_half_angle_deg(greatest_radius_mm=rim, off_mm=float(o)) for o in offs])
        settings = [(offs, sectors, np.zeros(offs.size), np.zeros(offs.size))]
        faces: tuple[Face, ...] = ("front",)
    else:
        if kind == "bevel":
            if counterweight.rim is not None:
                return []  # what a bevel takes off a formed edge is not worked out
            offs = offs[offs < counterweight.thickness_mm * math.tan(math.radians(shop.bevel_slope_deg))]
        settings = [
            (offs, np.full(offs.size, sector), np.full(offs.size, float(family)), np.zeros(offs.size))
            for family, sector in enumerate(sorted(shop.rim_cut_sectors_deg))
        ]
        faces = ("front", "rear") if kind == "bevel" else ("front",)
    off, sector, family, _ = (np.concatenate(each) for each in zip(*settings, strict=True))
    within = sector <= GREATEST_SECTOR_DEG
    off, sector, family = off[within], sector[within], family[within]
    if not off.size:
        return []
    sections = rim_cut_sections(
        outer_radius_mm=np.full(off.size, rim), off_mm=off, half_angle_deg=0.5 * sector
    )
    relative = dial_angles_deg(problem, counterweight)
    legal = _legal(problem, counterweight, off, sector, relative, rim)
    return [
        _block(
            problem,
            index,
            counterweight,
            density,
            kind,
            face,
            (off, sector, family),
            sections,
            relative,
            legal,
        )
        for face in faces
    ]


def _block(
    problem: CorrectionProblem,
    index: int,
    counterweight: Counterweight,
    density: float,
    kind: CutKind,
    face: Face,
    sizes: tuple[FloatArray, FloatArray, FloatArray],
    sections: Sections,
    relative: FloatArray,
    legal: BoolArray,
) -> Block | None:
    off, sector, family = sizes
    amount, cost, offset = rim_cut_amounts(
        kind=kind,
        form=counterweight.rim_form(),
        off_mm=off,
        sector_deg=sector,
        slope_deg=problem.shop.bevel_slope_deg if kind == "bevel" else None,
        face=face,
        density_g_per_cm3=density,
    )
    return finished(
        problem, index, counterweight, kind, legal, relative, sections, np.arange(off.size), 1,
        amount=amount, cost=cost, offset=np.where(np.abs(offset) < 1e-9, 0.0, offset), family=family,
        tool=np.zeros(off.size), depth=off, sector=sector, rear=np.full(off.size, float(face == "rear")),
    )  # fmt: skip


def _legal(
    problem: CorrectionProblem,
    counterweight: Counterweight,
    off: FloatArray,
    sector: FloatArray,
    relative: FloatArray,
    rim: float,
) -> BoolArray:
    """Return at which angles each sector lies on the rim, off the flanks and clear of what is there."""
    legal = np.zeros((off.size, relative.size), dtype=bool)
    wall_deg = math.degrees(math.asin(min(1.0, problem.shop.least_wall_mm / rim)))
    step = problem.shop.angle_step_deg
    depths = np.unique(off)
    narrow = PIECE_DEG / 2.0
    turns = relative.size * step
    even = abs(turns - 360.0) < 1e-6 and step <= 2.0 * narrow
    # one piece at every angle of the dial, at every depth: a sector is a row of such pieces
    pieces = _clear(problem, counterweight, depths, narrow, relative, rim) if even else None
    for wide in np.unique(sector):
        own = np.flatnonzero(sector == wide)
        on_rim = _on_rim(counterweight, relative, 0.5 * wide + wall_deg)
        if not on_rim.any():
            continue
        if pieces is not None and 0.5 * wide >= narrow:
            clear = pieces[np.searchsorted(depths, off[own])]
            legal[own] = on_rim[None, :] & _all_along(clear, 0.5 * wide - narrow, narrow, step)
            continue
        count = max(1, math.ceil(0.5 * wide / PIECE_DEG))
        piece = 0.5 * wide / count
        clear = np.repeat(on_rim[None, :], own.size, axis=0)
        columns = np.flatnonzero(on_rim)
        for number in range(count):
            at = (relative[columns] + (2 * number + 1) * piece - 0.5 * wide + 180.0) % 360.0 - 180.0
            clear[:, columns] &= _clear(problem, counterweight, off[own], piece, at, rim)
        legal[own] = clear
    return legal


def _clear(
    problem: CorrectionProblem,
    counterweight: Counterweight,
    off: FloatArray,
    half_deg: float,
    at: FloatArray,
    rim: float,
) -> BoolArray:
    """Return at which angles pieces of the rim so deep and so wide keep the wall to what is there, shape (depths, angles)."""
    # as high as the tangents at its ends meet: nothing of the rim bulges beyond
    high = rim / math.cos(math.radians(half_deg))
    part = rim_cut_sections(
        outer_radius_mm=np.full(off.size, high),
        off_mm=off + high - rim,
        half_angle_deg=np.full(off.size, half_deg),
    )
    return fits(problem, counterweight, part, at, np.maximum(rim - off, 1e-6))


def _all_along(clear: BoolArray, reach_deg: float, half_deg: float, step_deg: float) -> BoolArray:
    """Return where all pieces of a row are clear: middles up to ``reach_deg`` to either side, none farther apart than wide."""
    last = math.ceil(reach_deg / step_deg - 1e-9)
    stride = max(1, math.floor(2.0 * half_deg / step_deg + 1e-9))
    shifts = sorted({*range(-last, last, stride), last})
    good = np.ones_like(clear)
    for shift in shifts:
        good &= np.roll(clear, -shift, axis=1)
    return good


def _on_rim(counterweight: Counterweight, relative: FloatArray, half_deg: float) -> BoolArray:
    """Return at which angles a sector, the wall at its ends included, lies on one arc of the rim."""
    on_rim = np.zeros(relative.size, dtype=bool)
    for start, end in counterweight.outline.rim_arcs_deg:
        if end - start >= 360.0 - 1e-9:
            return np.ones(relative.size, dtype=bool)
        along = (relative - start) % 360.0
        on_rim |= (along >= half_deg - 1e-9) & (along <= (end - start) - half_deg + 1e-9)
    return on_rim
