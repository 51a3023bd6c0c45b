"""Recordings brought to the live page over a socket: the answers of the commands, refusals, nothing kept."""

from __future__ import annotations

import json
import re
import socket
import struct
import tempfile
import tracemalloc
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

import numpy as np
import pytest
from answers import EXAMPLES
from live import Reply, Served, serving
from shop import RATE, taps, write_wav
from tapped import BED_BAR, PULL, asked

from stickout.cli.__main__ import main
from stickout.cli.live import recordings
from stickout.cli.live.asked import checked_asked, safe_name
from stickout.cli.live.desk import OWN, Desk
from stickout.cli.live.guard import MOST_RECORDING
from stickout.fem.errors import InputError

SENDING = {"content-type": "application/octet-stream", "x-stickout": "page"}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with the bar's file and a recording of six taps."""
    folder = tmp_path_factory.mktemp("bench")
    (folder / "bar.toml").write_text(BED_BAR, encoding="utf-8")
    write_wav(folder / "taps.wav", taps(((1170.0, 0.008, 1.0),), count=6, seed=1))
    return folder


@pytest.fixture
def scratch(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return the folder that temporary files go to in this test."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    return tmp_path


@pytest.fixture(scope="module")
def served(folder: Path) -> Iterator[Served]:
    """Return the page of that bar, served."""
    with serving(Desk(folder / "bar.toml", EXAMPLES, folder=folder)) as one:
        yield one


def send(served: Served, body: Any, *, name: str = "taps.wav", **more: Any) -> Reply:
    """Send a recording as the page does."""
    path = f"/recording?asked={quote(json.dumps(asked(name=name, **more)))}"
    return served.send("POST", path, headers=SENDING, body=body)


def test_the_numbers_of_listen_and_fit(
    served: Served, folder: Path, scratch: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The same as the commands give for the same file, number by number; the file that is kept, too."""
    sound = (folder / "taps.wav").read_bytes()
    reply = send(served, sound)
    assert reply.status == 200
    assert list(scratch.iterdir()) == []
    told = reply.data
    (folder / "log.toml").write_text('[[tap]]\nrecording = "taps.wav"\n', encoding="utf-8")
    assert main(["listen", str(folder / "taps.wav"), "--json", str(folder / "l.json")]) == 0
    words = ["fit", str(folder / "bar.toml"), "--log", str(folder / "log.toml")]
    files = ["--json", str(folder / "f.json"), "--out", str(folder / "out.toml")]
    capsys.readouterr()
    assert main([*words, *files]) == 0
    printed = capsys.readouterr().out
    listened = json.loads((folder / "l.json").read_text(encoding="utf-8"))
    fitted = json.loads((folder / "f.json").read_text(encoding="utf-8"))
    for one in listened["recordings"]:
        one["file"] = Path(one["file"]).name
    assert told["listen"] == {key: listened[key] for key in told["listen"]}
    assert told["fit"] == {key: fitted[key] for key in told["fit"]}
    assert told["texts"][-1]["text"] == printed
    dry = fitted["predictions"]["margin_without_rubbing"]
    ends = re.search(r"into ([\d.]+) to ([\d.]+): ", told["answer"])
    assert ends is not None
    assert [float(one) for one in ends.groups()] == pytest.approx([dry["low"], dry["high"]], rel=0.06)
    assert told["bands"][0]["after"] == pytest.approx({**dry, "text": told["bands"][0]["after"]["text"]})
    assert len(told["curves"]["used_s"]) == 6
    assert [one["words"] for one in told["trust"] if one["passed"] is False] == []
    kept = served.ask("/keep", {"source": OWN, "tab": "a"})
    again = served.ask("/keep", {"source": OWN, "tab": "a"})
    assert (kept.status, again.status) == (200, 200)
    assert Path(again.data["file"]).name == "bar-measured-2.toml"
    text = (folder / "bar-measured.toml").read_text(encoding="utf-8")
    assert text == (folder / "out.toml").read_text(encoding="utf-8").replace("log.toml", "taps.wav")
    assert served.ask("/answer", {"source": kept.data["source"], "changes": {}, "tab": "a"}).status == 200
    pulled = send(served, b"", name="", source=kept.data["source"], pulls=[PULL])
    assert any("[measured] says is left out" in line for line in pulled.data["unused"])
    third = served.ask("/keep", {"source": kept.data["source"], "tab": "a"})
    assert Path(third.data["file"]).name == "bar-measured-3.toml"


def test_a_pull_alone(served: Served, scratch: Path) -> None:
    """Readings without a recording: the compliance of the command, and what the fit makes of it."""
    told = send(served, b"", name="", pulls=[PULL]).data
    assert told["listen"] is None
    assert told["pull"]["compliance_m_per_n"]["likely"] == pytest.approx(0.45e-6, rel=0.02)
    assert told["answer"].startswith("Your pull turns the margin band")
    assert [one["command"] for one in told["texts"]] == ["pull", "fit"]
    assert list(scratch.iterdir()) == []


def _header(declared: int, *, there: bytes = b"\0" * 4000) -> bytes:
    """Return a WAV file of one channel whose header declares some bytes of sound."""
    form = struct.pack("<HHIIHH", 1, 1, RATE, 2 * RATE, 2, 16)
    return b"RIFF\xff\xff\xff\x7fWAVEfmt \x10\0\0\0" + form + b"data" + struct.pack("<I", declared) + there


def _speech(folder: Path) -> bytes:
    """Return noise that swells and fades as syllables do."""
    t = np.arange(4 * RATE) / RATE
    swell = np.clip(np.sin(2 * np.pi * 3.5 * t) + 0.3 * np.sin(2 * np.pi * 0.9 * t), 0, None) ** 2
    sound = 0.2 * swell * np.random.default_rng(3).standard_normal(len(t))
    return write_wav(folder / "speech.wav", sound).read_bytes()


@pytest.mark.parametrize(
    ("name", "body", "words"),
    [
        ("taps.wav", b"", "taps.wav, empty"),
        ("taps.wav", "half", "cut off: "),
        ("taps.wav", _header(4_000_000_000), "4000000000 bytes of sound are declared, 4000 are there"),
        ("note.txt", b"no sound at all", "a kind of file not read here"),
        ("picture.wav", b"\x89PNG\r\n\x1a\n" + b"\0" * 400, "not a WAV file, whatever its name says"),
        ("", b"", "nothing that can be used"),
        ("../../etc/passwd", b"x", "a kind of file not read here"),
    ],
    ids=["empty", "truncated", "declared", "text", "picture", "nothing", "path"],
)
def test_broken_recordings(
    served: Served, folder: Path, scratch: Path, name: str, body: bytes | str, words: str
) -> None:
    """One message each, that of the command, and nothing left behind."""
    sound = (folder / "taps.wav").read_bytes()
    reply = send(served, sound[: len(sound) // 2] if body == "half" else body, name=name)
    assert reply.status == 422
    (message,) = reply.data["mistakes"]
    assert words in message
    assert list(scratch.iterdir()) == []


def test_the_message_is_that_of_the_command(
    served: Served, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Word for word what ``listen`` says on standard error."""
    (tmp_path / "taps.wav").write_bytes(_header(3_000_000_000))
    assert main(["listen", str(tmp_path / "taps.wav")]) == 2
    (message,) = send(served, (tmp_path / "taps.wav").read_bytes()).data["mistakes"]
    assert capsys.readouterr().err.strip() == message


def test_a_voice_is_no_tap(served: Served, folder: Path) -> None:
    """Refused in one sentence, with the picture of the recording; nothing is fitted or can be kept."""
    told = send(served, _speech(folder), tab="voice").data
    assert told["fit"] is None
    assert told["answer"].startswith("No answer from this recording: ")
    assert told["curves"]["level"]["x"]
    assert told["trust"] == []
    assert served.ask("/keep", {"source": OWN, "tab": "voice"}).status == 422


def test_ten_gigabytes_are_refused_before_they_come(served: Served, scratch: Path) -> None:
    """By the length that is declared: one sentence with the limit, and the connection is not read on."""
    headers = SENDING | {"content-length": str(10_000_000_000)}
    reply = served.send("POST", "/recording?asked={}", headers=headers, body=b"x")
    assert reply.status == 413
    assert reply.text.startswith("A recording of at most 100 MB is taken here")
    assert list(scratch.iterdir()) == []


def test_memory_and_size_without_a_declared_length(
    served: Served, scratch: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Sent in pieces: written to disk as it comes, counted, refused past the limit, and gone."""
    monkeypatch.setattr(recordings, "MOST_RECORDING", 20_000_000)
    piece = b"\0" * 100_000
    tracemalloc.start()
    reply = send(served, (piece for _ in range(180)), name="a.txt")  # 18 MB: below it
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert "a kind of file not read here" in reply.data["mistakes"][0]
    assert most < 6_000_000
    assert send(served, (piece for _ in range(210)), name="a.txt").status == 413
    assert list(scratch.iterdir()) == []
    assert MOST_RECORDING == 100_000_000


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"content-type": "application/json"}, 415),
        ({"content-type": "audio/wav"}, 415),
        ({"x-stickout": None}, 403),
        ({"origin": "http://evil.example"}, 403),
        ({"host": "evil.example"}, 403),
    ],
)
def test_the_guard_stands_here_too(served: Served, headers: dict[str, str | None], status: int) -> None:
    """Another site cannot send a recording."""
    sent = {key: value for key, value in (SENDING | headers).items() if value is not None}
    assert served.send("POST", "/recording?asked={}", headers=sent, body=b"x").status == status


def test_one_at_a_time(served: Served) -> None:
    """A second recording is told to wait, and the way is free afterwards."""
    assert served.desk.begin_listening()
    reply = send(served, b"x")
    assert (reply.status, "being listened to" in reply.data["mistakes"][0]) == (409, True)
    served.desk.end_listening()
    assert send(served, b"").status == 422


def test_a_recording_that_breaks_off(served: Served, scratch: Path) -> None:
    """The other side goes away half-way: its file goes, and the next recording is taken."""
    head = f"POST /recording?asked={quote(json.dumps(asked()))} HTTP/1.1\r\nhost: 127.0.0.1:{served.port}\r\n"
    head += "content-type: application/octet-stream\r\nx-stickout: page\r\ncontent-length: 90000\r\n\r\n"
    with socket.create_connection(("127.0.0.1", served.port), timeout=30) as line:
        line.sendall(head.encode() + b"\0" * 1000)
    for _ in range(200):
        reply = send(served, b"")
        if reply.status == 422:
            break
    assert reply.status == 422
    assert list(scratch.iterdir()) == []


@pytest.mark.parametrize(
    "change",
    [
        {"name": 3},
        {"source": "nobody"},
        {"direction": "down"},
        {"pulls": [PULL] * 7},
        {"pulls": [3]},
        {"pulls": [PULL | {"base": "floor"}]},
        {"pulls": [PULL | {"load_at": True}]},
        {"pulls": [PULL | {"direction": "down"}]},
        {"pulls": [PULL | {"screw_nm": "tight"}]},
        {"pulls": [PULL | {"loads_n": [1, "2"]}]},
        {"pulls": [PULL | {"readings_um": list(range(50))}]},
        {"changes": {"bar.overhang": "80"}},
        {"tab": "x" * 50},
    ],
)
def test_what_the_page_would_not_ask(change: dict[str, Any]) -> None:
    """Each part is checked before anything is stored."""
    with pytest.raises(InputError):
        checked_asked(json.dumps(asked() | change).encode(), [OWN])


@pytest.mark.parametrize(
    ("name", "safe"),
    [
        ("taps.wav", "taps.wav"),
        ("../../etc/passwd", "passwd"),
        ("C:\\Sounds\\My taps (2).m4a", "My taps (2).m4a"),
        ("a\0b\nc<>.wav", "a_b_c__.wav"),
        (".wav", "wav"),
        ("é" * 300 + ".wav", "é" * 40 + ".wav"),
    ],
)
def test_names_of_files(name: str, safe: str) -> None:
    """No folder, nothing odd, not too long."""
    assert safe_name(name) == safe
