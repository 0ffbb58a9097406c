"""Cuts made under settings of the machine that are others now: where those holes really are has to be said once.

A number on the dial and the settings of that day say where a hole is.  When the settings change there are two stories: the
setting was wrong when the hole was drilled (then the hole is where the dial says under the mended settings), or the machine
itself was changed afterwards (then the hole stays where it was).  The numbers can't tell them apart, so nothing is planned on
such a hole before the user has said which it is.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import Literal

from planner.errors import InputError, OpenQuestionError
from planner.frames import DrillSettings, ShaftAngle
from planner.jobfile.job import Job, MadeCut
from planner.records import dataclass
from planner.rotor.vectors import difference_deg, wrap_deg

Story = Literal["dialled", "stay"]
STORIES: tuple[Story, ...] = ("dialled", "stay")


@dataclass(frozen=True, kw_only=True)
class OpenCut:
    """A cut whose place has to be said: where it is by either story [deg, crankshaft frame], the change as dial numbers.

    ``dial_now_deg`` is what would be dialled today to bring the hole under the drill if it stayed where it was.
    """

    made: MadeCut
    stays_at_deg: float
    dialled_at_deg: float
    dial_now_deg: float

    @property
    def apart_deg(self) -> float:
        """How far the two stories put the hole apart [deg], positive."""
        return abs(difference_deg(self.stays_at_deg, self.dialled_at_deg))


def open_cuts(job: Job) -> tuple[OpenCut, ...]:
    """Return the cuts made under other settings about which nothing was said yet."""
    now = job.machine.drill_settings
    found = []
    for made in job.cuts_made:
        if made.dial_deg is None or made.dialled_under is None or made.dialled_under.agrees(now):
            continue
        if made.stays_under is not None and made.stays_under.agrees(now):
            continue
        one = OpenCut(
            made=made,
            stays_at_deg=made.cut.angle_deg,
            dialled_at_deg=now.place_deg(made.dial_deg),
            dial_now_deg=job.machine.dial_deg(made.cut.angle_deg),
        )
        # another sense may leave a place where it was
        if one.apart_deg > 1e-5:
            found.append(one)
    return tuple(found)


def cuts_since(job: Job) -> bool:
    """Return whether any of the open cuts was made since the newest spin, so that what is foretold hangs on it."""
    newest = max(
        (number for number, spin in enumerate(job.spins, start=1) if spin.known_mass is None), default=0
    )
    return any(one.made.after_spin >= newest for one in open_cuts(job))


def told(job: Job, stories: Mapping[int, Story]) -> Mapping[int, MadeCut]:
    """Return the open cuts as their stories have them, by their place in the record (0 = first).

    ``stories`` has a story per number of a cut; open cuts that it does not name stay open.
    """
    now = job.machine.drill_settings
    waiting = {one.made.number: one for one in open_cuts(job)}
    decided = {}
    for place, made in enumerate(job.cuts_made):
        one = waiting.get(made.number)
        if one is None or made.number not in stories:
            continue
        if stories[made.number] == "stay":
            decided[place] = dataclasses.replace(made, stays_under=now)
        else:
            cut = dataclasses.replace(made.cut, angle_deg=ShaftAngle(wrap_deg(round(one.dialled_at_deg, 6))))
            decided[place] = dataclasses.replace(made, cut=cut, dialled_under=now, stays_under=None)
    return decided


def read_stories(text: str, waiting: Sequence[OpenCut]) -> dict[int, Story]:
    """Return what was said of open cuts: ``dialled`` or ``stay`` of all, or cut by cut, ``1=dialled,2=stay``.

    Raises
    ------
    InputError
        If there is no such story, or a cut is not among those that are open.
    """
    open_numbers = [one.made.number for one in waiting]
    found: dict[int, Story] = {}
    for part in [each.strip() for each in text.split(",")]:
        number, equals, story = (each.strip() for each in part.rpartition("="))
        if story not in STORIES or (not equals and part != text.strip()):
            raise InputError(
                f"--made-cuts {text}: there is no such answer",
                hint="`dialled` or `stay` for all, or cut by cut: `1=dialled,2=stay`",
            )
        said: Story = "dialled" if story == "dialled" else "stay"
        if not equals:
            return dict.fromkeys(open_numbers, said)
        if (
            not number.isascii()
            or not number.isdigit()
            or int(number) not in open_numbers
            or int(number) in found
        ):
            raise InputError(
                f"--made-cuts {text}: `{number}` is no cut that is asked about"
                + (" once more" if number.isdigit() and int(number) in found else ""),
                hint=f"open: {', '.join(map(str, open_numbers))}",
            )
        found[int(number)] = said
    return found


def ensure_told(job: Job) -> None:
    """Raise the question that stands open about cuts made under other settings.

    Raises
    ------
    OpenQuestionError
        If there is such a cut.
    """
    waiting = open_cuts(job)
    if waiting:
        raise OpenQuestionError(
            "\n".join(question_lines(job, waiting)),
            hint="say which: `bobplan plan --made-cuts dialled` (the setting was wrong when the holes were drilled), or "
            "`bobplan plan --made-cuts stay` (the machine was changed afterwards); cut by cut: `--made-cuts 1=dialled,2=stay`",
        )


def question_lines(job: Job, waiting: tuple[OpenCut, ...]) -> list[str]:
    """Return the question in words, both stories with their places for every cut."""
    first = waiting[0].made
    assert first.dialled_under is not None
    lines = [
        f"[machine] has changed since {'a cut was' if len(waiting) == 1 else 'cuts were'} made "
        f"({change_words(first.dialled_under, job.machine.drill_settings)}): where the holes are must be said first"
    ]
    for one in waiting:
        cut = one.made.cut
        dial = f"{one.made.dial_deg:g}"
        lines.append(
            f"  cut {one.made.number}, {cut.kind} on {cut.counterweight}, dialled at {dial}: "
            f"if the setting was wrong then, the hole is at {dial} on today's dial; if the machine was changed "
            f"afterwards, it is at {one.dial_now_deg:g} ({one.apart_deg:.4g} degrees apart)"
        )
    lines.append("  a look at the crankshaft under the drill tells which")
    return lines


def change_words(before: DrillSettings, after: DrillSettings) -> str:
    """Return in words which settings differ."""
    words = []
    if abs(difference_deg(before.zero_deg, after.zero_deg)) > 1e-6:
        words.append(
            f"the zero was at {before.zero_deg:g} and is at {after.zero_deg:g} degrees of the crankshaft"
        )
    if before.sense != after.sense:
        words.append("the numbers run the other way round")
    if abs(before.offset_deg - after.offset_deg) > 1e-6:
        words.append(f"the drill offset was {before.offset_deg:g} and is {after.offset_deg:g} degrees")
    return ", ".join(words) or "nothing that turns a number on the dial"
