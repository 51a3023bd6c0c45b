"""The live page against those who keep it waiting, and those who come by a link from elsewhere."""

from __future__ import annotations

import socket
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from answers import EXAMPLES
from live import Served, serving

from stickout.cli.live.desk import Desk
from stickout.cli.live.patience import PatientProtocol


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    """Return a page without a set-up of its own."""
    with serving(Desk(None, EXAMPLES, folder=tmp_path)) as one:
        yield one


def line(served: Served) -> socket.socket:
    """Return a connection on which nothing was said."""
    return socket.create_connection(("127.0.0.1", served.port), timeout=30)


def test_idle_connections_make_room(served: Served) -> None:
    """Three times as many as are served, all silent: the page still answers, the oldest are closed."""
    with ExitStack() as kept:
        silent = [kept.enter_context(line(served)) for _ in range(3 * PatientProtocol.most)]
        assert served.send("GET", "/new", headers={}).status == 200
        assert _closed(silent[0])


@pytest.mark.parametrize(
    "said",
    [
        b"",
        b"GET / HT",
        b"GET / HTTP/1.1\r\nhost: x\r\n",
        b"POST /next HTTP/1.1\r\nhost: x\r\ncontent-length: 9\r\n\r\n{",
    ],
    ids=["nothing", "half a line", "half a head", "half a body"],
)
def test_a_question_that_never_ends(served: Served, monkeypatch: pytest.MonkeyPatch, said: bytes) -> None:
    """Silent or half said: closed after its time."""
    monkeypatch.setattr(PatientProtocol, "question_s", 0.3)
    with line(served) as slow:
        slow.sendall(said)
        assert _closed(slow)
    assert served.send("GET", "/new", headers={}).status == 200


def test_drops_do_not_lengthen_the_time(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    """A byte now and then does not keep the connection: the time counts from its beginning."""
    monkeypatch.setattr(PatientProtocol, "question_s", 0.5)
    with line(served) as slow:
        slow.settimeout(0.1)
        gone = False
        for one in b"GET / HTTP/1.1 and nothing that would ever end it":
            try:
                slow.sendall(bytes([one]))
                gone = slow.recv(1) == b""
            except TimeoutError:
                continue
            except OSError:
                gone = True
            if gone:
                break
        assert gone


def test_an_answer_that_takes_too_long(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    """An answer has an end too, and the server goes on."""
    monkeypatch.setattr(PatientProtocol, "answer_s", 0.0)
    with line(served) as one:
        one.sendall(f"GET /new HTTP/1.1\r\nhost: 127.0.0.1:{served.port}\r\n\r\n".encode())
        while _heard(one):
            pass
    monkeypatch.undo()
    assert served.send("GET", "/new", headers={}).status == 200


def test_a_link_from_elsewhere_is_answered_with_a_way_on(served: Served) -> None:
    """A followed link gets words and the address; a script one sentence; neither gets more."""
    link = {"sec-fetch-site": "cross-site", "sec-fetch-mode": "navigate"}
    for headers in (link, {"host": "evil.example", "sec-fetch-mode": "navigate"}):
        reply = served.send("GET", "/", headers=headers)
        assert reply.status == 403
        assert f'<a href="{served.address}">' in reply.text
        assert "A link on another page brought you here" in reply.text
        assert "{{" not in reply.text
        assert reply.headers["x-frame-options"] == "DENY"
    script = served.send("GET", "/", headers={"sec-fetch-site": "cross-site", "sec-fetch-mode": "cors"})
    assert (script.status, script.text) == (403, "This page answers only to itself, not to other sites.")


def test_a_wrong_path_names_the_right_one(served: Served) -> None:
    """One sentence with the address of the page."""
    reply = served.send("GET", "/nowhere", headers={})
    assert (reply.status, reply.text) == (404, f"There is no page here. Open {served.address} instead.")


def _heard(one: socket.socket) -> bytes:
    """Return what was heard next, nothing where the other side has closed."""
    try:
        return one.recv(65_536)
    except ConnectionError:
        return b""


def _closed(one: socket.socket) -> bool:
    """Return whether the server closes a connection, at once or within its time limit."""
    try:
        while _heard(one):
            pass
    except TimeoutError:
        return False
    return True
