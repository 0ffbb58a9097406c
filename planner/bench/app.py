"""The page as an application: which address is which part."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Callable
from dataclasses import replace
from functools import partial
from urllib.parse import parse_qsl

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response, StreamingResponse
from starlette.routing import BaseRoute, Route

from planner.bench import (
    cut_part,
    entries,
    jobs_part,
    judge_part,
    new_part,
    papers,
    parts_part,
    prove_part,
    quote_part,
    shop_part,
    spin_part,
)
from planner.bench.folder import Folder, NotThereError
from planner.bench.page import STATIC, Call, Form, Handler, error_words, show
from planner.bench.planning import Planner, Task
from planner.errors import BobplanError, FileFaultsError, InputError
from planner.present.to_html import colours_css

_MOST_FIELDS = 5000
_SECONDS_TO_SEND = 20.0
_MEDIA = {".css": "text/css", ".js": "text/javascript", ".txt": "text/plain"}


def make_app(folder: Folder, planner: Planner) -> Starlette:
    """Return the application for a folder of jobs; `planner.bench.guard` has to stand before it."""

    def get(path: str, handler: Handler) -> BaseRoute:
        return Route(path, partial(_answered, handler, folder, planner), methods=["GET"])

    def post(path: str, handler: Handler) -> BaseRoute:
        return Route(path, partial(_answered, handler, folder, planner), methods=["POST"])

    job = "/job/{key:path}"
    routes = [
        get("/", jobs_part.jobs_page),
        Route("/static/{name}", _static, methods=["GET"]),
        Route("/units", _units, methods=["POST"]),
        get("/row/{key:path}", jobs_part.row),
        get("/new", new_part.new_page),
        post("/new/look", new_part.look),
        post("/new", new_part.make),
        get(f"{job}/spin", spin_part.spin_page),
        post(f"{job}/spin/look", spin_part.look),
        post(f"{job}/spin", spin_part.enter_spin),
        Route(f"{job}/cut/news", partial(_news, folder, planner, cut_part.task_of), methods=["GET"]),
        get(f"{job}/cut", cut_part.cut_page),
        post(f"{job}/cut/confirm", cut_part.confirm),
        post(f"{job}/cut/settle", cut_part.settle),
        post(f"{job}/cut/take", cut_part.take),
        post(f"{job}/cut", cut_part.enter_cut),
        get(f"{job}/parts", parts_part.parts_page),
        get(f"{job}/parts/makeup", parts_part.makeup),
        post(f"{job}/parts/look", parts_part.look),
        post(f"{job}/parts/what-if", parts_part.what_if),
        post(f"{job}/parts/bob", parts_part.save_bob),
        post(f"{job}/parts/cylinders", parts_part.save_cylinders),
        post(f"{job}/parts", parts_part.save),
        Route(f"{job}/parts/news", partial(_news, folder, planner, parts_part.task_of), methods=["GET"]),
        get(f"{job}/judge", judge_part.judge_page),
        Route(f"{job}/quote/news", partial(_news, folder, planner, quote_part.task_of), methods=["GET"]),
        get(f"{job}/quote", quote_part.quote_page),
        get(f"{job}/shop/prove", prove_part.prove_page),
        post(f"{job}/shop/prove", prove_part.act),
        get(f"{job}/shop", shop_part.shop_page),
        post(f"{job}/shop", shop_part.change_shop),
        post(f"{job}/undo", entries.undo),
        post(f"{job}/redo", entries.redo),
        get(f"{job}/{{paper}}.pdf", papers.paper),
        # addresses that forms go to, loaded again by somebody: the part that the form stands in
        *(
            get(f"{job}/{part}/{act}", partial(jobs_part.back_to, part))
            for part, acts in (
                ("cut", ("confirm", "settle", "take")),
                ("spin", ("look",)),
                ("parts", ("look", "what-if", "bob", "cylinders")),
            )
            for act in acts
        ),
        *(get(f"{job}/{act}", partial(jobs_part.back_to, "")) for act in ("undo", "redo")),
        get(job, jobs_part.job_page),
    ]
    made = Starlette(routes=routes, exception_handlers={HTTPException: _not_found})
    made.router.redirect_slashes = False
    return made


async def _answered(handler: Handler, folder: Folder, planner: Planner, request: Request) -> Response:
    """Answer a request by a part of the page, in a thread: parts work out things."""
    call = await _call(folder, planner, request)
    return await run_in_threadpool(_said, handler, call)


async def _call(folder: Folder, planner: Planner, request: Request) -> Call:
    values = {name: str(value) for name, value in request.path_params.items()}
    try:
        body = await asyncio.wait_for(request.body(), _SECONDS_TO_SEND) if request.method == "POST" else b""
    except TimeoutError:
        raise HTTPException(408, "the form took too long to come") from None
    except ClientDisconnect:
        raise HTTPException(413, "the form is too large") from None
    return Call(
        folder=folder,
        planner=planner,
        key=values.get("key", ""),
        query=_form(request.url.query),
        form=_form(body.decode("utf-8", "replace")),
        other_units=request.cookies.get("units") == "other",
        path=request.url.path,
        posted=request.method == "POST",
        values=values,
    )


def _form(text: str) -> Form:
    try:
        return Form(tuple(parse_qsl(text, keep_blank_values=True, max_num_fields=_MOST_FIELDS)))
    except ValueError:
        raise HTTPException(413, "the form has too many fields") from None


def _said(handler: Handler, call: Call) -> Response:
    """Return a part's answer, or its error as a page: never a traceback."""
    try:
        if call.key:
            _ = call.file  # nothing outside the folder, whatever the part does
        return handler(call)
    except NotThereError as error:
        return show(replace(call, key=""), "error", error=error_words(error), status=404)
    except FileFaultsError as error:
        return show(call, "faults", faults=error.faults, status=422)
    except BobplanError as error:
        status = 422 if isinstance(error, InputError) else 409
        return show(call, "error", error=error_words(error), status=status)
    except Exception as error:  # a fault of the program: said in words, its place told in the terminal
        _tell(error)
        failed = BobplanError(
            f"the program failed here ({type(error).__name__})",
            hint="what was entered before is in the file; the terminal says where it failed",
        )
        return show(replace(call, key=""), "error", error=error_words(failed), status=500)


