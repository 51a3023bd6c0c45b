"""The club pack: its files, what they hold, one page of handout, and what is refused."""

from __future__ import annotations

import errno
import shutil
import wave
from pathlib import Path

import numpy as np
import pytest
from answers import EXAMPLES, told
from PIL import Image
from printed_pages import Page, count_pages, outside

from stickout.cli.commands import talk as talk_module
from stickout.cli.commands.talk import OWN_NAMES, Words, check_words
from stickout.cli.folders import FolderTarget, writing_folder
from stickout.cli.show import sound
from stickout.cli.show.pages.handout import Handout, Heading, handout_page
from stickout.cli.show.pages.report_pdf import browser, print_pdf
from stickout.cli.show.pages.told import Told
from stickout.fem.errors import InputError, SolveError
from stickout.fem.setup.file import read_setup
from stickout.fem.study.study import run_study

BAR = EXAMPLES / "boring_bar_16mm.toml"
FEW = ("--set", "solve.modes=3", "--set", "solve.accuracy=0.01")
# So close to the first bar that both swing once in a loop of 24 pictures.
AFTER = ("--with", "edge.mass_g=8")
HEAD = ("--title", "Why it sings & <how>", "--club", "Valley model engineers", "--date", "3 May 2026")
PRINTS = pytest.mark.skipif(browser() is None, reason="no Chromium browser to print with")


