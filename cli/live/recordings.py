"""A recording brought to the live page: streamed to a file of its own, listened to and fitted, then gone."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, PlainTextResponse, Response

from stickout.cli.live.asked import checked_asked
from stickout.cli.live.desk import Desk
from stickout.cli.live.guard import MOST_RECORDING, TOO_MUCH
from stickout.cli.live.worker import StaleError, WorkerLostError
from stickout.cli.refusals import refused_temporary
from stickout.fem.errors import InputError
from stickout.fem.setup.setup_error import SetupError

_BUSY: Final = "Another recording is being listened to. Wait for it, then send this one again."


async def listened(desk: Desk, request: Request) -> Response:
    """Return what a recording says of a set-up; the file is gone before the answer leaves."""
    try:
        asked = checked_asked(request.query_params.get("asked", "").encode(), desk.names)
        if not desk.begin_listening():
            return JSONResponse({"mistakes": [_BUSY]}, status_code=409)
        try:
            with TemporaryDirectory(prefix="stickout-") as folder:
                if asked.name and not await _stored(request, Path(folder) / asked.name):
                    return PlainTextResponse(TOO_MUCH, status_code=413)
                told = await desk.listen(asked, Path(folder))
        finally:
            desk.end_listening()
    except (InputError, SetupError) as error:
        return JSONResponse({"mistakes": str(error).splitlines()}, status_code=422)
    except StaleError:
        return JSONResponse({"stale": True}, status_code=409)
    except WorkerLostError as error:
        return JSONResponse({"failed": str(error), "lost": True}, status_code=503)
    except ClientDisconnect:
        return PlainTextResponse("The recording did not come whole.", status_code=400)
    return JSONResponse(told, status_code=422 if "mistakes" in told or "failed" in told else 200)


async def _stored(request: Request, path: Path) -> bool:
    """Write what is sent to a file, piece by piece; return whether it is no more than is taken."""
    size = 0
    try:
        with path.open("wb") as file:
            async for piece in request.stream():
                size += len(piece)
                if size > MOST_RECORDING:
                    return False
                file.write(piece)
    except OSError as error:
        raise refused_temporary(error, path) or error from error
    return True
