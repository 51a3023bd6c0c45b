"""A set-up begun on the live page, without a browser: the questions of ``new``, and files kept."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from answers import EXAMPLES
from live import Served, serving

from stickout.cli.asking.conversation import converse
from stickout.cli.asking.questions import questions
from stickout.cli.asking.written import file_of
from stickout.cli.live.beginning import Typed, checked_typed, next_question
from stickout.cli.live.desk import OWN, Desk
from stickout.fem.errors import InputError
from stickout.fem.setup.file import read_setup

TURNING = ["t", "10", "hss", "35", "4", "mild steel", "40", "0.5 0.1", "0.4", "200 400 800"]
PARTING = ["p", "2 12", "", "20", "4", "6082", "20", "0.04", "300 600 1200"]


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    """Return a page without a set-up of its own, whose files go into the test's folder."""
    with serving(Desk(None, EXAMPLES, folder=tmp_path)) as one:
        yield one


def sent(answers: list[str], **more: Any) -> dict[str, Any]:
    """Return what the page sends."""
    return {"typed": answers, "units": "mm"} | more


@pytest.mark.parametrize("answers", [TURNING, PARTING], ids=["turning", "parting"])
def test_the_page_asks_what_the_terminal_asks(answers: list[str]) -> None:
    """One conversation: each question of the page, in its order and words, is one that the terminal shows."""
    shown: list[str] = []
    converse(questions(), iter(answers), say=shown.append)
    for at in range(len(answers)):
        told = next_question(Typed(tuple(answers[:at])))
        question = told["question"]
        line = next(one for one in shown if f"{question['number']:2} {question['words']}" in one)
        assert f"[{question['usual']}]" in line
        for choice in question["choices"]:
            assert f"{choice['letter']} {choice['name']}" in line
        assert len(told["before"]) == at
    assert "question" not in next_question(Typed(tuple(answers)))


def test_a_wrong_answer_is_asked_again_with_its_reason() -> None:
    """The question stays and says why; a heavy depth is taken when it is typed twice."""
    wrong = next_question(Typed(("t", "abc")))
    assert (wrong["question"]["key"], wrong["message"]) == ("size", "A length, please: 35, or 1-3/8 in.")
    heavy = (*TURNING[:7], "5 0.1")
    assert "very heavy" in next_question(Typed(heavy))["message"]
    assert next_question(Typed(heavy, wrong="5 0.1"))["question"]["key"] == "nose_radius"


def test_inches_from_the_beginning() -> None:
    """Units chosen on the page: bare numbers are inches, and usual answers are tidy in them."""
    first = next_question(Typed(("b",), "inch"))["question"]
    assert first["usual"] == "0.5"
    later = next_question(Typed(("b", "1/2", "", "2", "s", "", "1"), "inch"))
    assert (later["units"], later["question"]["usual"]) == ("inch", "0.008 0.002")


def test_the_file_is_that_of_the_terminal_and_loses_none(served: Served, tmp_path: Path) -> None:
    """Word for word what ``new`` writes; a second one gets the next free name; both can be opened."""
    text = file_of(converse(questions(), iter(TURNING), say=lambda _: None))[0]
    kept = tmp_path / "10-mm-hss-tool.toml"
    kept.write_text("mine", encoding="utf-8")
    first, second = (served.ask("/begin", sent(TURNING)).data for _ in range(2))
    assert kept.read_text(encoding="utf-8") == "mine"
    assert Path(first["file"]) == tmp_path / "10-mm-hss-tool-2.toml"
    assert Path(first["file"]).read_text(encoding="utf-8") == text
    assert Path(second["file"]) == tmp_path / "10-mm-hss-tool-3.toml"
    assert (first["source"], second["source"]) == (OWN, "10-mm-hss-tool-3.toml")
    assert read_setup(Path(second["file"])).setup.bar.overhang_mm == 35
    page = served.send("GET", "/?source=10-mm-hss-tool-3.toml", headers={})
    assert "10 mm HSS tool, 35 mm out" in page.text


def test_nothing_is_written_before_the_last_answer(served: Served, tmp_path: Path) -> None:
    """Too few answers, or one that cannot be taken: refused in words, no file."""
    for answers in ([], TURNING[:-1], [*TURNING[:-1], "fast"]):
        reply = served.ask("/begin", sent(answers))
        assert reply.status == 422
        assert reply.data["mistakes"]
    assert list(tmp_path.iterdir()) == []


def test_the_address_of_no_set_up_asks(served: Served) -> None:
    """Without a file of one's own the first page is the questions; an example opens by its name."""
    assert "Your tool, by ten questions" in served.send("GET", "/", headers={}).text
    assert "Your tool, by ten questions" in served.send("GET", "/?source=nobody", headers={}).text
    assert "Your tool, by ten questions" not in served.send("GET", "/?source=tube_bar", headers={}).text


@pytest.mark.parametrize(
    "body",
    [
        b"{",
        b"[]",
        json.dumps(sent(["x" * 201])).encode(),
        json.dumps(sent(["x\n"])).encode(),
        json.dumps(sent(["x"] * 21)).encode(),
        json.dumps(sent([1])).encode(),  # type: ignore[list-item]
        json.dumps(sent([], units="cm")).encode(),
        json.dumps(sent([], wrong=3)).encode(),
    ],
)
def test_what_the_page_would_not_send(body: bytes) -> None:
    """Anything on this machine may speak to the port: each part is checked."""
    with pytest.raises(InputError):
        checked_typed(body)
