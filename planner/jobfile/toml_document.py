"""A job file's document in memory: tables appended, the plan put in its place, comments left where they belong."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from planner.errors import InputError
from planner.jobfile import render
from planner.jobfile.job import Job, StoredPlan

if TYPE_CHECKING:
    from tomlkit import TOMLDocument
    from tomlkit.items import AoT, Table


def toml_item(text: str) -> Any:
    """Return a value as it is written in a file: 411.9 stays as typed and is not 411.90000000000003."""
    import tomlkit

    return tomlkit.parse(f"x = {text}\n")["x"]


def append_table(document: TOMLDocument, section: str, lines: list[str]) -> None:
    """Append a table to an array of tables, before the comments that head what comes after it."""
    import tomlkit
    from tomlkit.items import AoT, Array, Table

    if section not in document:
        end_with_newline(document)
        document.add(tomlkit.nl())
        document.append(section, _table_array(section, lines))
        return
    there = document[section]
    if isinstance(there, Array):
        # written as `spins = [ {..}, {..} ]`
        there.append(toml_item(f"{{ {', '.join(lines)} }}"))
        return
    if not isinstance(there, AoT):
        raise InputError(f"`{section}` is no list of tables", hint=f"write [[{section}]], with two brackets")
    last = there[-1]
    added = _table_array(section, lines)[0]
    if isinstance(last, Table):
        tail = _take_tail(last)
        added.trivia.indent = "\n"
        there.append(added)
        for item in tail:
            there[-1].add(item)
    else:
        there.append(added)


def _table_array(section: str, lines: list[str]) -> AoT:
    import tomlkit
    from tomlkit.items import AoT

    parsed = tomlkit.parse("\n".join([f"[[{section}]]", *lines, ""]))[section]
    assert isinstance(parsed, AoT)
    return parsed


def _take_tail(table: Table) -> list[Any]:
    """Take from a table's end what comes after a blank line: those comments head the next section."""
    body = table.value.body
    # a sub-table at the end holds the tail itself
    if (
        body
        and body[-1][0] is not None
        and hasattr(body[-1][1], "value")
        and hasattr(body[-1][1].value, "body")
    ):
        from tomlkit.items import Table

        return _take_tail(body[-1][1]) if isinstance(body[-1][1], Table) else []
    start = len(body)
    while start > 0 and body[start - 1][0] is None:
        start -= 1
    blank = next((i for i in range(start, len(body)) if not body[i][1].as_string().strip()), len(body))
    tail = [item for _, item in body[blank:]]
    del body[blank:]
    return tail


def end_with_newline(document: TOMLDocument) -> None:
    """Let the document's last line end, so that what is added begins a line of its own."""
    import tomlkit

    text = tomlkit.dumps(document)
    if text and not text.endswith("\n"):
        document.add(tomlkit.nl())


def put_plan(document: TOMLDocument, job: Job, plan: StoredPlan) -> None:
    """Put the plan in the document; a plan that stands there already is left alone.

    A plan that was shown and has numbers that the new one lacks goes to ``[[former_plans]]``: a number once printed
    stays its cut's, and taking back what replaced the plan brings it back.
    """
    old = job.stored_plan
    if old is not None and old.steps and not _has_all_steps(job, plan, of=old):
        keep_former(document, job, old)
    put_table(document, "plan", render.plan_values(plan, units=job.units, shop=job.shop))


def _has_all_steps(job: Job, plan: StoredPlan, *, of: StoredPlan) -> bool:
    """Return whether a plan has every step of another one, as the file writes them."""
    new, old = (
        {render.step_value(step, units=job.units, shop=job.shop) for step in each.steps}
        for each in (plan, of)
    )
    return of.after_spin == plan.after_spin and old <= new


def keep_former(document: TOMLDocument, job: Job, plan: StoredPlan) -> None:
    """Append a plan to ``[[former_plans]]``, unless it stands there already."""
    if plan in job.former_plans:
        return
    values = render.plan_values(plan, units=job.units, shop=job.shop)
    append_table(document, "former_plans", [f"{key} = {value}" for key, value in values.items()])


def put_table(document: TOMLDocument, section: str, values: Mapping[str, str]) -> None:
    """Put a table that the program writes in the document; what stands there already with these values is left alone."""
    import tomlkit
    from tomlkit.items import Table

    lines = "".join(f"{key} = {value}\n" for key, value in values.items())
    block = tomlkit.parse(f"[{section}]\n{lines}")[section]
    assert isinstance(block, Table)
    there = document.get(section)
    if there is None:
        end_with_newline(document)
        document.add(tomlkit.nl())
        document.append(section, block)
        return
    for key in [key for key in there if key not in block]:
        del there[key]
    for key, value in block.items():
        if key not in there or there[key].unwrap() != value.unwrap():
            there[key] = value


def put_key(document: TOMLDocument, section: str, key: str, value: str) -> None:
    """Put a key (its value as TOML) in a table of the document, the table made when there is none; a comment stays."""
    import tomlkit
    from tomlkit.items import InlineTable, Table

    item = tomlkit.parse(f"{key} = {value}\n")[key]
    there = document.get(section)
    if there is None:
        end_with_newline(document)
        document.add(tomlkit.nl())
        table = tomlkit.table()
        table.add(key, item)
        document.append(section, table)
        return
    if not isinstance(there, Table | InlineTable):
        raise InputError(f"`{section}` is no table", hint=f"write [{section}], with one bracket")
    if key in there or isinstance(there, InlineTable):
        there[key] = item
        return
    tail = _take_tail(there)
    there.add(key, item)
    for each in tail:
        there.add(each)
