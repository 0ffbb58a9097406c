"""`bobplan schema`: the JSON schema of everything that ``--json`` prints."""

from __future__ import annotations

from typing import Annotated

import typer

from planner.cli.console import say
from planner.errors import InputError


def schema(
    command: Annotated[
        str | None, typer.Argument(help="A command, for its part alone: plan, `cut rim`.")
    ] = None,
) -> None:
    """Print the JSON schema (draft 2020-12) of what the commands print with --json, or of one command."""
    import json
    from importlib.resources import files

    whole = json.loads(files("planner.present").joinpath("json_schema.json").read_text(encoding="utf-8"))
    if command is None:
        say(json.dumps(whole, indent=1, ensure_ascii=False))
        return
    defs = whole["$defs"]
    if command not in defs:
        raise InputError(
            f"`{command}` has no part in the schema",
            hint="there are " + ", ".join(f"`{name}`" for name in defs),
        )
    part = {"$schema": whole["$schema"], "title": f"bobplan {command} --json", "$ref": f"#/$defs/{command}"}
    say(json.dumps(part | {"$defs": _needed(command, defs)}, indent=1, ensure_ascii=False))


def _needed(name: str, defs: dict[str, object]) -> dict[str, object]:
    """Return a definition and those that it refers to."""
    import json
    import re

    wanted, found = [name], {}
    while wanted:
        each = wanted.pop()
        if each not in found:
            found[each] = defs[each]
            wanted += re.findall(r'"#/\$defs/([^"]+)"', json.dumps(defs[each]))
    return found
