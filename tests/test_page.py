"""The live page without a browser: sliders, answers, saved set-ups, the guard, solvers that are lost."""

from __future__ import annotations

import json
import os
import signal
import socket
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from answers import EXAMPLES, told
from live import ASKING, Served, serving
from setups import ROUND, SHIM, SLOT, WRAP

from cli.page import listener
from cli.page_answer import answer
from cli.page_desk import OWN, Desk
from cli.page_guard import MOST_BYTES
from cli.page_server import checked_question
from cli.page_sliders import sliders_of
from cli.page_toml import toml_text
from cli.page_worker import StaleError, Worker, WorkerLostError
from cli.setup_file import parse_setup, parse_tables, read_setup, read_tables
from fem.errors import InputError
from fem.study import run_study

BAR = EXAMPLES / "boring_bar_16mm.toml"
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


def test_sliders_are_those_that_the_setup_has() -> None:
    """Overhang and size always; shim, wrap, flats, nose and speed where they are."""

    def keys(text: str) -> list[str]:
        return [one["key"] for one in sliders_of(parse_setup(text).setup)]

    assert keys(ROUND) == ["bar.overhang", "bar.diameter"]
    assert keys(ROUND + CUT)[2:] == ["cut.depth", "cut.nose_radius", "speed"]
    assert "shim.thickness" in keys(SLOT + SHIM)
    assert "wrap.thickness" in keys(ROUND + WRAP)
    flatted = sliders_of(read_setup(EXAMPLES / "flatted_bar_30deg.toml").setup)
    assert {"bar.across_flats", "bar.rotation_deg"} <= {one["key"] for one in flatted}


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.toml")), ids=lambda path: path.stem)
def test_a_slider_stands_on_one_of_its_own_steps(path: Path) -> None:
    """Principle: a slider can come back to the file's value; both ends of the overhang can be used."""
    setup = read_setup(path).setup
    for one in sliders_of(setup):
        steps = (one["value"] - one["low"]) / one["step"]
        if one["key"] != "speed":
            assert steps == pytest.approx(round(steps), abs=1e-4)
        assert one["low"] < one["high"]
        assert one["low"] <= one["value"] <= one["high"]


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.toml")), ids=lambda path: path.stem)
def test_saved_text_reads_back_as_the_same_tables(path: Path) -> None:
    """Round trip through the standard library's reader."""
    tables = read_tables(path)
    assert tomllib.loads(toml_text(tables)) == tables


def test_saved_text_of_hard_values() -> None:
    """Standard: TOML 1.0.0 strings, keys and numbers (from memory), read by the standard library."""
    hard = {
        "title": 'say "80 mm"\\\n\ttab \x01 é',
        "materials": {"my bronze": {"loss_factor": 1e-7, "on": True}, "": {"a": [1, 2.5, "x"]}},
        "bar": {"steps": [{"start": 40, "diameter": 12.0}, {"start": 60}], "empty": []},
    }
    assert tomllib.loads(toml_text(hard)) == hard
    with pytest.raises(InputError, match=r"bar\.when"):
        toml_text({"bar": {"when": object()}})


def test_quick_and_full_answers_agree_with_the_study() -> None:
    """Principle: the full figures are those of the study; the quick ones are within the 1 % they claim."""
    tables = parse_tables(ROUND + CUT)
    full = answer({"tables": tables, "changes": {"bar.overhang": 90}, "speed": 400.0, "full": True})
    quick = answer({"tables": tables, "changes": {"bar.overhang": 90}, "speed": 400.0, "full": False})
    study = run_study(parse_setup(ROUND + CUT, changes=["bar.overhang=90"]).setup)
    assert full["model"]["modes"][0]["hertz"] == study.frequency_hz[0]
    assert full["spring"] == study.spring
    assert quick["model"]["modes"][0]["hertz"] == pytest.approx(study.frequency_hz[0], rel=0.01)
    # Spring goes with the square of the note, so its error is twice that.
    assert quick["spring"] == pytest.approx(study.spring, rel=0.02)
    assert full["cut"]["low"] < full["cut"]["likely"] < full["cut"]["high"]
    assert quick["cut"]["likely"] == pytest.approx(full["cut"]["likely"], rel=0.03)
    assert quick["cut"]["at_speed"].endswith("at 400 rpm")
    assert "low" not in quick["cut"]
    json.dumps([quick, full], allow_nan=False)


