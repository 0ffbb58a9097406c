"""`bobplan bench`: the page for those who don't type commands."""

from __future__ import annotations

from typing import Annotated

import typer


def bench(
    where: Annotated[
        str | None,
        typer.Argument(metavar="[FOLDER]", help="A folder of jobs, or one job file. Left out: this folder."),
    ] = None,
    port: Annotated[
        int,
        typer.Option(metavar="NUMBER", min=0, max=65535, help="The port of the page; 0 takes a free one."),
    ] = 0,
    share: Annotated[
        bool,
        typer.Option(
            "--share",
            help="Let a tablet on the local network in, by a link with a code that works once; without it nothing outside "
            "this machine gets in.",
        ),
    ] = False,
    stay: Annotated[
        bool, typer.Option("--no-browser", help="Don't open the page in a browser here.")
    ] = False,
) -> None:
    """Serve the whole job as a page for the tablet beside the machine, over the same files as the commands.

    Ends with Ctrl-C; ending it at any moment loses nothing that was entered.
    """
    from planner.bench.server import serve

    serve(where, port=port, share=share, open_page=not stay)
