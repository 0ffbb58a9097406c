"""The record of everything that could be cut of one kind in one counterweight.

A *setting* is all that the operator chooses except the angle (drill and depth, slug and radius ...).  Its effect
``amount * exp(1j*angle)`` has one signed amount, one axial offset and one cost; its section decides what fits.  A
*block* is one kind of cut in one counterweight.  A new kind of cut is a new block builder (see `blocks`): nothing
else in the search has to know about it.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from planner.correction.candidates.sections import BoolArray, FloatArray, IntArray, Sections
from planner.correction.problem import CorrectionProblem
from planner.cuts.cut import Cut
from planner.frames import ShaftAngle
from planner.records import dataclass
from planner.rotor.crankshaft import Counterweight, CutKind, Face
from planner.rotor.vectors import wrap_deg


@dataclass(frozen=True)
class Block:
    """One kind of cut in one counterweight.

    Attributes
    ----------
    counterweight : int
        Index into the problem's counterweights.
    amount_gmm : ndarray, shape (S,)
        Signed effect of each setting [g*mm]: negative where metal goes.  Within a family its size grows and so
        does the cost, never the ease of fitting.
    offset_mm : ndarray, shape (S,)
        Axial offset of the effect from the counterweight's middle plane [mm].
    cost : ndarray, shape (S,)
        Grams drilled + heavy-metal cost * grams of heavy metal.
    family : ndarray of int, shape (S,)
        Settings of one tool; apart from blind face holes a greater amount in a family never costs less.
    section_of : ndarray of int, shape (S,)
        Index into ``sections``.
    relative_deg : ndarray, shape (A,)
        Angles of the dial that come into question, from the counterweight's centre line, ascending [deg].
    legal : ndarray of bool, shape (C, A)
        Whether a section fits at an angle, apart from other new cuts.
    """

    counterweight: int
    kind: CutKind
    centre_deg: float
    z_mm: float
    amount_gmm: FloatArray
    offset_mm: FloatArray
    cost: FloatArray
    family: IntArray
    tool_mm: FloatArray
    depth_mm: FloatArray
    radius_mm: FloatArray
    length_mm: FloatArray
    through: BoolArray
    rear: BoolArray
    section_of: IntArray
    sections: Sections
    relative_deg: FloatArray
    legal: BoolArray
    step_deg: float
    wall_mm: float
    most_cuts: int = 1000
    from_depth_mm: float | None = None
    """Of a block that deepens a hole: the hole's shoulder depth as it is."""
    from_diameter_mm: float | None = None
    """Of a block that enlarges a hole: its diameter as it is."""
    extent_mm: FloatArray | None = None
    """Of rim holes that may stand beside others along the shaft: from where to where each section reaches there, from the
    middle plane, shape (C, 2); None: every other cut is in the way at any depth."""
    from_middle_mm: FloatArray | None = None
    """Of rim holes: where each setting's axis meets the rim, from the middle plane, shape (S,); None: in it."""
    tilt_deg: float = 0.0
    sector_deg: FloatArray | None = None
    """Of cuts of the rim itself: the whole angle that each setting takes [deg], shape (S,)."""
    slope_deg: float | None = None
    """Of bevels: the slope [deg]."""
    in_half: Face | None = None
    """Of blind face holes and slugs that stay in the half of the thickness at this face: one from the other face, in its
    own half, is in nobody's way."""

    @property
    def has_offset(self) -> bool:
        """Whether some effect acts outside the counterweight's middle plane."""
        return bool(np.any(self.offset_mm != 0.0))

    def legal_settings(self) -> BoolArray:
        """Return ``legal`` per setting, shape (S, A)."""
        if self.legal.shape[0] == self.section_of.size and np.array_equal(
            self.section_of, np.arange(self.section_of.size)
        ):
            return self.legal  # one section per setting: no copy of what may be large
        return np.asarray(self.legal[self.section_of])

    def angle_deg(self, index: int) -> float:
        """Return a dial angle in the crankshaft frame [deg], cleared of rounding dust."""
        return wrap_deg(round(self.centre_deg + float(self.relative_deg[index]), 9))

    def cut(self, setting: int, angle: int, name: str) -> Cut:
        """Return the record of one cut of this block."""
        depth, radius, length = (
            None if math.isnan(float(values[setting])) else float(values[setting])
            for values in (self.depth_mm, self.radius_mm, self.length_mm)
        )
        return Cut(
            kind=self.kind,
            counterweight=name,
            angle_deg=ShaftAngle(self.angle_deg(angle)),
            diameter_mm=float(self.tool_mm[setting]),
            depth_shoulder_mm=depth,
            radius_mm=radius,
            length_mm=length,
            through=bool(self.through[setting]),
            face="rear" if self.rear[setting] else "front",
            from_depth_mm=self.from_depth_mm,
            from_diameter_mm=self.from_diameter_mm,
            from_middle_mm=0.0 if self.from_middle_mm is None else float(self.from_middle_mm[setting]),
            tilt_deg=self.tilt_deg,
            sector_deg=None
            if self.sector_deg is None or self.kind == "flat"
            else float(self.sector_deg[setting]),
            slope_deg=self.slope_deg,
        )


