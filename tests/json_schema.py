"""The JSON of the commands against the schema of the package; and how that schema was made.

``BOBPLAN_RECORD_JSON=folder pytest tests/cli`` keeps every object that is printed; ``python -m tests.json_schema folder`` puts
what it finds together into `planner/present/json_schema.json`, to be read and mended by a person before it is committed: the
schema is a promise, and the tests hold every output to it.
"""

from __future__ import annotations

import functools
import itertools
import json
import os
import re
import sys
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

SCHEMA = Path(__file__).parents[1] / "planner" / "present" / "json_schema.json"
GROUPS = ("cut", "machine")
_COUNTER = itertools.count()

UNITS = {
    "gmm": "g*mm", "mm": "mm", "g": "g", "deg": "degrees", "kg": "kg", "rpm": "1/min", "mm_per_s": "mm/s", "n": "N", "nm": "N*m",
    "mpa": "MPa", "mm2": "mm2", "mm3": "mm3", "cm3": "cm3", "g_per_cm3": "g/cm3", "percent": "percent",
}  # fmt: skip
_UNIT = re.compile(r"_(" + "|".join(sorted(UNITS, key=len, reverse=True)) + r")$")


def command_of(arguments: Iterable[str]) -> str:
    """Return which command was called: ``plan``, ``cut rim``; ``bobplan`` for none."""
    words = [str(each) for each in arguments if not str(each).startswith("-")]
    if not words:
        return "bobplan"
    return " ".join(words[:2]) if words[0] in GROUPS else words[0]


def kind_of(command: str, data: Mapping[str, Any]) -> str:
    """Return the name of the definition that an object has to keep."""
    if "error" in data and "hint" in data:
        return "error"
    if command != "bobplan" and data.get("withheld") is not None:
        return "withheld"
    if command == "plan" and "jobs" in data:
        return "plans"
    if command == "engine" and "layouts" in data:
        return "layouts"
    if command == "grade" and "grades" in data:
        return "grades"
    if command == "profile":
        return next((f"profile {key}" for key in ("whole", "profiles") if key in data), "profile")
    return command


@functools.cache
def _validator(kind: str) -> Any:
    from jsonschema import Draft202012Validator

    schema = json.loads(SCHEMA.read_text(encoding="utf-8"))
    if kind not in schema["$defs"]:
        raise AssertionError(f"the schema has no `{kind}`")
    return Draft202012Validator({"$ref": f"#/$defs/{kind}", "$defs": schema["$defs"]})


def check(arguments: Iterable[str], text: str) -> None:
    """Fail where one object of ``--json`` does not keep the schema; keep it when it is to be recorded."""
    data = json.loads(text, parse_constant=_no_constant)
    command = command_of(arguments)
    folder = os.environ.get("BOBPLAN_RECORD_JSON")
    if folder:
        name = f"{os.getpid()}-{next(_COUNTER)}.json"
        Path(folder).mkdir(parents=True, exist_ok=True)
        (Path(folder) / name).write_text(json.dumps({"command": command, "data": data}), encoding="utf-8")
        return
    faults = [
        f"{'.'.join(map(str, fault.absolute_path))}: {fault.message[:200]}"
        for fault in _validator(kind_of(command, data)).iter_errors(data)
    ]
    assert not faults, f"`{command}` does not keep the schema:\n" + "\n".join(faults[:20])


def _no_constant(name: str) -> float:
    raise AssertionError(f"{name} is no JSON")


WITH_A_PLAN = ("spin", "done", "withheld")
_KEYS_OF_A_PLAN = [
    "version", "title", "spin", "feasible", "proof", "reading",
    "reading_scatter_gmm", "spins_averaged", "known_errors", "bob_shift", "mounted_shift", "made_shift",
    "unbalance", "steps", "cost", "aim_reached", "residual", "foretold",
    "foretold_raw", "judged", "verdict", "too_close", "chance_to_pass", "chance_inside",
    "chance_one_spin_proves", "chance_two_spins_prove", "expected_spins", "heavy_metal", "certificate", "ways_out",
    "nothing_fits", "settings_proved", "questions", "warnings", "notes", "what_if",
    "letter", "hand", "alternatives",
]  # fmt: skip


# --- putting together -------------------------------------------------------------------------------------------

MAPS = {"bobs_g", "wanted_g", "limits_g", "chance_without", "removals_g", "settings_proved", "per_throw_g"}


class Node:
    """What was seen at one place."""

    def __init__(self) -> None:
        self.count = 0
        self.kinds: set[str] = set()
        self.keys: dict[str, Node] = {}
        self.item: Node | None = None

    def add(self, value: Any) -> None:
        self.count += 1
        if value is None:
            self.kinds.add("null")
        elif isinstance(value, bool):
            self.kinds.add("boolean")
        elif isinstance(value, int):
            self.kinds.add("integer")
        elif isinstance(value, float):
            self.kinds.add("number")
        elif isinstance(value, str):
            self.kinds.add("string")
        elif isinstance(value, list):
            self.kinds.add("array")
            self.item = self.item or Node()
            for each in value:
                self.item.add(each)
        else:
            self.kinds.add("object")
            for key, each in value.items():
                self.keys.setdefault(key, Node()).add(each)

    def objects(self) -> int:
        """How many objects were seen here, to tell what is always there."""
        return max((node.count for node in self.keys.values()), default=0)


