"""A job as the program sees it: everything checked, in mm, g, g*mm, degrees of the crankshaft frame."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import field
from pathlib import Path
from typing import Literal

from planner.cuts.cut import Cut, Shop
from planner.engine.parts import PartSet
from planner.frames import Dial, DrillSettings, MachineAngle, MachineConvention, TwoPlanes
from planner.jobfile.plausible import Widened
from planner.jobfile.schema.sections import Sections
from planner.machine.spin import KnownError, MountedPart, Spin
from planner.machine.trial_masses import Influence
from planner.quantity import Kind, UnitSystem
from planner.records import dataclass
from planner.rotor.crankshaft import Crankshaft
from planner.rotor.tolerance import ToleranceSpec
from planner.uncertainty.error_model import ErrorModel


@dataclass(frozen=True, kw_only=True)
class JobDetails:
    """What is printed on the sheets; all of it optional.  ``date`` is the file's, never the clock's."""

    title: str = ""
    customer: str = ""
    engine: str = ""
    crankshaft_number: str = ""
    operator: str = ""
    date: datetime.date | None = None


@dataclass(frozen=True, kw_only=True)
class ShopDetails:
    """Who made the record: the shop's name, its lines (address, telephone), the file of its logo."""

    name: str = ""
    lines: tuple[str, ...] = ()
    logo: Path | None = None


@dataclass(frozen=True, kw_only=True)
class StoredStep:
    """A step of the plan as it was shown."""

    number: int
    cut: Cut
    pinned: bool = False


@dataclass(frozen=True, kw_only=True)
class StoredPlan:
    """The plan as it was shown, the spin (1 = first) it belongs to, and a fingerprint of what it was made from.

    ``after_cuts`` is how many cuts had been made after that spin when the plan was made: those are part of what it
    started from, later ones carry out its steps.  ``learned_factor`` is what drilled cuts were taken to remove, in
    multiples of what their sizes say.  ``wish`` says in words what was different from the files when it was made;
    ``withdrawn`` that it was for a spin which was taken back.  ``metal`` is a fingerprint of the cuts made since the spin; only
    what-if plans kept outside the job file have it.  ``shown_under`` is what a number on the dial meant when it was shown,
    None in older files.
    """

    after_spin: int
    steps: tuple[StoredStep, ...]
    basis: str = ""
    after_cuts: int = 0
    learned_factor: float = 1.0
    wish: tuple[str, ...] = ()
    withdrawn: bool = False
    metal: str = ""
    shown_under: DrillSettings | None = None


@dataclass(frozen=True, kw_only=True)
class MadeCut:
    """A cut that was made after a spin (1 = first), for a step of the plan or on its own.

    ``number`` is the cut's own for the life of the job: the step's, or one that no plan had (0: not given yet).
    ``learned_factor`` is that of the plan it was made from (see `StoredPlan`).  ``dial_deg`` is what was dialled and
    ``dialled_under`` what the dial meant then, both None for cuts entered before that was kept: their ``cut.angle_deg``
    stands by itself.  ``stays_under`` are settings for which the user said that the hole is where ``cut.angle_deg`` says
    all the same.
    """

    after_spin: int
    cut: Cut
    step: int | None = None
    number: int = 0
    learned_factor: float = 1.0
    dial_deg: Dial | None = None
    dialled_under: DrillSettings | None = None
    stays_under: DrillSettings | None = None


@dataclass(frozen=True, kw_only=True)
class Undone:
    """A spin or a cut that was taken back: its number then, why (the user's words), its keys as typed.

    A spin's number counts the spins, a cut's is the cut's own.  ``place`` is where it stood in its list (1 = first; 0 in
    older files), ``of`` how many there were, ``cuts_after`` the numbers of the cuts that came after a spin, and
    ``repeated`` says that the next spin repeated it: with these it can be put back.
    """

    what: Literal["spin", "cut"]
    number: int
    place: int = 0
    of: int = 0
    cuts_after: tuple[int, ...] = ()
    repeated: bool = False
    note: str = ""
    values: Mapping[str, object] = field(default_factory=dict)


PROVABLE = ("direction", "zero", "spot", "planes", "unit", "radius", "amounts", "drill_offset")
"""The settings of a machine that a known mass (or a scribed line) proves.  Direction and viewing end act together only."""


