"""Shop: the machine's settings, drills, slugs and limits in plain words; changed in the file that has them."""

from __future__ import annotations

import itertools
import re
import tomllib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from starlette.responses import Response

from planner.bench.page import Call, Form, go, show_part
from planner.bench.seen import ensure_unchanged
from planner.bench.typed import list_with_points, with_point
from planner.errors import BobplanError, InputError
from planner.files import read_bytes
from planner.jobfile import render
from planner.jobfile.defaults import SHOP_DEFAULTS
from planner.jobfile.job import Job
from planner.jobfile.loaded import load_known
from planner.jobfile.new_job.checks import checked
from planner.jobfile.new_job.questions import question_of
from planner.jobfile.new_job.text import toml_value
from planner.jobfile.read import section_files
from planner.jobfile.schema.sections import Sections
from planner.jobfile.sources import GREATEST_FILE_BYTES
from planner.jobfile.write import WouldNotLoadError, write_settings
from planner.present.document import document
from planner.present.drawings.live import end_view_svg
from planner.present.pages.prove import state_block
from planner.present.words import convention_words, counting_words, dial_words, zero_words
from planner.rotor.materials import HEAVY_ALLOYS

_MOST_LOOKED_AT = 3000
_SHOWN = 8


@dataclass(frozen=True, kw_only=True)
class Setting:
    """A key of ``[machine]`` or ``[shop]`` that the page changes.

    ``kind``: choice, length, number, count, sizes (lengths with commas), zero, class (of heavy metal) or flag (yes or no);
    ``choices`` are values with their words; ``note`` says how it is found out.
    """

    section: str
    key: str
    label: str
    kind: str
    choices: tuple[tuple[str, str], ...] = ()
    note: str = ""

    @property
    def name(self) -> str:
        """What the box is called in the form."""
        return f"{self.section}.{self.key}"


def _how(key: str) -> str:
    question = question_of(key)
    return "" if question is None else question.how


MACHINE = (
    Setting(
        section="machine",
        key="angle_direction",
        label="its numbers grow",
        kind="choice",
        choices=(("ccw", "counter-clockwise"), ("cw", "clockwise")),
        note=_how("angle_direction"),
    ),
    Setting(
        section="machine",
        key="viewed_from",
        label="as seen from the",
        kind="choice",
        choices=(("front", "front (nose)"), ("rear", "rear (flange)")),
        note=_how("viewed_from"),
    ),
    Setting(
        section="machine",
        key="angle_zero",
        label="its 0 is at",
        kind="zero",
        note=f"`throw 1`, or degrees in the crankshaft's own frame; {_how('angle_zero')}",
    ),
    Setting(
        section="machine",
        key="angle_marks",
        label="the angle shown marks the",
        kind="choice",
        choices=(
            ("heavy spot", "heavy spot: metal comes off there"),
            ("light spot", "light spot: metal goes on there"),
        ),
        note=_how("angle_marks"),
    ),
    Setting(
        section="machine",
        key="drill_offset",
        label="degrees from the pointer to the drill",
        kind="number",
        note=_how("drill_offset"),
    ),
)