def _tell(error: Exception) -> None:
    import sys
    import traceback

    place = traceback.extract_tb(error.__traceback__)[-1]
    print(
        f"bobplan bench: {type(error).__name__}: {error} ({place.name}, line {place.lineno})", file=sys.stderr
    )


async def _not_found(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    words = "there is no such page here" if error.status_code == 404 else error.detail
    return PlainTextResponse(f"{words}\n", status_code=error.status_code)


async def _static(request: Request) -> Response:
    """Return one of the page's own files; browsers keep it until its address changes."""
    name = str(request.path_params["name"])
    kept = {"cache-control": "public, max-age=31536000, immutable"}
    if name == "colours.css":
        return Response(colours_css(), media_type="text/css", headers=kept)
    path = STATIC / name
    if name not in {each.name for each in STATIC.iterdir()} or path.suffix not in _MEDIA:
        raise HTTPException(404)
    return Response(path.read_bytes(), media_type=_MEDIA[path.suffix], headers=kept)


async def _units(request: Request) -> Response:
    """Show the other units, or the job's own again, and go back to where that was asked."""
    form = _form((await request.body()).decode("utf-8", "replace"))
    back = form.get("back")
    where = back if back.startswith("/") and not back.startswith(("//", "/\\")) else "/"
    answer = RedirectResponse(where, status_code=303)
    answer.set_cookie(
        "units",
        "own" if request.cookies.get("units") == "other" else "other",
        httponly=True,
        samesite="strict",
        path="/",
    )
    return answer


async def _news(
    folder: Folder, planner: Planner, task_of: Callable[[Call], Task], request: Request
) -> Response:
    """Tell a page what its search says, until it has an answer (server-sent events)."""
    call = await _call(folder, planner, request)
    try:
        task = await run_in_threadpool(task_of, call)
    except BobplanError as error:
        return PlainTextResponse(f"{error.message}\n", status_code=422)
    except Exception as error:
        _tell(error)
        return PlainTextResponse("the program failed here\n", status_code=500)

    async def events() -> AsyncIterator[str]:
        told = 0
        while True:
            texts = await run_in_threadpool(task.texts_after, told, 5.0)
            for text in texts:
                yield f"event: text\ndata: {json.dumps(text)}\n\n"
            told += len(texts)
            if task.ended:
                overtaken = "overtaken" if task.cancelled else ""
                yield f"event: end\ndata: {json.dumps(overtaken)}\n\n"
                return
            if await request.is_disconnected():
                return
            yield ": still at it\n\n"

    return StreamingResponse(events(), media_type="text/event-stream")
