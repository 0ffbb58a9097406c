"""Shop: the machine's settings, drills, slugs and limits in plain words; changed in the file that has them."""

from __future__ import annotations

import dataclasses
import itertools
import re
import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_args

from starlette.responses import Response

from planner.bench.page import Call, Form, go, refused_on, show_part
from planner.bench.seen import sections_of
from planner.bench.typed import list_with_points, with_point
from planner.errors import BobplanError, InputError
from planner.files import read_bytes
from planner.jobfile import render
from planner.jobfile.defaults import shop_default
from planner.jobfile.job import Job
from planner.jobfile.new_job.checks import checked
from planner.jobfile.new_job.questions import question_of
from planner.jobfile.new_job.text import toml_value
from planner.jobfile.read import file_of
from planner.jobfile.sources import GREATEST_FILE_BYTES
from planner.jobfile.write import WouldNotLoadError, write_settings
from planner.present.document import document
from planner.present.drawings.live import end_view_svg
from planner.present.pages.prove import state_block
from planner.present.words import convention_words, counting_words, dial_words, zero_words
from planner.rotor.crankshaft import CutKind
from planner.rotor.materials import HEAVY_ALLOYS

_MOST_LOOKED_AT = 3000
_SHOWN = 8
_SAME_MM = 1e-6


@dataclass(frozen=True)
class Setting:
    """A key of ``[machine]`` or ``[shop]`` that the page changes.

    ``kind``: choice, length, number, count, sizes (lengths with commas), sectors (degrees with commas), zero, class (of heavy
    metal), flag (yes or no), some (several of the choices) or price; ``choices`` are values with their words; ``note`` says
    how it is found out; ``of`` is what a price is for, as the file writes it.
    """

    key: str
    label: str
    kind: str
    choices: tuple[tuple[str, str], ...] = ()
    note: str = ""
    of: str = ""
    section: str = "shop"

    @property
    def name(self) -> str:
        """What the box is called in the form."""
        return f"{self.section}.{self.key}{f'.{self.of}' if self.of else ''}"


_YES_NO = (("true", "yes"), ("false", "no"))


def _machine(key: str, label: str, kind: str, *choices: tuple[str, str], note: str = "") -> Setting:
    """Return a setting of the machine; how it is found out is what `start` says of it."""
    return Setting(key, label, kind, choices=choices, note=note + question_of(key).how, section="machine")


MACHINE = (
    _machine(
        "angle_direction", "its numbers grow", "choice", ("ccw", "counter-clockwise"), ("cw", "clockwise")
    ),
    _machine(
        "viewed_from", "as seen from the", "choice", ("front", "front (nose)"), ("rear", "rear (flange)")
    ),
    _machine(
        "angle_zero", "its 0 is at", "zero", note="`throw 1`, or degrees in the crankshaft's own frame; "
    ),
    _machine(
        "angle_marks",
        "the angle shown marks the",
        "choice",
        ("heavy spot", "heavy spot: metal comes off there"),
        ("light spot", "light spot: metal goes on there"),
    ),
    _machine("drill_offset", "degrees from the pointer to the drill", "number"),
)

