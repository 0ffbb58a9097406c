"""What the documentation takes from the project itself when it is built: screens, the job file's keys, drawings.

Screens come out of ``tests/golden/transcripts``, which ``tests/cli/test_transcripts.py`` types again and compares, so that no
printed output here is older than the program.  A page names one by a comment of its own line::

    <!-- screen metric: bobplan plan -->
    <!-- screen metric, folded: bobplan start -->

Of several screens of the same command, ``bobplan plan (2)`` is the second.  ``tests/unit/test_docs.py`` looks at the pages.
"""

from __future__ import annotations

import re
import sys
import typing
from collections.abc import Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
TRANSCRIPTS = ROOT / "tests" / "golden" / "transcripts"
SCREEN = re.compile(
    r"^<!-- screen (?P<story>\w+)(?P<folded>, folded)?: (?P<command>.+?)(?: \((?P<which>\d+)\))? -->$", re.M
)
KEYS = "<!-- keys of the job file -->"
OBJECTS = "<!-- objects of the schema -->"
DRAWING = re.compile(r"\(\.\./images/(\w+)\.svg\)")


class MissingError(Exception):
    """A page asks for what there is not."""


# the JSON of the commands


def json_objects() -> str:
    """Return a table of keys for each object that a command prints with ``--json``, from the schema in the package."""
    import json

    whole = json.loads((ROOT / "planner" / "present" / "json_schema.json").read_text(encoding="utf-8"))
    parts = []
    for name, one in whole["$defs"].items():
        always = one.get("required", ())
        rows = [
            f"| `{key}` | {_kind(each)} | {each.get('description', '')} | {'' if key in always else 'not always'} |"
            for key, each in one.get("properties", {}).items()
        ]
        parts.append("\n".join([f"## {name}", "", "| key | what | unit | |", "|---|---|---|---|", *rows]))
    return "\n\n".join(parts)


def _kind(one: dict[str, Any]) -> str:
    """Return in words what a value is."""
    if "$ref" in one:
        *_, last = one["$ref"].split("/")
        return f"as `{last}` of `plan`" if "/properties/" in one["$ref"] else f"[{last}](#{last})"
    if "const" in one:
        return f"always {one['const']}"
    kinds = one.get("type", "any value")
    said = " or ".join(
        "nothing (null)" if each == "null" else each
        for each in ([kinds] if isinstance(kinds, str) else kinds)
    )
    if "array" in said and "items" in one:
        return said.replace("array", f"list of: {_kind(one['items'])}")
    if "object" in said:
        keys = ", ".join(f"`{key}`" for key in one.get("properties", {}))
        return said.replace("object", f"object with {keys}" if keys else "object with names as keys")
    return said


# screens


def screen(story: str, command: str, which: int = 1) -> str:
    """Return a screen of a transcript: the command line and what it showed."""
    text = (TRANSCRIPTS / f"{story}.txt").read_text(encoding="utf-8")
    blocks = re.split(r"(?m)^(?=\$ )", text)[1:]
    found = [block for block in blocks if block.splitlines()[0] == f"$ {command}"]
    if len(found) < which:
        raise MissingError(f"{story}.txt has no screen {which} of `{command}`")
    # what the operator does before the next command is told there
    lines = found[which - 1].rstrip().splitlines()
    while lines and (not lines[-1].strip() or re.match(r"# ", lines[-1])):
        lines.pop()
    return "\n".join(lines)


def with_screens(markdown: str) -> str:
    """Return a page with its screens in place of the comments that name them."""

    def put_in(found: re.Match[str]) -> str:
        text = screen(found["story"], found["command"], int(found["which"] or 1))
        if not found["folded"]:
            return f"```text\n{text}\n```"
        inner = "\n".join(f"    {line}".rstrip() for line in f"```text\n{text}\n```".splitlines())
        return f'??? example "`{found["command"]}`"\n\n{inner}'

    return SCREEN.sub(put_in, markdown)


# the job file


