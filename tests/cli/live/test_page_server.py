"""The live page over a real socket: answers, saved set-ups, the guard, a solver that is lost."""

from __future__ import annotations

import http.client
import json
import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from answers import EXAMPLES
from live import ASKING, Served, serving
from setups import ROUND

from stickout.cli.live.desk import OWN, Desk
from stickout.cli.live.guard import MOST_BYTES
from stickout.cli.live.question import checked_question
from stickout.fem.errors import InputError
from stickout.fem.setup.file import parse_setup

CUT = """
[cut]
operation = "boring"
work_material = "medium carbon steel"
depth = 0.2
feed = 0.05
nose_radius = 0.4
edge_angle_deg = 95
speeds_rpm = [200, 500]
"""


def question(**more: Any) -> dict[str, Any]:
    """Return a question as the page asks it."""
    return {"source": OWN, "changes": {}, "speed": None, "full": False, "tab": "a"} | more


@pytest.fixture(scope="module")
def setup_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the README's bar as a file of its own, two modes, loosely solved."""
    path = tmp_path_factory.mktemp("page") / "bar.toml"
    path.write_text(ROUND + CUT + "[solve]\nmodes = 2\naccuracy = 0.01\n", encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def served(setup_path: Path) -> Iterator[Served]:
    """Return the page, served."""
    with serving(Desk(setup_path, EXAMPLES)) as one:
        yield one


def test_the_page_itself(served: Served) -> None:
    """One document with a policy; the guard's headers are on it."""
    page = served.send("GET", "/", headers={})
    assert page.status == 200
    assert page.headers["x-frame-options"] == "DENY"
    assert "default-src 'none'" in page.headers["content-security-policy"]
    assert "{{" not in page.text


def test_an_answer_over_http(served: Served) -> None:
    """The answer comes with the opening of its set-up; an example can be asked for by name."""
    reply = served.ask("/answer", question(changes={"bar.overhang": 70}))
    assert reply.status == 200
    assert reply.data["opening"]["sliders"][0]["key"] == "bar.overhang"
    other = served.ask("/answer", question(source="tube_bar"))
    assert other.data["opening"]["title"] != reply.data["opening"]["title"]
    wrong = served.ask("/answer", question(changes={"bar.diameter": 0}))
    assert wrong.status == 422
    assert wrong.data["keys"] == ["bar.diameter"]


def test_saving_over_http(served: Served) -> None:
    """The text is a set-up file with the dragged values and everything else as it was."""
    reply = served.ask("/save", question(changes={"bar.overhang": 71.5}, speed=300))
    saved = parse_setup(reply.text).setup
    assert saved.bar.overhang_mm == 71.5
    assert saved.cut is not None
    assert saved.cut.speeds_rpm == (200, 500)
    assert served.ask("/save", question(source="../../etc/passwd")).status == 422


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"host": "evil.example"}, 403),
        ({"host": "127.0.0.1:1"}, 403),
        ({"origin": "http://evil.example"}, 403),
        ({"origin": "http://127.0.0.1:1"}, 403),
        ({"origin": "https://127.0.0.1:PORT"}, 403),
        ({"origin": "null"}, 403),
        ({"sec-fetch-site": "cross-site"}, 403),
        ({"sec-fetch-site": "same-site"}, 403),
        ({"x-stickout": None}, 403),
        ({"content-type": "text/plain"}, 415),
        ({"content-length": str(MOST_BYTES + 1)}, 413),
        ({"origin": "http://127.0.0.1:PORT", "sec-fetch-site": "same-origin"}, 200),
        ({"host": "localhost:PORT", "origin": "http://localhost:PORT"}, 200),
    ],
)
def test_the_guard(served: Served, headers: dict[str, str | None], status: int) -> None:
    """Another host, another site, another kind of body, too long a body: refused before anything is read."""
    sent = {k: v.replace("PORT", str(served.port)) for k, v in (ASKING | headers).items() if v is not None}
    reply = served.send("POST", "/save", headers=sent, body=json.dumps(question()))
    assert reply.status == status


def test_a_body_longer_than_it_says(served: Served) -> None:
    """Sent in pieces, without a length: counted as it comes."""
    pieces = (b" " * 10_000 for _ in range(8))
    assert served.send("POST", "/answer", headers=ASKING, body=pieces).status == 413


@pytest.mark.parametrize(
    "path", ["/../pyproject.toml", "/%2e%2e/cli/page.py", "/cli/page.py", "//etc/passwd"]
)
def test_no_other_path(served: Served, path: str) -> None:
    """There are a few addresses; no file can be asked for."""
    assert served.send("GET", path, headers={}).status == 404
    assert served.send("DELETE", "/", headers={}).status == 405


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"[]",
        b"{",
        b"\xff",
        b"[" * 60_000,
        json.dumps(question(source="nobody")).encode(),
        json.dumps(question(changes=[1])).encode(),
        json.dumps(question(changes={"bar.overhang": "80; rm"})).encode(),
        json.dumps(question(changes={"bar.overhang": True})).encode(),
        b'{"source": "your set-up", "tab": "a", "changes": {"bar.overhang": NaN}}',
        b'{"source": "your set-up", "tab": "a", "changes": {"bar.overhang": 1e999}}',
        json.dumps(question(changes={"../x": 1})).encode(),
        json.dumps(question(changes={f"bar.a{'b' * at}": 1 for at in range(30)})).encode(),
        json.dumps(question(speed=-1)).encode(),
        json.dumps(question(tab="x" * 100)).encode(),
        json.dumps(question(source=["your set-up"])).encode(),
    ],
)
def test_questions_the_page_would_not_ask(body: bytes) -> None:
    """Anything else on this machine may speak to the port: each part is checked."""
    with pytest.raises(InputError):
        checked_question(body, [OWN])


def test_a_lost_solver_is_told_and_replaced(served: Served) -> None:
    """Killed while it works or waits: told in words at most once, then answered by another process."""
    assert served.ask("/answer", question()).status == 200
    before = served.desk.quick.pid
    assert before is not None
    os.kill(before, signal.SIGKILL)
    first, second = (served.ask("/answer", question()) for _ in range(2))
    assert first.status == 200 or (first.status == 503 and "started anew" in first.data["failed"])
    assert second.status == 200
    assert served.desk.quick.pid != before


def test_the_command_serves_until_ctrl_c() -> None:
    """The whole program: it says where, answers, and ends well, its solvers with it."""
    words = [sys.executable, "-m", "stickout.cli", "page", str(EXAMPLES / "boring_bar_16mm.toml"), "--port"]
    port = spare_port()
    with subprocess.Popen(
        [*words, str(port)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=EXAMPLES.parent
    ) as program:
        assert program.stdout is not None
        assert program.stderr is not None
        assert f"http://127.0.0.1:{port}/" in program.stdout.readline()
        line = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        line.request("GET", "/")
        assert line.getresponse().status == 200
        line.close()
        program.send_signal(signal.SIGINT)
        assert program.stdout.read() == "Stopped.\n"
        assert program.stderr.read() == ""
        assert program.wait(60) == 0


def spare_port() -> int:
    """Return a port that was free a moment ago."""
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])
