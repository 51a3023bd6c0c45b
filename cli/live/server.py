"""The live page's server: a few fixed addresses, for this machine's own browser only."""

from __future__ import annotations

import html
import math
import re
from collections.abc import AsyncIterator, Callable, Mapping
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any, Final

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, PlainTextResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp
from uvicorn import Config

from stickout.cli.live.beginning import checked_typed, next_question
from stickout.cli.live.desk import OWN, Desk
from stickout.cli.live.guard import Guard
from stickout.cli.live.patience import PatientProtocol
from stickout.cli.live.sent import not_sent, sent_object
from stickout.cli.live.worker import StaleError, WorkerLostError
from stickout.cli.show.pages.viewer import page_text, script_json
from stickout.fem.errors import InputError
from stickout.fem.setup.setup_error import SetupError

_KEY: Final = re.compile(r"[a-z_]+(\.[a-z_]+)?")
_MOST_CHANGES: Final = 20
_LONGEST_TAB: Final = 40


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
        try:
            name, path = desk.begin(checked_typed(await request.body()))
        except (InputError, SetupError) as error:
            return JSONResponse({"mistakes": str(error).splitlines()}, status_code=422)
        saved(path)
        return JSONResponse({"source": name, "file": str(path)})

    async def nowhere(_: Request, __: Exception) -> Response:
        return PlainTextResponse(f"There is no page here. Open http://127.0.0.1:{port}/ instead.", 404)

    routes = [
        Route("/", page),
        Route("/new", new),
        Route("/next", _asked_next, methods=["POST"]),
        Route("/begin", begin, methods=["POST"]),
        Route("/answer", answer, methods=["POST"]),
        Route("/save", save, methods=["POST"]),
    ]
    return Guard(Starlette(routes=routes, lifespan=life, exception_handlers={404: nowhere}), port)


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
    title = html.escape(str(source.opening["title"]))
    slots = {"title": title, "first": script_json(first), "loop": "data:,"}
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


def checked_question(body: bytes, names: list[str]) -> dict[str, Any]:
    """Return a question of the page, checked: it may come from anything that speaks HTTP on this machine.

    Raises
    ------
    InputError
        It is no JSON, or a part of it is missing or not of its kind.
    """
    question = sent_object(body)
    source, changes, speed, tab = (question.get(key) for key in ("source", "changes", "speed", "tab"))
    if source not in names:
        raise not_sent("source", source, allowed=f"one of {', '.join(names)}")
    if not isinstance(changes, Mapping) or len(changes) > _MOST_CHANGES:
        raise not_sent(
            "changes", type(changes).__name__, allowed=f"an object of at most {_MOST_CHANGES} numbers"
        )
    for key, value in changes.items():
        if not _KEY.fullmatch(key) or not _is_number(value):
            raise not_sent(f"changes.{key[:40]}", str(value)[:40], allowed="a key of the set-up and a number")
    if speed is not None and not (_is_number(speed) and 0 < speed < 1e6):
        raise not_sent("speed", str(speed)[:40], allowed="a speed in rpm above 0")
    if not isinstance(tab, str) or len(tab) > _LONGEST_TAB:
        raise not_sent("tab", str(tab)[:40], allowed=f"a text of at most {_LONGEST_TAB} characters")
    return {
        "source": source,
        "changes": dict(changes),
        "speed": speed,
        "tab": tab,
        "full": question.get("full") is True,
    }


def _is_number(value: object) -> bool:
    """Return whether a value is a finite number; true and false are none."""
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < math.inf