@pytest.fixture(autouse=True)
def elsewhere(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Work in an empty folder."""
    monkeypatch.chdir(tmp_path)


@pytest.fixture(scope="module")
def pack(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a pack of the README's bar with a change, made once."""
    folder = tmp_path_factory.mktemp("talk") / "evening"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("stickout.cli.commands.talk_films.video_suffixes", tuple)
        # Small and few pictures: size and number are tested with the films.
        patch.setattr("stickout.cli.commands.talk_films.LOOP", (320, 180))
        patch.setattr("stickout.cli.commands.talk_films.FRAMES", 8)
        patch.setattr("stickout.cli.commands.talk_films.PANES", {".gif": (640, 180)})
        done = told("talk", BAR, *FEW, *HEAD, *AFTER, "--out", folder)
    assert done.code == 0, done.err
    assert done.out.startswith(f"Club pack written to {folder}: 9 files")
    return folder


def test_the_files(pack: Path) -> None:
    """All that was promised and nothing else, and each name is one that ``--force`` knows as its own."""
    names = sorted(one.name for one in pack.iterdir())
    assert names == ["before_after.gif", "handout.html", "mode_1.gif", "mode_2.gif", "mode_3.gif",
                     "mode_along_force.gif", "note.wav", "note_after.wav", "viewer.html"]  # fmt: skip
    assert all(OWN_NAMES.fullmatch(one) for one in names)
    assert [one.name for one in pack.parent.iterdir()] == ["evening"]


def test_the_loops_move(pack: Path) -> None:
    """As many pictures as asked, a quarter of the swing unlike its end; the aligned loop is mode 1's."""
    for name in ("mode_1", "mode_2", "mode_3", "before_after"):
        with Image.open(pack / f"{name}.gif") as film:
            assert film.n_frames == (24 if name == "before_after" else 8)
            first = np.asarray(film.convert("RGB")).copy()
            film.seek(film.n_frames // 4)
            assert not np.array_equal(first, np.asarray(film.convert("RGB")))
    assert (pack / "mode_along_force.gif").read_bytes() == (pack / "mode_1.gif").read_bytes()
    assert (pack / "mode_1.gif").read_bytes() != (pack / "mode_2.gif").read_bytes()


def test_the_note_is_the_bars(pack: Path) -> None:
    """Pitch of both sound files within one bin of the study's own notes; the heavier edge sings lower."""
    found = []
    for name in ("note.wav", "note_after.wav"):
        with wave.open(str(pack / name)) as file:
            samples = np.frombuffer(file.readframes(file.getnframes()), dtype="<i2")
        tap = samples[2 * sound.RATE_HZ : 3 * sound.RATE_HZ]
        found.append(int(np.argmax(np.abs(np.fft.rfft(tap)))))
    changes = ("solve.modes=3", "solve.accuracy=0.01")
    for pitch, more in zip(found, ((), ("edge.mass_g=8",)), strict=True):
        result = run_study(read_setup(BAR, changes=[*changes, *more]).setup)
        assert pitch == pytest.approx(float(result.frequency_hz[result.aligned]), abs=1.0)
    assert found[1] < found[0]


def test_the_handout(pack: Path) -> None:
    """Title, club and date as given; the plain answer; that loudness is not to scale; nothing is fetched."""
    page = Page((pack / "handout.html").read_text(encoding="utf-8"))
    assert outside(page) == []
    for words in ("Why it sings & <how>", "Valley model engineers · 3 May 2026", "The edge springs",
                  "Loudness is not to scale", "not stress", "edge.mass_g=8", "An estimate, not a promise",
                  "near D#6", "before_after", "note_after.wav", "nothing was measured"):  # fmt: skip
        assert words in page.words
    assert page.html.count("data:image/png") == 1


def test_nothing_is_invented(tmp_path: Path) -> None:
    """Without title, club and date the set-up's title stands alone, and no year is printed."""
    result = run_study(read_setup(BAR, changes=["solve.modes=2", "solve.accuracy=0.01"]).setup)
    still = tmp_path / "still.gif"
    Image.new("RGB", (96, 54), "white").save(still)
    page = Page(handout_page(Handout(Told(result), Heading(), still)))
    assert "<h1>Home-made 16 mm boring bar</h1>" in page.html
    assert 'class="where"' not in page.html
    assert "202" not in page.words.replace("202 Hz", "")


@PRINTS
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_handout_is_one_page(pack: Path, tmp_path: Path, paper: str) -> None:
    """Printed on either paper: with the cut, a change, and a title as long as is allowed."""
    text = (pack / "handout.html").read_text(encoding="utf-8")
    longest = "Long words of a title " * 4
    text = text.replace("Why it sings &amp; &lt;how&gt;", longest[:90])
    source = tmp_path / "page.html"
    source.write_text(text.replace("@page {", f"@page {{ size: {paper};", 1), encoding="utf-8")
    print_pdf(source, tmp_path / "page.pdf", program=str(browser()))
    assert count_pages(tmp_path / "page.pdf") == 1


def test_an_existing_folder_asks_for_force(tmp_path: Path, pack: Path) -> None:
    """Exit 2 and not a byte changed, before anything is computed."""
    mine = shutil.copytree(pack, tmp_path / "mine")
    before = {one.name: one.stat().st_mtime_ns for one in mine.iterdir()}
    done = told("talk", BAR, "--out", mine)
    assert done.code == 2
    assert "Add --force" in done.err
    assert {one.name: one.stat().st_mtime_ns for one in mine.iterdir()} == before
    assert [one.name for one in tmp_path.iterdir()] == ["mine"]


def test_force_replaces_the_whole_pack(tmp_path: Path, pack: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Files of the earlier pack that the new one lacks are gone."""
    mine = shutil.copytree(pack, tmp_path / "mine")

    def small(result: object, folder: Path, **_: object) -> dict[str, str]:
        (folder / "handout.html").write_text("new", encoding="utf-8")
        return {"handout.html": "new"}

    monkeypatch.setattr(talk_module, "write_pack", small)
    done = told("talk", BAR, *FEW, "--out", mine, "--force")
    assert done.code == 0, done.err
    assert [one.name for one in mine.iterdir()] == ["handout.html"]
    assert [one.name for one in tmp_path.iterdir()] == ["mine"]


def test_force_never_touches_a_folder_with_other_things(tmp_path: Path) -> None:
    """A wrong ``--out`` with ``--force`` must not cost anybody their files."""
    home = tmp_path / "home"
    home.mkdir()
    (home / "letters.txt").write_text("dear", encoding="utf-8")
    done = told("talk", BAR, "--out", home, "--force")
    assert done.code == 2
    assert "letters.txt" in done.err
    assert (home / "letters.txt").read_text(encoding="utf-8") == "dear"


def test_what_is_in_the_way(tmp_path: Path) -> None:
    """A file in the folder's place, and a folder in a place that is not there."""
    (tmp_path / "file").write_text("x", encoding="utf-8")
    for out, text in (("file", "which is a file"), ("no/pack", "whose parent folder does not exist"),
                      ("file/pack", "whose parent folder does not exist")):  # fmt: skip
        for force in ((), ("--force",)):
            done = told("talk", BAR, "--out", out, *force)
            assert done.code == 2
            assert text in done.err
            assert done.err.count("\n") == 1
    assert [one.name for one in tmp_path.iterdir()] == ["file"]


def test_a_place_that_may_not_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The system's refusal in plain words; tests may run as root, whom no permission stops."""

    def refuse(self: Path, *_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, "Permission denied", str(self))

    monkeypatch.setattr(Path, "mkdir", refuse)
    done = told("talk", BAR, "--out", "pack")
    assert done.code == 2
    assert "permission denied" in done.err
    assert list(tmp_path.iterdir()) == []


def test_a_disk_that_fills_up_leaves_nothing(tmp_path: Path) -> None:
    """A limit on file sizes stands in for the end of the disk; an earlier pack stays as it was."""
    resource = pytest.importorskip("resource")
    (tmp_path / "old").mkdir()
    (tmp_path / "old" / "handout.html").write_text("old", encoding="utf-8")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    for name in ("new", "old"):
        target = FolderTarget(tmp_path / name, OWN_NAMES, force=True)
        resource.setrlimit(resource.RLIMIT_FSIZE, (1000, hard))
        try:
            with (
                pytest.raises(InputError, match=f"{name}, and there is no room left"),
                writing_folder(target) as part,
            ):
                sound.write_note(part / "note.wav", 1000.0, damping_ratio=0.01)
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert [one.name for one in tmp_path.iterdir()] == ["old"]
    assert (tmp_path / "old" / "handout.html").read_text(encoding="utf-8") == "old"


def test_a_loop_that_cannot_be_written_names_the_folder(tmp_path: Path) -> None:
    """A writer inside tells the system's error with its own name; the user hears of the folder."""
    target = FolderTarget(tmp_path / "pack", OWN_NAMES)
    full = OSError(errno.ENOSPC, "No space left on device")
    with pytest.raises(InputError) as caught, writing_folder(target) as part:
        raise InputError(key="--out", given=str(part), allowed="x", mend="y") from full
    assert str(tmp_path / "pack") in str(caught.value)
    assert ".part" not in str(caught.value)
    assert list(tmp_path.iterdir()) == []


def test_a_computation_that_fails_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Exit 1, and no folder, not even the temporary one."""

    def fail(*_: object, **__: object) -> dict[str, str]:
        raise SolveError("Two neighbouring pictures of the loop are the same.")

    monkeypatch.setattr(talk_module, "write_pack", fail)
    done = told("talk", BAR, *FEW, "--out", "pack")
    assert done.code == 1
    assert list(tmp_path.iterdir()) == []


def test_a_note_nobody_hears_is_left_out(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A stub of a bar sings above hearing: no sound file, and the handout says why."""
    changes = ["solve.modes=1", "solve.accuracy=0.05", "bar.overhang=14", "bar.gripped=60"]
    text = (
        BAR.read_text(encoding="utf-8")
        .replace('style = "bed"', 'style = "rigid"')
        .replace("overhang = 80", "overhang = 14")
    )
    (tmp_path / "stub.toml").write_text(text, encoding="utf-8")
    result = run_study(read_setup(tmp_path / "stub.toml", changes=changes[:2]).setup)
    assert float(result.frequency_hz[0]) > sound.AUDIBLE_HZ[1]
    heard: list[str] = []
    monkeypatch.setattr(talk_module, "tell", heard.append)
    assert talk_module._write_notes(result, None, tmp_path) == {}
    assert "note.wav is left out" in heard[0]
    still = tmp_path / "still.gif"
    Image.new("RGB", (96, 54), "white").save(still)
    assert "which nobody hears" in handout_page(Handout(Told(result), Heading(), still))


@pytest.mark.parametrize("key", ["title", "club", "date"])
def test_words_too_long_for_one_page(key: str) -> None:
    """The limit is told with the option's name."""
    with pytest.raises(InputError, match=rf"--{key} is .* at most \d+ letters"):
        check_words(Words(**{key: "x" * 91}))
    check_words(Words(**{key: "x" * 40}))
