"""What the live page's server refuses: other hosts, other sites, long bodies, anything but what it asks."""

from __future__ import annotations

from typing import Final

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import HTMLResponse, PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from stickout.cli.show.pages.viewer import page_text

_ELSEWHERE: Final = "This page answers only to itself, not to other sites."
FORBIDDEN: Final = 403
MOST_BYTES: Final = 65_536
# The one address that takes more than a question: a recording, written to disk as it comes.
RECORDING: Final = "/recording"
MOST_RECORDING: Final = 100_000_000
TOO_MUCH: Final = (
    "A recording of at most 100 MB is taken here, 17 minutes of WAV: ten taps need a minute. Cut it, or "
    "give it to the command listen."
)
_TOO_LONG: Final = "The question is too long."
_QUESTION: Final = ("application/json", MOST_BYTES, "Questions are asked in JSON.", _TOO_LONG)
_SOUND: Final = ("application/octet-stream", MOST_RECORDING, "A recording is sent as plain bytes.", TOO_MUCH)
# A header of our own: another site's page cannot send it without asking first, and asking is refused.
MARK: Final = "x-stickout"
_POLICY: Final = (
    "default-src 'none'; connect-src 'self'; img-src data: blob:; style-src 'unsafe-inline'; "
    "script-src 'unsafe-inline'; form-action 'none'; frame-ancestors 'none'; base-uri 'none'"
)
_HEADERS: Final = {
    "content-security-policy": _POLICY,
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "cache-control": "no-store",
}


class Guard:
    """An application in front of another that lets only this page's own requests through.

    Parameters
    ----------
    app
        The application behind.
    port
        The port that is served.
    """

    def __init__(self, app: ASGIApp, port: int) -> None:
        self.app = app
        self.address = f"http://127.0.0.1:{port}/"
        self.hosts = {f"{name}:{port}" for name in ("127.0.0.1", "localhost")}
        if port == 80:
            self.hosts |= {"127.0.0.1", "localhost"}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it with one sentence."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        method, streamed = str(scope["method"]), scope["path"] == RECORDING
        refusal = self.refusal(method, Headers(scope=scope), streamed=streamed)

        async def dressed(message: Message) -> None:
            if message["type"] == "http.response.start":
                MutableHeaders(scope=message).update(_HEADERS)
            await send(message)

        if refusal is not None:
            await self.told(refusal, Headers(scope=scope))(scope, receive, dressed)
            return
        if streamed:
            await self.app(scope, receive, dressed)
            return
        body = await _body(receive) if method == "POST" else b""
        if body is None:
            await PlainTextResponse(_TOO_LONG, status_code=413)(scope, receive, dressed)
            return
        await self.app(scope, _replay(body, receive), dressed)

    def told(self, refusal: tuple[int, str], headers: Headers) -> Response:
        """Return a refusal: one sentence, or a page that goes on for who followed a link."""
        status, why = refusal
        if status != FORBIDDEN or headers.get("sec-fetch-mode") != "navigate":
            return PlainTextResponse(why, status_code=status)
        # The link is of this page's own address, so a click on it is no longer one from elsewhere.
        words = "A link on another page brought you here. So that no other site can ask it anything, this "
        words += "program opens only from its own address. Click it, or type it:"
        slots = {"title": "One more click", "why": words, "address": self.address}
        return HTMLResponse(page_text("elsewhere.html", slots), status_code=status)

    def refusal(self, method: str, headers: Headers, *, streamed: bool = False) -> tuple[int, str] | None:
        """Return status and sentence for a request that is refused; None for one that may pass.

        ``streamed`` is whether a recording may come with it, which whoever takes it counts as it comes.
        """
        if headers.get("host") not in self.hosts:
            return FORBIDDEN, "This page answers only to its own address on this machine."
        origin = headers.get("origin")
        if origin is not None and origin.removeprefix("http://") not in self.hosts:
            return FORBIDDEN, _ELSEWHERE
        if headers.get("sec-fetch-site", "none") not in ("none", "same-origin"):
            return FORBIDDEN, _ELSEWHERE
        if method not in ("GET", "HEAD", "POST"):
            return 405, "That is not asked here."
        if method == "POST":
            return self._post_refusal(headers, streamed=streamed)
        return None

    @staticmethod
    def _post_refusal(headers: Headers, *, streamed: bool) -> tuple[int, str] | None:
        """Return the same for a question or a recording."""
        kind, most, other_kind, too_long = _SOUND if streamed else _QUESTION
        if headers.get("content-type", "").partition(";")[0].strip() != kind:
            return 415, other_kind
        if headers.get(MARK) is None:
            return FORBIDDEN, _ELSEWHERE
        length = headers.get("content-length", "0")
        if not length.isdecimal() or int(length) > most:
            return 413, too_long
        return None


async def _body(receive: Receive) -> bytes | None:
    """Return the whole body; None where it is too long, whatever its header says."""
    parts, size, more = [], 0, True
    while more:
        message = await receive()
        if message["type"] != "http.request":
            break
        parts.append(message.get("body", b""))
        size += len(parts[-1])
        if size > MOST_BYTES:
            return None
        more = message.get("more_body", False)
    return b"".join(parts)


def _replay(body: bytes, receive: Receive) -> Receive:
    """Return a receiver that gives the body once more, then goes on with the connection."""
    given = False

    async def again() -> Message:
        nonlocal given
        if given:
            return await receive()
        given = True
        return {"type": "http.request", "body": body, "more_body": False}

    return again