SHOP: tuple[tuple[str, tuple[Setting, ...]], ...] = (
    (
        "Drills and limits",
        (
            Setting("drills", "drills at hand", "sizes", note=question_of("drills").how),
            Setting(
                "depth_to",
                "the depth stop counts to the drill's",
                "choice",
                choices=(("shoulder", "shoulder"), ("tip", "tip")),
                note=question_of("depth_to").how,
            ),
            Setting("greatest_depth", "no hole deeper than", "length"),
            Setting("least_depth", "no hole shallower than", "length"),
            Setting("depth_step", "steps of a depth", "length"),
            Setting("angle_step", "steps of the dial, degrees", "number"),
            Setting("least_wall", "least wall that stays", "length"),
            Setting("hole_oversize", "holes come out larger by", "length"),
            Setting("point_angle", "point angle of the drills, degrees", "number"),
            Setting("enlarge_holes", "open holes may be drilled out wider", "flag", choices=_YES_NO),
            Setting(
                "opposite_face_holes", "holes from both faces, opposite one another", "flag", choices=_YES_NO
            ),
        ),
    ),
    (
        "Heavy metal",
        (
            Setting(
                "heavy_metal",
                "heavy metal comes into question",
                "choice",
                choices=(
                    ("if needed", "only if drilling can't do it"),
                    ("allowed", "whenever it is better"),
                    ("never", "never"),
                ),
            ),
            Setting("slug_diameters", "heavy metal at hand, diameters", "sizes"),
            Setting(
                "slug_class",
                "heavy metal",
                "class",
                choices=tuple(
                    (each.name, f"{each.name}: {each.density_g_per_cm3:g} g/cm3") for each in HEAVY_ALLOYS
                ),
            ),
            Setting(
                "slug_density",
                "density of the heavy metal, g/cm3",
                "number",
                note="weigh a slug: its mass by its volume beats any table",
            ),
            Setting("slug_lengths", "lengths in stock (empty: cut to fit)", "sizes"),
            Setting("slug_stack", "slugs on one another in a bore, at most", "count"),
            Setting("slug_radius_step", "steps of a slug's radius", "length"),
            Setting("plug_density", "density of steel plugs for old holes, g/cm3", "number"),
        ),
    ),
    (
        "Turned, milled and bevelled rims",
        (
            Setting("rim_cut_sectors", "over so many degrees, with commas between", "sectors"),
            Setting("rim_cut_step", "steps off the radius", "length"),
            Setting("greatest_rim_cut", "most off the radius", "length"),
            Setting("bevel_slope", "slope of a bevel, degrees", "number"),
        ),
    ),
    (
        "What a plan may do, and what it prefers",
        (
            Setting(
                "allow",
                "cuts that are made here",
                "some",
                choices=tuple((each, each) for each in get_args(CutKind)),
                note="a counterweight has to allow a cut too; plugs and cuts of the rim only those that name them",
            ),
            Setting("forbid", "counterweights that stay as they are", "some"),
            Setting("wanted_chance", "chance wanted that the next spin passes, 0.5 to 0.999", "number"),
            Setting(
                "prefer_cuts",
                "as few cuts as",
                "choice",
                choices=(("passes", "pass with that chance"), ("fewest", "reach the bare tolerance")),
            ),
            Setting(
                "prefer",
                "among as many cuts",
                "choice",
                choices=(
                    ("closest", "the one closest to zero"),
                    ("least metal", "the one that takes off least"),
                ),
            ),
            Setting(
                "close_enough", "share of the tolerance below which closer is no better, 0 to 1", "number"
            ),
            Setting("aim", "plan inside this share of the tolerance, 0 to 1", "number"),
            Setting("one_drill", "one drill, where that costs no cut", "flag", choices=_YES_NO),
            Setting(
                "first_pass",
                "first drill so much of each hole, 0 to 1",
                "number",
                note="not said: as deep as makes the fewest spins",
            ),
        ),
    ),
    (
        "Time and money",
        (
            Setting("minutes_per_cut", "minutes for a cut", "number"),
            Setting("minutes_per_drill_change", "minutes for a change of drill", "number"),
            Setting("minutes_per_slug", "minutes for a slug", "number"),
            Setting("labour_per_hour", "price of an hour", "number"),
            Setting("base_price", "price of a job before a spin or a cut", "number"),
            Setting("price_per_spin", "price of a spin", "number"),
            Setting("quoted_spins", "spins that a quote counts", "count"),
        ),
    ),
)
"""What the page changes of ``[shop]``, in groups; prices of slugs come after the last."""


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
    machine_file, shop_file = file_of(job, "machine"), file_of(job, "shop")
    others = {
        path: others_using(call, path) if path != job.files.job else () for path in {machine_file, shop_file}
    }
    by_mass = job.machine.mass_at_radius
    return show_part(
        call,
        "shop",
        job,
        error=error,
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
        groups=[
            (title, [_box(job, each, form, wrong) for each in settings]) for title, settings in _groups(job)
        ],
        machine_file=file_words(call, machine_file),
        shop_file=file_words(call, shop_file),
        machine_others=others[machine_file],
        shop_others=others[shop_file],
        written=call.query.get("written"),
        has_cuts=bool(job.cuts_made),
        has_spins=bool(job.spins),
    )


@refused_on(shop_page)
def change_shop(call: Call) -> Response:
    """Write what was changed into the file that has it; nothing else in it changes."""
    written = _change(call)
    return go(call.to("shop", written=" and ".join(path.name for path in written) or "nothing"))


def _change(call: Call) -> tuple[Path, ...]:
    form, job = call.form, call.job_as_seen()
    asked = {
        "machine": MACHINE,
        "shop": tuple(each for _, settings in _groups(job) for each in settings),
    }.get(form.get("act"))
    if asked is None:
        raise InputError("this form does not say what it is for", hint="load the page again")
    wrong: dict[str, str] = {}
    changes: dict[str, dict[str, str]] = {}
    prices: dict[str, str] = {}
    for each in asked:
        if each.name not in form:
            continue
        try:
            value = _changed(job, each, _typed(form, each))
        except InputError as error:
            wrong[each.name] = f"{error.message}{f' ({error.hint})' if error.hint else ''}"
            continue
        if value is not None and each.of:
            prices[each.of] = value
        elif value is not None:
            changes.setdefault(each.section, {})[each.key] = value
    if wrong:
        raise WrongBoxesError(wrong)
    if prices:
        changes.setdefault("shop", {})["slug_price"] = _prices(job, prices)
    if not changes:
        return ()
    for section in changes:
        call.folder.ensure_inside(file_of(job, section))
    try:
        return write_settings(job, changes, still=call.still(job))
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


