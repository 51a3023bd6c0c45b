"""The live page's server: a few fixed addresses, for this machine's own browser only."""

from __future__ import annotations

import html
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from functools import partial
from pathlib import Path

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, PlainTextResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp
from uvicorn import Config

from stickout.cli.live.beginning import checked_typed, next_question
from stickout.cli.live.desk import OWN, Desk
from stickout.cli.live.guard import MOST_RECORDING, RECORDING, TOO_MUCH, Guard
from stickout.cli.live.patience import PatientProtocol
from stickout.cli.live.question import checked_question, checked_source, checked_tab
from stickout.cli.live.recordings import listened
from stickout.cli.live.sent import sent_object
from stickout.cli.live.worker import StaleError, WorkerLostError
from stickout.cli.show.pages.viewer import page_text, script_json
from stickout.fem.errors import InputError
from stickout.fem.setup.setup_error import SetupError


def make_app(desk: Desk, *, port: int, saved: Callable[[Path], object] = lambda _: None) -> ASGIApp:
    """Return the application of the page, guarded.

    Parameters
    ----------
    desk
        What the page knows; it is closed when the server ends.
    port
        The port that is served, for the check of hosts.
    saved
        Is told each file that was made on the page.
    """

    @asynccontextmanager
    async def life(_: Starlette) -> AsyncIterator[None]:
        yield
        desk.close()

    async def page(request: Request) -> Response:
        name = request.query_params.get("source", OWN)
        return _page(desk, name if name in desk.names else OWN)

    async def new(_: Request) -> Response:
        return _start(desk)

    async def answer(request: Request) -> Response:
        return await _answered(desk, request)

    async def save(request: Request) -> Response:
        try:
            question = checked_question(await request.body(), desk.names)
            text = desk.saved(question["source"], question["changes"])
        except (InputError, SetupError) as error:
            return JSONResponse({"mistakes": str(error).splitlines()}, status_code=422)
        return PlainTextResponse(text, headers={"content-disposition": 'attachment; filename="setup.toml"'})

    async def begin(request: Request) -> Response:
        body = await request.body()
        return _made(lambda: desk.begin(checked_typed(body)), saved)

    async def keep(request: Request) -> Response:
        body = await request.body()
        return _made(lambda: _kept(desk, body), saved)

    async def nowhere(_: Request, __: Exception) -> Response:
        return PlainTextResponse(f"There is no page here. Open http://127.0.0.1:{port}/ instead.", 404)

    routes = [
        Route("/", page),
        Route("/new", new),
        Route("/next", _asked_next, methods=["POST"]),
        Route("/begin", begin, methods=["POST"]),
        Route("/answer", answer, methods=["POST"]),
        Route("/save", save, methods=["POST"]),
        Route(RECORDING, partial(listened, desk), methods=["POST"]),
        Route("/keep", keep, methods=["POST"]),
    ]
    return Guard(Starlette(routes=routes, lifespan=life, exception_handlers={404: nowhere}), port)


def _made(make: Callable[[], tuple[str, Path]], saved: Callable[[Path], object]) -> Response:
    """Return by which name a set-up that is made now can be opened, and where it is."""
    try:
        name, path = make()
    except (InputError, SetupError) as error:
        return JSONResponse({"mistakes": str(error).splitlines()}, status_code=422)
    saved(path)
    return JSONResponse({"source": name, "file": str(path)})


def _kept(desk: Desk, body: bytes) -> tuple[str, Path]:
    """Save what a tab measured."""
    sent = sent_object(body)
    return desk.keep(checked_source(sent, desk.names), tab=checked_tab(sent))


async def _asked_next(request: Request) -> Response:
    """Return the question that comes next."""
    try:
        return JSONResponse(next_question(checked_typed(await request.body())))
    except InputError as error:
        return JSONResponse({"mistakes": str(error).splitlines()}, status_code=422)


def _page(desk: Desk, name: str) -> Response:
    """Return the page of a set-up; without one of the user's own, the questions that make one."""
    if name not in desk.names:
        return _start(desk)
    try:
        source = desk.source(name)
    except SetupError as error:
        return PlainTextResponse(str(error), status_code=422)
    first = {"names": desk.names, "own": name, "home": OWN, "opening": dict(source.opening)}
    first |= {"recording": {"bytes": MOST_RECORDING, "words": TOO_MUCH}}
    title = html.escape(str(source.opening["title"]))
    slots = {"title": title, "first": script_json(first), "drawing": ""}
    return HTMLResponse(page_text("page.html", slots))


def _start(desk: Desk) -> Response:
    """Return the page with the questions of the command ``new``."""
    first = {"names": desk.names, "folder": str(desk.folder.resolve())}
    return HTMLResponse(page_text("start.html", {"first": script_json(first)}))


def serving_options(desk: Desk, *, port: int, saved: Callable[[Path], object] = lambda _: None) -> Config:
    """Return how the page is served: guarded, with an end to all waiting; parameters as of ``make_app``."""
    return Config(
        make_app(desk, port=port, saved=saved),
        http=PatientProtocol,
        ws="none",
        log_level="error",
        access_log=False,
        timeout_graceful_shutdown=2,
    )


async def _answered(desk: Desk, request: Request) -> Response:
    """Return the answer to a question, or what went wrong with it."""
    try:
        told = await desk.answer(checked_question(await request.body(), desk.names))
    except (InputError, SetupError) as error:
        return JSONResponse({"mistakes": str(error).splitlines(), "keys": []}, status_code=422)
    except StaleError:
        return JSONResponse({"stale": True}, status_code=409)
    except WorkerLostError as error:
        return JSONResponse({"failed": str(error), "lost": True}, status_code=503)
    return JSONResponse(told, status_code=422 if "mistakes" in told or "failed" in told else 200)