SHOP = (
    Setting(section="shop", key="drills", label="drills at hand", kind="sizes", note=_how("drills")),
    Setting(
        section="shop",
        key="depth_to",
        label="the depth stop counts to the drill's",
        kind="choice",
        choices=(("shoulder", "shoulder"), ("tip", "tip")),
        note=_how("depth_to"),
    ),
    Setting(section="shop", key="greatest_depth", label="no hole deeper than", kind="length"),
    Setting(section="shop", key="least_depth", label="no hole shallower than", kind="length"),
    Setting(section="shop", key="depth_step", label="steps of a depth", kind="length"),
    Setting(section="shop", key="angle_step", label="steps of the dial, degrees", kind="number"),
    Setting(section="shop", key="least_wall", label="least wall that stays", kind="length"),
    Setting(section="shop", key="hole_oversize", label="holes come out larger by", kind="length"),
    Setting(section="shop", key="point_angle", label="point angle of the drills, degrees", kind="number"),
    Setting(section="shop", key="slug_diameters", label="heavy metal at hand, diameters", kind="sizes"),
    Setting(
        section="shop",
        key="slug_class",
        label="heavy metal",
        kind="class",
        choices=tuple((each.name, f"{each.name}: {each.density_g_per_cm3:g} g/cm3") for each in HEAVY_ALLOYS),
    ),
    Setting(
        section="shop",
        key="slug_density",
        label="density of the heavy metal, g/cm3",
        kind="number",
        note="weigh a slug: its mass by its volume beats any table",
    ),
    Setting(
        section="shop",
        key="slug_lengths",
        label="lengths in stock (empty: cut to fit)",
        kind="sizes",
    ),
    Setting(section="shop", key="slug_stack", label="slugs on one another in a bore, at most", kind="count"),
    Setting(section="shop", key="slug_radius_step", label="steps of a slug's radius", kind="length"),
    Setting(
        section="shop",
        key="heavy_metal",
        label="heavy metal comes into question",
        kind="choice",
        choices=(
            ("if needed", "only if drilling can't do it"),
            ("allowed", "whenever it is better"),
            ("never", "never"),
        ),
    ),
    Setting(
        section="shop",
        key="enlarge_holes",
        label="open holes may be drilled out wider",
        kind="flag",
        choices=(("true", "yes"), ("false", "no")),
    ),
    Setting(
        section="shop",
        key="opposite_face_holes",
        label="holes from both faces, opposite one another",
        kind="flag",
        choices=(("true", "yes"), ("false", "no")),
    ),
    Setting(
        section="shop",
        key="wanted_chance",
        label="chance wanted that the next spin passes, 0.5 to 0.999",
        kind="number",
    ),
)


@dataclass(frozen=True, kw_only=True)
class Box:
    """A setting as it is shown: what stands in the file (or was typed), what counts without, what is wrong with it."""

    setting: Setting
    value: str
    default: str
    unit: str
    wrong: str = ""


class WrongBoxesError(InputError):
    """Some boxes can't be taken as they are; ``wrong`` has what is said beside each."""

    def __init__(self, wrong: dict[str, str]) -> None:
        self.wrong = wrong
        count = len(wrong)
        super().__init__(
            f"{count} {'box' if count == 1 else 'boxes'} can't be taken as typed",
            hint="nothing was changed; what is wrong stands beside each",
        )


def shop_page(call: Call, *, typed: Form | None = None, error: BobplanError | None = None) -> Response:
    """Return the shop: what is proved, how the machine counts, drills and limits."""
    job = call.job()
    form = typed or Form()
    wrong = error.wrong if isinstance(error, WrongBoxesError) else {}
    status = None if error is None else 409 if hasattr(error, "changed") else 422
    files = files_of(job)
    machine_file, shop_file = (files.get(each, job.files.job) for each in ("machine", "shop"))
    others = {
        path: others_using(call, path) if path != job.files.job else () for path in {machine_file, shop_file}
    }
    by_mass = job.machine.mass_at_radius
    return show_part(
        call,
        "shop",
        job,
        error=error,
        status=status,
        typed=form,
        state=document(state_block(job)),
        convention=convention_words(job.machine),
        counting=f"The numbers grow {counting_words(job.machine)}, zero at {zero_words(job)}.",
        dial=dial_words(job),
        drawing=end_view_svg(job),
        shows=(
            f"The display shows {'masses at the planes’ radii' if by_mass else 'unbalance'} in "
            f"{job.display_units.unit_of('mass' if by_mass else 'unbalance')}."
        ),
        machine=[_box(job, each, form, wrong) for each in MACHINE],
        shop=[_box(job, each, form, wrong) for each in SHOP if _applies(job, each)],
        machine_file=file_words(call, machine_file),
        shop_file=file_words(call, shop_file),
        machine_others=others[machine_file],
        shop_others=others[shop_file],
        written=call.query.get("written"),
        has_cuts=bool(job.cuts_made),
        has_spins=bool(job.spins),
    )


def change_shop(call: Call) -> Response:
    """Write what was changed into the file that has it; nothing else in it changes."""
    try:
        written = _change(call)
    except BobplanError as error:
        return shop_page(call, typed=call.form, error=error)
    return go(call.to("shop", written=" and ".join(path.name for path in written) or "nothing"))