@dataclass(frozen=True, kw_only=True)
class Proof:
    """What was proved of a machine's settings: when, by whom, with which mass [g] where.

    ``values`` has the settings proved, each with the value that it had: a setting changed later is not proved any more.
    """

    on: datetime.date | None
    by: str = ""
    mass_g: float | None = None
    places: tuple[str, ...] = ()
    values: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class CylinderEntry:
    """A cylinder of the engine; angles [deg] as everywhere counter-clockwise from the front, lengths [mm]."""

    name: str
    throw: str
    bank_angle_deg: float = 0.0
    z_mm: float | None = None
    rod_length_mm: float | None = None
    offset_mm: float = 0.0


@dataclass(frozen=True, kw_only=True)
class EngineEntry:
    """The ``[engine]`` section."""

    layout: str | None = None
    rotation: str = "cw"
    firing_order: tuple[str, ...] = ()
    reference_axis_deg: float = 0.0


@dataclass(frozen=True, kw_only=True)
class MatchEntry:
    """The ``[match]`` section: grams."""

    tolerance_g: float = 0.5
    greatest_removal_g: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class BobPiece:
    """A kind of piece of the shop's bob set: its weight [g] and how many there are."""

    name: str
    weight_g: float
    count: int


@dataclass(frozen=True, kw_only=True)
class BobSetEntry:
    """The ``[bob_set]`` section."""

    bodies: tuple[BobPiece, ...] = ()
    plates: tuple[BobPiece, ...] = ()
    washers: tuple[BobPiece, ...] = ()


@dataclass(frozen=True, kw_only=True)
class TrialSide:
    """A raw vibration reading of one side: amount in the instrument's unit, phase in machine degrees."""

    amount: float
    phase_deg: float


@dataclass(frozen=True, kw_only=True)
class TrialRun:
    """A run in raw vibration; ``trial_gmm`` and ``mass_plane`` are None for the initial run.

    A side that was not read is None.  ``bobs_g``, ``mounted`` and ``speed_rpm`` are those of all runs, said in the first
    run without a trial mass; ``bobs_g`` is None when nothing is said.  A mass with ``left_on`` is on in all later runs.
    """

    name: str
    left: TrialSide | None
    right: TrialSide | None
    mass_plane: str | None = None
    trial_gmm: float | None = None
    machine_angle_deg: MachineAngle | None = None
    left_on: bool = False
    bobs_g: Mapping[str, float] | None = None
    mounted: tuple[str, ...] = ()
    speed_rpm: float | None = None


@dataclass(frozen=True, kw_only=True)
class JobFiles:
    """Where a job came from; ``machine`` is the file that has its ``[machine]``."""

    job: Path
    shop: Path | None = None
    crankshaft: Path | None = None
    machine: Path | None = None