def test_an_answer_without_a_cut_says_why() -> None:
    """No cut, or one that is not complete: modes and spring are answered all the same."""
    bare = answer({"tables": parse_tables(ROUND), "changes": {}, "full": False})
    assert bare["cut"] is None
    assert "no cut" in bare["why"]
    half = ROUND + '[cut]\noperation = "boring"\n'
    assert "nose_radius" in answer({"tables": parse_tables(half), "changes": {}, "full": False})["why"]


def test_a_bad_value_is_told() -> None:
    """A bar longer than it can be solved, or without size, is a mistake with its key, not an exception."""
    wrong = answer({"tables": parse_tables(ROUND), "changes": {"bar.diameter": -3}, "full": False})
    assert wrong["keys"] == ["bar.diameter"]
    assert "-3" in wrong["mistakes"][0]


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
    """There are three addresses; no file can be asked for."""
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


def test_a_solver_that_takes_too_long_is_ended() -> None:
    """A question without end: given up after its time, and the next process answers."""
    worker = Worker(longest_s=0.05)
    try:
        with pytest.raises(WorkerLostError, match="longer than"):
            worker.ask({"tables": parse_tables(ROUND), "changes": {}, "full": True}, number=1)
        assert worker.pid is not None
    finally:
        worker.close()


def test_a_question_given_up_before_its_turn() -> None:
    """It is not asked at all."""
    worker = Worker()
    try:
        worker.give_up(7)
        with pytest.raises(StaleError):
            worker.ask({"tables": {}, "changes": {}, "full": False}, number=7)
        assert "mistakes" in worker.ask({"tables": {"a": 1}, "changes": {}, "full": False}, number=8)
    finally:
        worker.close()


def test_a_full_answer_is_given_up_between_meshes() -> None:
    """The solver asks before each mesh whether the answer is still wanted."""

    def unwanted() -> None:
        raise StaleError

    with pytest.raises(StaleError):
        answer({"tables": parse_tables(ROUND), "changes": {}, "full": True}, still_wanted=unwanted)


def test_the_file_changes_goes_wrong_and_goes(tmp_path: Path) -> None:
    """Changed: read again. Wrong or gone: said, and what was read before goes on."""
    path = tmp_path / "bar.toml"
    path.write_text(ROUND, encoding="utf-8")
    desk = Desk(path, tmp_path / "none")
    try:
        assert desk.names == [OWN]
        first = desk.source(OWN)
        path.write_text(ROUND.replace("overhang = 80", "overhang = 95.5"), encoding="utf-8")
        second = desk.source(OWN)
        assert second.tables["bar"]["overhang"] == 95.5
        assert second.opening["revision"] != first.opening["revision"]
        path.write_text("units = ", encoding="utf-8")
        wrong = desk.source(OWN)
        assert (wrong.tables, wrong.trouble[:20]) == (second.tables, "The file on disk can")
        path.unlink()
        gone = desk.source(OWN)
        assert gone.tables == second.tables
        assert "can no longer be used" in gone.trouble
        path.write_text(ROUND, encoding="utf-8")
        assert desk.source(OWN).trouble == ""
    finally:
        desk.close()


def test_a_port_that_is_taken(tmp_path: Path) -> None:
    """Exit 2 and one line that names a free one."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        code, out, err = told("page", BAR, "--port", port)
        assert (code, out) == (2, "")
        assert err.count("\n") == 1
        assert f"--port is {port}; it must be a free port" in err
        offered = int(err.rstrip(".\n").rpartition(" ")[2])
        listener(offered).close()
    code, _, err = told("page", BAR, "--port", 80)
    assert code == 2
    assert "from 1024 to 65535" in err