def _change(call: Call) -> tuple[Path, ...]:
    form = call.form
    job = call.job()
    ensure_unchanged(form.get("seen"), job)
    asked = {"machine": MACHINE, "shop": SHOP}.get(form.get("act"))
    if asked is None:
        raise InputError("this form does not say what it is for", hint="load the page again")
    wrong: dict[str, str] = {}
    changes: dict[str, dict[str, str]] = {}
    for each in asked:
        if each.name not in form or not _applies(job, each):
            continue
        try:
            value = _changed(job, each, form.get(each.name))
        except InputError as error:
            wrong[each.name] = f"{error.message}{f' ({error.hint})' if error.hint else ''}"
            continue
        if value is not None:
            changes.setdefault(each.section, {})[each.key] = value
    if wrong:
        raise WrongBoxesError(wrong)
    if not changes:
        return ()
    files = files_of(job)
    for section in changes:
        call.folder.ensure_inside(files.get(section, job.files.job))

    def still() -> None:
        ensure_unchanged(form.get("seen"), load_known(job.files.job))

    try:
        return write_settings(job, changes, still=still)
    except WouldNotLoadError as error:
        said = {
            each.name: "; ".join(
                f"{fault.allowed}{f' ({fault.hint})' if fault.hint else ''}"
                for fault in error.faults
                if fault.path.partition("[")[0] == each.name
            )
            for each in asked
        }
        wrong = {name: words for name, words in said.items() if words}
        named = {fault for fault in error.faults if fault.path.partition("[")[0] in wrong}
        if len(named) < len(error.faults):
            raise
        raise WrongBoxesError(wrong) from None


def _applies(job: Job, setting: Setting) -> bool:
    """Return whether a setting has a box: density and class of heavy metal exclude one another."""
    raw = sections_of(job).raw("shop") or {}
    if setting.key == "slug_class":
        return "slug_class" in raw
    if setting.key == "slug_density":
        return "slug_class" not in raw
    return True


def _raw(job: Job, setting: Setting) -> str | None:
    """Return a setting as it stands in its file; None when it does not."""
    raw = sections_of(job).raw(setting.section)
    value = raw.get(setting.key) if isinstance(raw, dict) else None
    if value is None:
        return None
    if isinstance(value, list):
        return ", ".join(_shown(each) for each in value)
    return _shown(value)


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float):
        return render.number(value)
    return str(value)


def _box(job: Job, setting: Setting, form: Form, wrong: dict[str, str]) -> Box:
    units = sections_of(job).units(setting.section)
    there = _raw(job, setting)
    found = next(
        (each for each in SHOP_DEFAULTS if each.key == setting.key and setting.section == "shop"), None
    )
    default = "0" if setting.key == "drill_offset" else ""
    if found is not None:
        value = found.inch if units.in_inches else found.metric
        default = ", ".join(map(str, value)) if isinstance(value, tuple) else _shown(value)
        default = dict(setting.choices).get(default, default)
    return Box(
        setting=setting,
        value=form.get(setting.name) if setting.name in form else there or "",
        default=default,
        unit=units.length if setting.kind in ("length", "sizes") else "",
        wrong=wrong.get(setting.name, ""),
    )


def _changed(job: Job, setting: Setting, text: str) -> str | None:
    """Return a setting's new value as TOML; None when it stays as it is.

    Raises
    ------
    InputError
        If it can't be read.
    """
    there = _raw(job, setting)
    if text == (there or ""):
        return None
    if len(text) > 500:
        raise InputError("that is too long")
    if not text:
        if setting.kind == "sizes" and setting.key != "drills":
            return "[]"
        raise InputError("it can't be left empty once it is said", hint="type what counts instead")
    value = _READ[setting.kind](job, setting, text)
    # a text that only looks different, `10,12` for `10, 12`, is no change
    return None if there is not None and value == _toml_of(job, setting) else value


def _toml_of(job: Job, setting: Setting) -> str:
    raw = sections_of(job).raw(setting.section)[setting.key]
    if isinstance(raw, list):
        return f"[{', '.join(_one(each) for each in raw)}]"
    return _one(raw)


def _one(value: object) -> str:
    return render.text(value) if isinstance(value, str) else _shown(value)