def sections() -> dict[str, tuple[type[Any], bool]]:
    """Return the sections of a job file: name to schema, and whether it is an array of tables."""
    sys.path.insert(0, str(ROOT))
    from planner.jobfile.schema import engine, rotor, sections, shop, spins, tolerance_build

    tables = {
        "use": engine.UseSection,
        "job": engine.JobSection,
        "units": sections.UnitsSection,
        "machine": spins.MachineSection,
        "planes": rotor.PlanesSection,
        "engine": engine.EngineSection,
        "crankshaft": rotor.CrankshaftSection,
        "tolerance": tolerance_build.ToleranceSection,
        "shop": shop.ShopSection,
        "shop_details": getattr(shop, "ShopDetailsSection", None),
        "errors": shop.ErrorsSection,
        "bobs": spins.BobsSection,
        "match": engine.MatchSection,
        "bob_set": engine.BobSetSection,
        "influence": spins.InfluenceSection,
        "plan": shop.PlanSection,
        "proof": spins.ProofSection,
    }
    arrays = {
        "throws": rotor.ThrowSection,
        "cylinders": engine.CylinderSection,
        "counterweights": rotor.CounterweightSection,
        "mounted": rotor.MountedSection,
        "oil_drillings": rotor.OilDrillingSection,
        "webs": getattr(rotor, "WebSection", None),
        "journals": rotor.JournalSection,
        "spins": spins.SpinSection,
        "trials": spins.TrialSection,
        "known_errors": spins.KnownErrorSection,
        "fixed_cuts": shop.FixedCutSection,
        "cuts_made": shop.MadeCutSection,
        "former_plans": shop.FormerPlanSection,
        "undone": spins.UndoneSection,
    }
    named = [(name, model, False) for name, model in tables.items()]
    named += [(name, model, True) for name, model in arrays.items()]
    return {name: (model, array) for name, model, array in named if model is not None}


def job_file_keys() -> str:
    """Return the reference of the job file: every section with its keys, out of the schema and the table of defaults."""
    from planner.jobfile.defaults import all_defaults
    from planner.jobfile.schema.base import toml_key

    defaults = {(each.section, each.key): each for each in all_defaults()}
    lines: list[str] = []
    inner: dict[str, type[Any]] = {}
    for name, (model, array) in sections().items():
        lines += ["", f"## `{'[[' + name + ']]' if array else '[' + name + ']'}`", "", *_said(model, name)]
        lines += _table(model, name, defaults, inner, toml_key)
    lines += ["", "## Tables within", "", "What stands in a key above, as `key = { ... }` or a list of such."]
    done: set[str] = set()
    while waiting := [name for name in inner if name not in done]:
        for name in sorted(waiting):
            done.add(name)
            lines += ["", f"### {_spoken(name)}", "", *_said(inner[name], "")]
            lines += _table(inner[name], "", defaults, inner, toml_key)
    return "\n".join(lines).strip() + "\n"


def _said(model: type[Any], name: str) -> Iterator[str]:
    """Yield what the schema says of a section, unless it only says its name."""
    text = re.sub(r"``", "`", " ".join((model.__doc__ or "").split()))
    text = re.sub(r":\w+:`[~]?([\w.]+)`", r"`\1`", text)
    text = re.sub(r"^`\[\w+\]`: ", "", text)  # the heading says its name
    if not re.fullmatch(r"(One of )?`\[+\w+\]+`\.?", text):
        yield from (text[0].upper() + text[1:] if text[:1].isalpha() else text, "")


def _table(
    model: type[Any], section: str, defaults: dict[Any, Any], inner: dict[str, type[Any]], toml_key: Any
) -> Iterator[str]:
    hints = typing.get_type_hints(model, include_extras=True)
    yield "| key | takes | left out | what |"
    yield "|---|---|---|---|"
    for name, field in model.model_fields.items():
        key = toml_key(name)
        default = defaults.get((section, key))
        if default is not None:
            both = f"{_value(default.metric)}; in inches {_value(default.inch)}"
            left_out = _value(default.metric) if default.metric == default.inch else both
        elif field.is_required():
            left_out = "must be said"
        else:
            value = field.get_default(call_default_factory=True)
            left_out = "-" if value in (None, "", [], {}) else _value(value)
        what = default.what if default is not None else ""
        yield f"| `{key}` | {_takes(hints[name], inner)} | {left_out} | {what.replace('`', '')} |"


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, tuple | list):
        return ", ".join(_value(each) for each in value)
    return f"{value:g}" if isinstance(value, float) else str(value)


def _spoken(name: str) -> str:
    """Return ``LengthOr0`` as "length, 0 allowed", ``KnownMassSection`` as "known mass"."""
    words = re.sub(r"(?<=[a-z])(?=[A-Z0-9])", " ", name.removesuffix("Section")).lower()
    return (
        words.replace(" or 0", ", 0 allowed")
        .replace("flag", "true or false")
        .replace("count from 1", "whole number from 1")
    )