def schema_of(node: Node, name: str) -> dict[str, Any]:
    """Return the schema of a place."""
    kinds = set(node.kinds)
    unit = _UNIT.search(name)
    if "number" in kinds or (unit and "integer" in kinds):
        kinds -= {"integer"}
        kinds |= {"number"}
    found: dict[str, Any] = {}
    if kinds:
        listed = sorted(kinds)
        found["type"] = listed[0] if len(listed) == 1 else listed
    if unit and kinds & {"number", "array", "object"}:
        found["description"] = UNITS[unit[1]]
    if "array" in kinds and node.item is not None and node.item.kinds:
        found["items"] = schema_of(node.item, name)
    if "object" in kinds:
        if name in MAPS or _looks_like_names(node):
            merged = Node()
            for each in node.keys.values():
                _merge(merged, each)
            found["additionalProperties"] = schema_of(merged, name)
        else:
            found["properties"] = {key: schema_of(each, key) for key, each in node.keys.items()}
            found["required"] = sorted(key for key, each in node.keys.items() if each.count == node.objects())
            found["additionalProperties"] = False
    return found


def _looks_like_names(node: Node) -> bool:
    """Names of throws, counterweights or files as keys: digits, capitals, spaces."""
    return any(re.search(r"^\d|[A-Z\s.\-]", key) for key in node.keys)


def _merge(into: Node, other: Node) -> None:
    into.count += other.count
    into.kinds |= other.kinds
    for key, each in other.keys.items():
        _merge(into.keys.setdefault(key, Node()), each)
    if other.item is not None:
        into.item = into.item or Node()
        _merge(into.item, other.item)


def _shared(schema: Any, known: Mapping[str, str]) -> Any:
    """Put a reference in the place of what has a definition of its own."""
    if isinstance(schema, dict):
        text = json.dumps(schema, sort_keys=True)
        if text in known:
            return {"$ref": f"#/$defs/{known[text]}"}
        return {key: _shared(each, known) for key, each in schema.items()}
    if isinstance(schema, list):
        return [_shared(each, known) for each in schema]
    return schema


def _seen(schema: Any, by_key: dict[str, Any]) -> None:
    """Keep for each key a description that says more than "null" or "a list of nothing seen"."""
    if isinstance(schema, dict):
        for key, each in schema.get("properties", {}).items():
            kinds = each.get("type")
            if kinds not in (None, "null") and not (kinds == "array" and "items" not in each):
                by_key.setdefault(key, each)
        for each in schema.values():
            _seen(each, by_key)
    elif isinstance(schema, list):
        for each in schema:
            _seen(each, by_key)


def _filled(schema: Any, by_key: Mapping[str, Any]) -> Any:
    """Say of what was only ever null, or an empty list, what the same key is elsewhere; else leave it open."""
    if isinstance(schema, list):
        return [_filled(each, by_key) for each in schema]
    if not isinstance(schema, dict):
        return schema
    filled = {key: _filled(each, by_key) for key, each in schema.items() if key != "properties"}
    if "properties" in schema:
        filled["properties"] = {}
        for key, each in schema["properties"].items():
            known = by_key.get(key)
            if each.get("type") == "null":
                kinds = (known or {}).get("type", "number" if _UNIT.search(key) else None)
                listed = [kinds] if isinstance(kinds, str) else kinds
                each = {**(known or {}), "type": sorted({"null", *listed})} if listed else {}
            elif each.get("type") == "array" and "items" not in each:
                each = {"type": "array", "items": (known or {}).get("items", {"type": "string"})}
            else:
                each = _filled(each, by_key)
            filled["properties"][key] = each
    return filled