@dataclass(frozen=True)
class Row:
    """Rim holes of one row: where each section reaches along the shaft, shape (C, 2) [mm], and their tilt [deg]."""

    extent_mm: FloatArray
    tilt_deg: float


def finished(
    problem: CorrectionProblem,
    index: int,
    counterweight: Counterweight,
    kind: CutKind,
    legal: BoolArray,
    relative_deg: FloatArray,
    sections: Sections,
    section_of: IntArray,
    most_cuts: int = 1000,
    from_depth_mm: float | None = None,
    row: Row | None = None,
    **settings: FloatArray,
) -> Block | None:
    """Return the block without the angles and settings that never fit; None if nothing is left."""
    fitting: BoolArray = np.asarray(legal.any(axis=1))
    columns = np.flatnonzero(legal.any(axis=0))
    keep: BoolArray = np.asarray(fitting[section_of] & (np.abs(settings["amount"]) > 0.0))
    if not keep.any():
        return None
    count = section_of.size
    nothing = np.full(count, np.nan)
    chosen = np.flatnonzero(fitting)
    renumber = np.full(fitting.size, -1)
    renumber[chosen] = np.arange(chosen.size)
    return Block(
        counterweight=index,
        kind=kind,
        centre_deg=counterweight.angle_deg,
        z_mm=counterweight.z_mm,
        amount_gmm=settings["amount"][keep],
        offset_mm=settings.get("offset", np.zeros(count))[keep],
        cost=settings["cost"][keep],
        family=settings["family"][keep].astype(np.int64),
        tool_mm=settings["tool"][keep],
        depth_mm=settings.get("depth", nothing)[keep],
        radius_mm=settings.get("radius", nothing)[keep],
        length_mm=settings.get("length", nothing)[keep],
        through=settings.get("through", np.zeros(count))[keep].astype(bool),
        rear=settings.get("rear", np.zeros(count))[keep].astype(bool),
        section_of=renumber[section_of[keep]],
        sections=sections.take(chosen),
        relative_deg=relative_deg[columns],
        legal=legal[np.ix_(chosen, columns)],
        step_deg=problem.shop.angle_step_deg,
        wall_mm=problem.shop.least_wall_mm,
        most_cuts=most_cuts,
        from_depth_mm=from_depth_mm,
        extent_mm=None if row is None else row.extent_mm[chosen],
        from_middle_mm=settings["from_middle"][keep] if "from_middle" in settings else None,
        tilt_deg=0.0 if row is None else row.tilt_deg,
        sector_deg=settings["sector"][keep] if "sector" in settings else None,
        slope_deg=problem.shop.bevel_slope_deg if kind == "bevel" else None,
    )


def only_drill(blocks: list[Block], drill_mm: float) -> list[Block]:
    """Return the blocks with all holes made by one drill; slugs, fills and what is done without a drill stay."""
    return [
        kept
        for block in blocks
        if (
            kept := block
            if block.kind not in ("rim hole", "face hole")
            else _with_settings(block, block.tool_mm == drill_mm)
        )
        is not None
    ]


def only_tool(blocks: list[Block], tool_mm: float) -> list[Block]:
    """Return the blocks with all cuts of one size, slugs and fills too."""
    found = (_with_settings(block, block.tool_mm == tool_mm) for block in blocks)
    return [block for block in found if block is not None]


def _with_settings(block: Block, keep: BoolArray) -> Block | None:
    """Return the block with some of its settings, sections and angles that serve no other left out."""
    if not keep.any():
        return None
    used = np.unique(block.section_of[keep])
    columns = np.flatnonzero(block.legal[used].any(axis=0))
    renumber = np.full(len(block.sections), -1)
    renumber[used] = np.arange(used.size)
    per_setting = {
        name: getattr(block, name)[keep]
        for name in (
            "amount_gmm",
            "offset_mm",
            "cost",
            "family",
            "tool_mm",
            "depth_mm",
            "radius_mm",
            "length_mm",
            "through",
            "rear",
        )
    }
    return replace(
        block,
        section_of=renumber[block.section_of[keep]],
        sections=block.sections.take(used),
        relative_deg=block.relative_deg[columns],
        legal=block.legal[np.ix_(used, columns)],
        extent_mm=None if block.extent_mm is None else block.extent_mm[used],
        from_middle_mm=None if block.from_middle_mm is None else block.from_middle_mm[keep],
        sector_deg=None if block.sector_deg is None else block.sector_deg[keep],
        **per_setting,
    )