@dataclass(frozen=True, kw_only=True, repr=False)
class Job:
    """A checked job.

    ``bobs_wanted_g`` has one mass per throw [g] (from ``bob_wanted`` or the parts), or is None when the file says
    neither; then the bobs of a spin are taken as wanted and the answer says so.  ``learned_factor`` is 1 as read from the
    files; other values are those of `planner.steps.removal_ratio`, with ``nominal_crankshaft`` as the files have it.
    ``questions`` are sizes and places that can be but are unusual (see `planner.jobfile.plausible`).
    ``drill_names`` has the drills that the shop calls by number, letter or tap: diameter [mm, 6 decimals] to name.
    """

    files: JobFiles
    details: JobDetails
    units: UnitSystem
    machine: MachineConvention
    planes_z_mm: TwoPlanes[float]
    crankshaft: Crankshaft
    shop: Shop
    tolerance: ToleranceSpec | None = None
    errors: ErrorModel = field(default_factory=ErrorModel)
    parts: PartSet | None = None
    bobs_wanted_g: Mapping[str, float] | None = None
    mounted: tuple[MountedPart, ...] = ()
    known_errors: tuple[KnownError, ...] = ()
    spins: tuple[Spin, ...] = ()
    stored_plan: StoredPlan | None = None
    former_plans: tuple[StoredPlan, ...] = ()
    cuts_made: tuple[MadeCut, ...] = ()
    undone: tuple[Undone, ...] = ()
    fixed_cuts: tuple[Cut, ...] = ()
    engine: EngineEntry = field(default_factory=EngineEntry)
    cylinders: tuple[CylinderEntry, ...] = ()
    match: MatchEntry = field(default_factory=MatchEntry)
    bob_set: BobSetEntry | None = None
    trials: tuple[TrialRun, ...] = ()
    learned_factor: float = 1.0
    nominal_crankshaft: Crankshaft | None = None
    influence: Influence | None = None
    drill_names: Mapping[float, str] = field(default_factory=dict)
    shop_details: ShopDetails = field(default_factory=ShopDetails)
    notes: tuple[str, ...] = ()
    questions: tuple[str, ...] = ()
    plausible: Widened = field(default_factory=Widened, compare=False)
    proofs: tuple[Proof, ...] = ()
    cut_unproved: bool = False
    drill_line: tuple[str, float] | None = None
    sections: Sections | None = field(default=None, compare=False, repr=False)

    def replace(self, **changes: object) -> Job:
        """Return this job as if its files said something else; no file is changed.

        Parameters
        ----------
        **changes
            ``left``, ``right``: the newest spin's readings, ``(amount, angle)`` as the display shows them; ``bobs``,
            ``speed_rpm``, ``mounted``: the rest of that spin.  ``tolerance``: a grade (``"G 6.3"``), an amount for each
            side (``"0.5 oz-in"``), or the section's keys.  A section by its name: a mapping that is merged into it (None
            takes a key out), or a list of mappings for one like ``counterweights``.  Any other name: a key that only one
            section has, for example ``drills=["14 mm", "5/8 in"]``, ``mass="24 kg"``.  Numbers without a unit are in the
            units of the section's file, as they would be there.

        Returns
        -------
        Job
            Checked like a file.

        Raises
        ------
        InputError
            If there is no such key, or several sections have it.
        FileFaultsError
            With every fault that the changed job has.

        Examples
        --------
        >>> import planner as bp
        >>> job = bp.load_job("examples/cross_plane_v8")
        >>> job.replace(left=(1200, 10), drills=["14 mm"]).shop.drills_mm
        (14.0,)
        """
        from planner.jobfile.replace import replaced

        return replaced(self, changes)

    def __repr__(self) -> str:
        """A line that a notebook can show: title, file, counterweights, spins."""
        title = f"{self.details.title!r}, " if self.details.title else ""
        return (
            f"<Job {title}{self.files.job}: counterweights {', '.join(each.name for each in self.crankshaft.counterweights)}; "
            f"spins: {len(self.spins)}; cuts made: {len(self.cuts_made)}>"
        )

    @property
    def filed_crankshaft(self) -> Crankshaft:
        """The crankshaft as the files have it, whatever was learned of its metal."""
        return self.nominal_crankshaft or self.crankshaft

    @property
    def graded_mass_kg(self) -> float | None:
        """The mass that a grade is reckoned with [kg]: of the crankshaft drive where it is said, else of the crankshaft."""
        drive = None if self.tolerance is None else self.tolerance.drive_mass_kg
        return self.crankshaft.mass_kg if drive is None else drive

    @property
    def numbers_used(self) -> frozenset[int]:
        """Every number that a cut of this job ever had: planned, made or taken back."""
        plans = (*self.former_plans, *([] if self.stored_plan is None else [self.stored_plan]))
        numbers = {step.number for plan in plans for step in plan.steps}
        numbers |= {made.number for made in self.cuts_made if made.number}
        for entry in self.undone:
            if entry.what == "cut":
                numbers.add(entry.number)
            step = entry.values.get("step")
            if isinstance(step, int):
                numbers.add(step)
        return frozenset(numbers)

    @property
    def highest_number(self) -> int:
        """The highest number that any cut of this job ever had; 0 when there is none."""
        return max(self.numbers_used, default=0)

    @property
    def display_units(self) -> UnitSystem:
        """The units of what the display shows: the job's, but for a display that has a unit of its own."""
        return self.units.shown_in(self.machine.display_unit)

    @property
    def display_kind(self) -> Kind:
        """What the display's amounts are: masses at the planes' radii, or unbalance."""
        return "mass" if self.machine.mass_at_radius else "unbalance"

    @property
    def display_unit(self) -> str:
        """The unit of the display's amounts."""
        return self.display_units.unit_of(self.display_kind)
