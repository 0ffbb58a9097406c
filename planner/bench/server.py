"""Serving the page: on this machine only, or shared on the local network by a code."""

from __future__ import annotations

import asyncio
import contextlib
import socket
import sys
import threading
import webbrowser
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import uvicorn
from uvicorn.protocols.http.h11_impl import H11Protocol

from planner.bench.app import make_app
from planner.bench.folder import Folder, address
from planner.bench.guard import LOOPBACK, Door, Guard
from planner.bench.planning import Planner
from planner.errors import InputError

_PATIENCE_SECONDS = 10.0
_AT_ONCE = 200
"""Requests answered at a time; what comes beyond is told to come again."""


def serve(where: str | None, *, port: int = 0, share: bool = False, open_page: bool = True) -> None:
    """Serve the page for a folder of jobs, or for one job, until Ctrl-C.

    Parameters
    ----------
    where : str, optional
        A folder or a job file; the current folder if left out.
    port : int
        The port; 0 takes a free one.
    share : bool
        Listen on the local network too; others need the code that is printed.
    open_page : bool
        Open the page in the browser of this machine.

    Raises
    ------
    InputError
        If there is no such folder or job, or the port is taken.
    """
    folder = folder_of(where)
    taken = _socket("0.0.0.0" if share else "127.0.0.1", port)
    port = taken.getsockname()[1]
    own = _addresses() if share else ()
    link = f"http://127.0.0.1:{port}" + (address(folder.keys()[0]) if folder.only else "/")
    door = Door() if share else None
    server = make_server(
        folder, port=port, shared_at=own, door=door, said=lambda: _print_link(own, port, door)
    )
    print(f"The bench page is at {link} (Ctrl-C ends it).", flush=True)
    if share:
        _print_link(own, port, door)
    if open_page:
        threading.Timer(0.5, lambda: _open(link)).start()
    with _quiet_end():
        server.run(sockets=[taken])


def folder_of(where: str | None) -> Folder:
    """Return the folder that is meant, with its one job where a job file is named.

    Raises
    ------
    InputError
        If it is not there.
    """
    path = Path(where or ".").expanduser()
    if path.is_dir():
        return Folder(path.resolve())
    if path.is_file() and path.suffix == ".toml":
        real = path.resolve()
        return Folder(real.parent, only=real)
    raise InputError(
        f"there is no folder and no job file `{where}`", hint="name a folder of jobs, or one job file"
    )


def make_server(
    folder: Folder,
    *,
    port: int,
    shared_at: Sequence[str] = (),
    door: Door | None = None,
    said: Callable[[], None] | None = None,
) -> uvicorn.Server:
    """Return the server.

    Parameters
    ----------
    folder : Folder
        The jobs.
    port : int
        The port that it is reached at.
    shared_at : sequence of str
        The other addresses of this machine under which it may be asked.
    door : Door, optional
        Of a shared page: what lets others in.
    said : callable, optional
        Called when a code was used.
    """
    names = (*LOOPBACK, *shared_at)
    hosts = [f"{each}:{port}" for each in names] + (list(names) if port == 80 else [])
    app = Guard(make_app(folder, Planner()), hosts=hosts, door=door, said=said)
    config = uvicorn.Config(
        app,
        log_level="error",
        access_log=False,
        limit_concurrency=_AT_ONCE,
        timeout_keep_alive=20,
        timeout_graceful_shutdown=2,
        h11_max_incomplete_event_size=32_768,
        server_header=False,
        lifespan="off",
        ws="none",
        http=_Patient,
        proxy_headers=False,
    )
    return uvicorn.Server(config)


class _Patient(H11Protocol):
    """Speaks HTTP with whoever speaks: a connection that sends no whole request in time is closed and keeps nobody out."""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Begin to wait for the first request."""
        super().connection_made(transport)
        self._waiting = self.loop.call_later(_PATIENCE_SECONDS, self._too_slow)

    def connection_lost(self, exc: Exception | None) -> None:
        """Stop waiting."""
        self._waiting.cancel()
        super().connection_lost(exc)

    def _too_slow(self) -> None:
        if self.cycle is None:
            self.transport.close()


def _socket(host: str, port: int) -> socket.socket:
    # asyncio lets small packets go at once only where the protocol is said: else every answer waits 40 ms for a receipt
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if sys.platform != "win32":
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        made.bind((host, port))
        # from here on a browser waits instead of being refused, while the page is being made ready
        made.listen(512)
    except (OSError, OverflowError) as error:
        made.close()
        why = getattr(error, "strerror", None) or error
        raise InputError(
            f"port {port} can't be used: {why}", hint="leave --port away for a free one"
        ) from None
    return made


def _addresses() -> tuple[str, ...]:
    """Return the addresses of this machine on the local network, as far as its name and its way out tell."""
    found: list[str] = []
    with contextlib.suppress(OSError):
        found += [str(each[4][0]) for each in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)]
    with contextlib.suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        # nothing is sent: which of its own addresses the system would use on the local network
        probe.connect(("10.255.255.255", 1))
        found.append(str(probe.getsockname()[0]))
    return tuple(dict.fromkeys(each for each in found if not each.startswith("127.")))


def _print_link(own: Sequence[str], port: int, door: Door | None) -> None:
    import segno

    assert door is not None
    if not own:
        print("This machine has no address on a local network: nothing is shared.", flush=True)
        return
    link = f"http://{own[0]}:{port}/?code={door.code}"
    print(
        f"\nFor the tablet, once: {link}\nWhoever comes in may change the jobs in this folder.\n", flush=True
    )
    if sys.stdout.isatty():
        segno.make(link, micro=False).terminal(compact=True)


def _open(link: str) -> None:
    with contextlib.suppress(Exception):
        webbrowser.open(link)


@contextlib.contextmanager
def _quiet_end() -> Iterator[None]:
    with contextlib.suppress(KeyboardInterrupt):
        yield
