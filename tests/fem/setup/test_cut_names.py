"""Cuts that are parting by another name."""

from __future__ import annotations

import pytest
import setups

from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.reading_cut import AS_PARTING


@pytest.mark.parametrize("name", AS_PARTING)
def test_a_groove_and_a_form_are_cut_as_parting_is(name: str) -> None:
    """A blade or a form edge fed straight in cuts its full width; the note says how it was read."""
    text = setups.CUTTING.replace('"boring"', '"parting"')
    read = parse_setup(text.replace('"parting"', f'"{name}"'))
    assert read.setup.cut == parse_setup(text).setup.cut
    assert f"cut.operation {name!r} is read as parting" in read.notes[0]
