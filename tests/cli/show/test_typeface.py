"""The typeface of pictures: found without its package, and what is taken as known is there."""

from __future__ import annotations

from pathlib import Path

import matplotlib as mpl
import pytest

from stickout.cli.show.typeface import SUBSTITUTE, SURE, drawable, letters, typeface


@pytest.mark.parametrize("bold", [False, True])
def test_the_file_is_the_packages_own(bold: bool) -> None:
    """Reference library: Matplotlib says where it keeps its data."""
    assert typeface(bold=bold).parent == Path(mpl.get_data_path()) / "fonts" / "ttf"
    assert typeface(bold=bold).is_file()


def test_letters_taken_as_known_are_in_the_typeface() -> None:
    """Reference library: Matplotlib's reader of typefaces lists the same letters."""
    assert {one for one in SURE if one != "\n" and ord(one) not in letters()} == set()


def test_a_letter_without_a_shape_stands_as_a_square() -> None:
    """Principle: a letter that is not there is shown openly; the rest stays."""
    assert drawable("16 mm \u00f8\n\u4e2d") == f"16 mm \u00f8\n{SUBSTITUTE}"
    assert drawable("a\tb") == f"a{SUBSTITUTE}b"