def _names() -> dict[int, str]:
    """Return what the schemas call their kinds of value, by identity."""
    from planner.jobfile.schema import base, engine, rotor, shop, spins, tolerance_build

    found: dict[int, str] = {}
    for module in (tolerance_build, shop, spins, rotor, engine, base):
        for name, value in vars(module).items():
            if typing.get_origin(value) is typing.Annotated and not name.startswith("_"):
                found[id(value.__metadata__[0])] = name
    return found


def _takes(hint: Any, inner: dict[str, type[Any]]) -> str:
    origin, given = typing.get_origin(hint), typing.get_args(hint)
    if origin is typing.Annotated:
        name = _names().get(id(given[1]))
        if name and name not in ("Bobs", "Masses"):
            return _spoken(name)
        if name:
            return "one number, or one each"
        return _takes(given[0], inner)
    if origin is typing.Literal:
        return " or ".join(f"`{each}`" for each in given)
    if origin is list:
        return f"list of: {_takes(given[0], inner)}"
    if origin is dict:
        return f"table: name = {_takes(given[1], inner)}"
    if origin is not None:  # a union
        return " or ".join(_takes(each, inner) for each in given if each is not type(None))
    if isinstance(hint, type) and hasattr(hint, "model_fields"):
        inner[hint.__name__] = hint
        return f"[{_spoken(hint.__name__)}](#{_spoken(hint.__name__).replace(' ', '-').replace(',', '')})"
    return {"float": "number", "int": "whole number", "str": "text", "bool": "true or false"}.get(
        getattr(hint, "__name__", str(hint)), getattr(hint, "__name__", str(hint))
    )


# drawings


def drawings() -> dict[str, bytes]:
    """Return the drawings of the concept pages, made by the product's own plotting from the first example (invented data)."""
    import os
    import tempfile

    sys.path.insert(0, str(ROOT))
    os.environ.setdefault("MPLBACKEND", "Agg")
    import matplotlib.pyplot as plt

    import planner as bp
    from planner.present.drawings.gallery import (
        plot_counterweight,
        plot_plane_vectors,
        plot_side_view,
        save_figure,
    )

    text = (ROOT / "examples" / "cross_plane_v8" / "job.toml").read_text(encoding="utf-8")
    text = re.sub(r"(?m)^proved = .*\n", "", text)
    light = text.replace('angle_marks = "heavy spot"', 'angle_marks = "light spot"')
    light = light.replace("amount = 3480, angle = 214", "amount = 3480, angle = 34")
    light = light.replace("amount = 2910, angle = 33", "amount = 2910, angle = 213")
    plan, plan_light = bp.plan(bp.loads_job(text)), bp.plan(bp.loads_job(light))

    def drawn(width: float, height: float, plot: Any, *answer: Any, **options: Any) -> bytes:
        figure, ax = plt.subplots(figsize=(width, height), layout="constrained")
        plot(*answer, ax=ax, **options)
        with tempfile.TemporaryDirectory() as folder:
            path = save_figure(figure, Path(folder) / "drawing.svg")
            plt.close(figure)
            return path.read_bytes()

    first = plan.steps[0].counterweight
    return {
        "side_view": drawn(9.0, 4.2, plot_side_view, plan.answer),
        "counterweight": drawn(7.0, 6.0, plot_counterweight, plan.answer, first),
        "vectors_heavy": drawn(6.0, 4.8, plot_plane_vectors, plan.answer, "left"),
        "vectors_light": drawn(6.0, 4.8, plot_plane_vectors, plan_light.answer, "left"),
        "vectors_left_over": drawn(6.0, 4.8, plot_plane_vectors, plan.answer, "left", zoom=True),
    }


# what the site builder calls


def on_files(files: Any, config: Any) -> Any:
    """Add the drawings."""
    from mkdocs.structure.files import File

    for name, content in drawings().items():
        files.append(File.generated(config, f"images/{name}.svg", content=content))
    return files


def on_page_markdown(markdown: str, page: Any, config: Any, files: Any) -> str:
    """Put in screens, keys and the objects of the schema."""
    text = with_screens(markdown).replace(KEYS, job_file_keys() if KEYS in markdown else "")
    return text.replace(OBJECTS, json_objects() if OBJECTS in markdown else "")
