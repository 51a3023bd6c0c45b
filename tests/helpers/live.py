"""The live page served for tests: the real server in a thread, asked over a real socket."""

from __future__ import annotations

import http.client
import json
import socket
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import uvicorn

from stickout.cli.commands.page import listener
from stickout.cli.live.desk import Desk
from stickout.cli.live.server import serving_options
from stickout.fem.errors import InputError

ASKING = {"content-type": "application/json", "x-stickout": "page"}
_LONGEST_S = 60


@dataclass(frozen=True)
class Reply:
    """What came back."""

    status: int
    headers: Mapping[str, str]
    text: str

    @property
    def data(self) -> Any:
        """The text as JSON."""
        return json.loads(self.text)


@dataclass(frozen=True)
class Served:
    """A page that is served."""

    desk: Desk
    port: int

    @property
    def address(self) -> str:
        """Its address."""
        return f"http://127.0.0.1:{self.port}/"

    def send(self, method: str, path: str, *, headers: Mapping[str, str], body: Any = None) -> Reply:
        """Send one request exactly as given; a body in pieces is sent without a length."""
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=_LONGEST_S)
        try:
            line.request(method, path, body=body, headers=dict(headers))
            reply = line.getresponse()
            return Reply(reply.status, dict(reply.getheaders()), reply.read().decode())
        finally:
            line.close()

    def ask(self, path: str, question: Mapping[str, Any]) -> Reply:
        """Send a question as the page does."""
        return self.send("POST", path, headers=ASKING, body=json.dumps(question))


@contextmanager
def serving(desk: Desk) -> Iterator[Served]:
    """Serve a desk on a free port; the server closes it at the end."""
    listening = next(filter(None, map(_listening, range(18017, 18900))))
    port = int(listening.getsockname()[1])
    server = uvicorn.Server(serving_options(desk, port=port))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    end = time.monotonic() + _LONGEST_S
    while not server.started and time.monotonic() < end:
        time.sleep(0.02)
    yield Served(desk, port)
    server.should_exit = True
    thread.join(_LONGEST_S)
    listening.close()


def _listening(port: int) -> socket.socket | None:
    """Return a socket that listens on a port, None where it is taken."""
    try:
        return listener(port)
    except InputError:
        return None