def _groups(job: Job) -> Iterator[tuple[str, tuple[Setting, ...]]]:
    """Yield the groups of settings of the shop that have boxes; the last has the prices of its slugs."""
    # density and class of heavy metal exclude one another
    left_out = "slug_density" if "slug_class" in _shop(job) else "slug_class"
    last = SHOP[-1][0]
    for title, settings in SHOP:
        there = tuple(each for each in settings if each.key != left_out)
        yield title, (*there, *_slug_prices(job)) if title == last else there


def _shop(job: Job) -> Mapping[str, Any]:
    """Return the section of the shop as it stands in its file."""
    found: Mapping[str, Any] = sections_of(job).raw("shop") or {}
    return found


def _slug_prices(job: Job) -> Iterator[Setting]:
    """Yield a price for each diameter of slug in stock, as the file writes it."""
    for each in _shop(job).get("slug_diameters", shop_default("slug_diameters", inches=False)):
        yield Setting("slug_price", f"price of a slug, {each}", "price", of=str(each))


def _slug_mm(job: Job, text: str) -> float:
    return sections_of(job).units("shop").parse(text, "length", name="a slug")


def _prices(job: Job, changed: Mapping[str, str]) -> str:
    """Return the table of prices of slugs with those that were typed, as TOML; a size keeps the key that it has."""
    said = _shop(job).get("slug_price", {})
    texts = {key: render.number(price) for key, price in said.items()}
    for of, price in changed.items():
        size_mm = _slug_mm(job, of)
        key = next((each for each in said if abs(_slug_mm(job, each) - size_mm) < _SAME_MM), of)
        texts[key] = price
    inner = ", ".join(f"{render.text(key)} = {price}" for key, price in texts.items() if price)
    return f"{{ {inner} }}" if inner else "{}"


def _typed(form: Form, setting: Setting) -> str:
    """Return what was typed, or ticked, for a setting."""
    return ", ".join(form.all(setting.name)) if setting.kind == "some" else form.get(setting.name)


def _raw(job: Job, setting: Setting) -> str | None:
    """Return a setting as it stands in its file; None when it does not."""
    if setting.of:
        price = job.shop.price_of_slug(_slug_mm(job, setting.of))
        return None if price is None else _shown(price)
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
    usual = shop_default(setting.key, inches=units.in_inches) if setting.section == "shop" else None
    default = "0" if setting.key == "drill_offset" else ""
    if usual is not None:
        default = ", ".join(map(str, usual)) if isinstance(usual, tuple) else _shown(usual)
        default = dict(setting.choices).get(default, default)
    if setting.key == "forbid":
        setting = dataclasses.replace(
            setting, choices=tuple((each.name, each.name) for each in job.crankshaft.counterweights)
        )
    value = _typed(form, setting) if setting.name in form else there or ""
    if setting.key == "allow" and not value and setting.name not in form:
        value = ", ".join(kind for kind, _ in setting.choices)
    return Box(
        setting=setting,
        value=value,
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
    if setting.key == "allow" and there is None and text == ", ".join(kind for kind, _ in setting.choices):
        return None
    if not text:
        if setting.of:
            return ""
        if setting.key == "allow":
            raise InputError("tick at least one")
        if setting.kind in ("sizes", "some") and setting.key != "drills":
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
    pointed = list_with_points(text, name=setting.label, one="unclear")
    sizes = checked(question_of("drills"), pointed, units)
    return f"[{', '.join(toml_value(each.strip()) for each in sizes.split(','))}]"


def _zero(job: Job, setting: Setting, text: str) -> str:
    found = checked(question_of("angle_zero"), with_point(text, name=setting.label), {})
    if found.startswith("throw "):
        names = [f"throw {each.name}" for each in job.crankshaft.throws]
        if found not in names:
            raise InputError(f"there is no {found}", hint=f"the throws are {', '.join(names)}")
        return render.text(found)
    return render.number(float(found))


def _sectors(job: Job, setting: Setting, text: str) -> str:
    pointed = list_with_points(text, name=setting.label, one="unclear")
    return f"[{', '.join(_number(job, setting, each.strip()) for each in pointed.split(','))}]"


def _some(job: Job, setting: Setting, text: str) -> str:
    names = text.split(", ")
    if setting.key == "allow":
        for each in names:
            _choice(job, setting, each)
    return f"[{', '.join(render.text(each) for each in names)}]"


def _price(job: Job, setting: Setting, text: str) -> str:
    value = _number(job, setting, text)
    if float(value) < 0.0:
        raise InputError(f"given {text}, a price is a number from 0")
    return value


_READ: dict[str, Callable[[Job, Setting, str], str]] = {
    "choice": _choice,
    "class": _choice,
    "flag": _flag,
    "length": _length,
    "number": _number,
    "count": _count,
    "sizes": _sizes,
    "sectors": _sectors,
    "some": _some,
    "price": _price,
    "zero": _zero,
}


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