def main(folder: str, *kinds: str) -> None:
    """Write the schema from what was recorded; with kinds named, only theirs is written anew into the one that stands."""
    nodes: dict[str, Node] = {}
    plan_keys = set(_KEYS_OF_A_PLAN)
    for path in sorted(Path(folder).glob("*.json")):
        kept = json.loads(path.read_text(encoding="utf-8"))
        kind, data = kind_of(kept["command"], kept["data"]), kept["data"]
        nodes.setdefault(kind, Node()).add(data)
        if kind in WITH_A_PLAN and kind != "withheld":
            nodes.setdefault("plan", Node()).add({key: data[key] for key in plan_keys & set(data)})
        if kind == "sheet" and isinstance(data.get("plan"), dict):
            nodes.setdefault("plan", Node()).add({**data["plan"], "version": 1})
    defs = {kind: schema_of(node, kind) for kind, node in sorted(nodes.items())}
    for kind in WITH_A_PLAN:
        # a plan with more: one description of each key, wherever it stands
        for key in plan_keys & set(defs[kind]["properties"]):
            defs[kind]["properties"][key] = {"$ref": f"#/$defs/plan/properties/{key}"}
    own = {
        key: {"$ref": f"#/$defs/plan/properties/{key}"}
        for key in defs["plan"]["properties"]
        if key != "version"
    }
    defs["sheet"]["properties"]["plan"] = {
        "type": ["null", "object"], "properties": own, "required": sorted(own), "additionalProperties": False
    }  # fmt: skip
    by_key: dict[str, Any] = {}
    _seen(defs, by_key)
    defs = {kind: _filled(each, by_key) for kind, each in defs.items()}
    step = defs["plan"]["properties"]["steps"]["items"]
    vector = defs["plan"]["properties"]["unbalance"]["items"]
    known = {json.dumps(vector, sort_keys=True): "vector", json.dumps(step, sort_keys=True): "step"}
    shared = {kind: _shared(each, known) for kind, each in defs.items()}
    shared |= {"vector": vector, "step": _shared(step, {json.dumps(vector, sort_keys=True): "vector"})}
    for each in shared.values():
        if "version" in each.get("properties", {}):
            each["properties"]["version"] = {"const": 1}
    whole = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "What the commands of bobplan print with --json, version 1",
        "description": "One definition per command. Angles angle_deg are degrees of the crankshaft frame, counter-clockwise seen "
        "from the front; machine_angle_deg and dial_deg count as the machine does. A unit is the end of its key's name.",
        "anyOf": [{"$ref": f"#/$defs/{kind}"} for kind in defs],
        "$defs": dict(sorted(shared.items())),
    }
    if kinds:
        before = json.loads(SCHEMA.read_text(encoding="utf-8"))
        before["$defs"] = dict(sorted((before["$defs"] | {kind: shared[kind] for kind in kinds}).items()))
        before["anyOf"] = [
            {"$ref": f"#/$defs/{kind}"} for kind in before["$defs"] if kind not in ("step", "vector")
        ]
        whole = before
    SCHEMA.write_text(json.dumps(whole, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    print(f"{len(defs)} definitions from {sum(node.count for node in nodes.values())} outputs: {SCHEMA}")


def widen(folder: str) -> None:
    """Let the schema that stands hold what was recorded too: keys, kinds of values and absences that it did not know."""
    whole = json.loads(SCHEMA.read_text(encoding="utf-8"))
    changes: list[str] = []
    for path in sorted(Path(folder).glob("*.json")):
        kept = json.loads(path.read_text(encoding="utf-8"))
        kind = kind_of(kept["command"], kept["data"])
        if kind not in whole["$defs"]:
            node = Node()
            node.add(kept["data"])
            whole["$defs"][kind] = schema_of(node, kind)
            changes.append(f"{kind}: new")
        _widen(whole["$defs"][kind], kept["data"], whole, kind, changes)
    whole["$defs"] = dict(sorted(whole["$defs"].items()))
    whole["anyOf"] = [
        {"$ref": f"#/$defs/{kind}"} for kind in whole["$defs"] if kind not in ("step", "vector")
    ]
    SCHEMA.write_text(json.dumps(whole, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    print("\n".join(dict.fromkeys(changes)))


def _widen(schema: dict[str, Any], value: Any, whole: dict[str, Any], at: str, changes: list[str]) -> None:
    while "$ref" in schema:
        found: Any = whole
        for key in schema["$ref"].removeprefix("#/").split("/"):
            found = found[key]
        schema = found
    if not schema or "const" in schema:
        return
    seen = Node()
    seen.add(value)
    (kind,) = seen.kinds
    known = schema.get("type", [])
    listed = {known} if isinstance(known, str) else set(known)
    if kind not in listed and not (kind == "integer" and "number" in listed):
        listed = (listed - {"integer"} | {"number"}) if kind == "number" else listed | {kind}
        schema["type"] = next(iter(listed)) if len(listed) == 1 else sorted(listed)
        changes.append(f"{at}: may be {kind}")
    name = at.rsplit(".", 1)[-1]
    if kind == "array":
        for each in value:
            if "items" not in schema:
                node = Node()
                node.add(each)
                schema["items"] = schema_of(node, name)
            _widen(schema["items"], each, whole, at, changes)
    elif kind == "object" and isinstance(schema.get("additionalProperties"), dict):
        for each in value.values():
            _widen(schema["additionalProperties"], each, whole, at, changes)
    elif kind == "object":
        if "properties" not in schema:
            schema.update(schema_of(seen, name) | {"type": schema["type"]})
        for key, each in value.items():
            if key not in schema.get("properties", {}):
                node = Node()
                node.add(each)
                schema.setdefault("properties", {})[key] = schema_of(node, key)
                changes.append(f"{at}.{key}: new")
            _widen(schema["properties"][key], each, whole, f"{at}.{key}", changes)
        for key in [key for key in schema.get("required", []) if key not in value]:
            schema["required"].remove(key)
            changes.append(f"{at}.{key}: not always")


if __name__ == "__main__":
    if sys.argv[1] == "widen":
        widen(sys.argv[2])
    else:
        main(*sys.argv[1:])
