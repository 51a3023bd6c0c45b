"""Sliders in the user's own unit, and what a browser is forbidden on the live page."""

from __future__ import annotations

import pytest
from answers import EXAMPLES
from live import serving

from stickout.cli.live.desk import Desk
from stickout.cli.live.sliders import sliders_of
from stickout.fem import read_setup
from stickout.fem.setup.file import parse_tables

# What default-src does not cover (Content Security Policy level 3, section 6): each must be said by itself.
NOT_COVERED = ("form-action", "frame-ancestors", "base-uri")


@pytest.mark.parametrize("name", ["inch_bar", "boring_bar_16mm"])
def test_sliders_start_at_the_numbers_the_user_wrote(name: str) -> None:
    """Read from the file itself, in the file's own unit; the range reaches to both sides."""
    path = EXAMPLES / f"{name}.toml"
    written = parse_tables(path.read_text(encoding="utf-8"))
    sliders = {one["key"]: one for one in sliders_of(read_setup(path).setup)}
    checked = 0
    for key, slider in sliders.items():
        section, _, last = key.partition(".")
        number = written.get(section, {}).get(last)
        if isinstance(number, int | float):
            assert slider["value"] == pytest.approx(number, rel=1e-6), key
            assert slider["low"] < number < slider["high"], key
            checked += 1
    assert checked >= 1


def test_forms_frames_and_bases_are_forbidden_by_name() -> None:
    """A page that could be framed or made to post elsewhere would hand the set-up to another site."""
    with serving(Desk(EXAMPLES / "boring_bar_16mm.toml", EXAMPLES)) as served:
        reply = served.send("GET", "/", headers={"host": f"127.0.0.1:{served.port}"})
    assert reply.status == 200
    policy = {k.lower(): v for k, v in reply.headers.items()}["content-security-policy"]
    said = dict(part.strip().split(" ", 1) for part in policy.split(";") if part.strip())
    assert {name: said.get(name) for name in NOT_COVERED} == dict.fromkeys(NOT_COVERED, "'none'")
    assert said["default-src"] == "'none'"