def _choice(job: Job, setting: Setting, text: str) -> str:
    if text not in [value for value, _ in setting.choices]:
        raise InputError(f"given `{text}`", hint=f"allowed: {', '.join(v for v, _ in setting.choices)}")
    return render.text(text)


def _flag(job: Job, setting: Setting, text: str) -> str:
    _choice(job, setting, text)
    return text


def _length(job: Job, setting: Setting, text: str) -> str:
    text = with_point(text, name=setting.label)
    sections_of(job).units("shop").parse(text, "length", name=setting.label, least=0.0)
    return toml_value(text)


def _number(job: Job, setting: Setting, text: str) -> str:
    from planner.quantity import finite_number

    return render.number(finite_number(with_point(text, name=setting.label), what=setting.label))


def _count(job: Job, setting: Setting, text: str) -> str:
    if not text.isascii() or not text.isdigit() or len(text) > 3:
        raise InputError(f"given `{text}`, a whole number is wanted")
    return str(int(text))


def _sizes(job: Job, setting: Setting, text: str) -> str:
    units = {"units": "in" if sections_of(job).units("shop").in_inches else "mm"}
    question = question_of("drills")
    assert question is not None
    pointed = list_with_points(text, name=setting.label, one="unclear")
    sizes = checked(question, pointed, units)
    return f"[{', '.join(toml_value(each.strip()) for each in sizes.split(','))}]"


def _zero(job: Job, setting: Setting, text: str) -> str:
    question = question_of("angle_zero")
    assert question is not None
    found = checked(question, with_point(text, name=setting.label), {})
    if found.startswith("throw "):
        names = [f"throw {each.name}" for each in job.crankshaft.throws]
        if found not in names:
            raise InputError(f"there is no {found}", hint=f"the throws are {', '.join(names)}")
        return render.text(found)
    return render.number(float(found))


_READ: dict[str, Callable[[Job, Setting, str], str]] = {
    "choice": _choice,
    "class": _choice,
    "flag": _flag,
    "length": _length,
    "number": _number,
    "count": _count,
    "sizes": _sizes,
    "zero": _zero,
}


def sections_of(job: Job) -> Sections:
    """Return the sections of a job that was read from files."""
    assert job.sections is not None
    return job.sections


def files_of(job: Job) -> dict[str, Path]:
    """Return which file each section of a job stands in."""
    return section_files(job)


def file_words(call: Call, path: Path) -> str:
    """Return what a file is called on the page: its path below the folder, its name where it is elsewhere."""
    try:
        return path.resolve().relative_to(call.folder.root).as_posix()
    except (OSError, RuntimeError, ValueError):
        return f"{path.name} (outside this folder)"


def others_using(call: Call, path: Path) -> tuple[str, ...]:
    """Return the other jobs of the folder that use a file, a few of them by name."""
    if call.folder.only is not None:
        return ()
    real, own = path.resolve(), call.file.resolve()
    found = [
        call.folder.key_of(file)
        for file in itertools.islice(call.folder.toml_files(), _MOST_LOOKED_AT)
        if any((file.parent / each).resolve() == real for each in _used(file)) and file.resolve() != own
    ]
    return (*found[:_SHOWN], f"and {len(found) - _SHOWN} more") if len(found) > _SHOWN else tuple(found)


_USE = re.compile(r"(?ms)^\s*\[use\].*?(?=^\s*\[|\Z)")

_USE_INLINE = re.compile(r"(?m)^\s*use[\s.]*[\w\s.]*=")


def _used(file: Path) -> Sequence[str]:
    """Return the files that a job names; of its text only ``[use]`` is read, for there may be many jobs."""
    try:
        text = read_bytes(file, greatest_bytes=GREATEST_FILE_BYTES).decode("utf-8-sig")
        part = _USE.search(text)
        if part is None and not _USE_INLINE.search(text):
            return ()
        data: dict[str, Any] = tomllib.loads(part[0] if part is not None else text)
    except (OSError, ValueError, RecursionError):
        return ()
    use = data.get("use")
    names = use.values() if isinstance(use, dict) else ()
    return [each for each in names if isinstance(each, str) and each and "\0" not in each]
