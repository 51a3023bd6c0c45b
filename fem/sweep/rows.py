"""The rows of a sweep: a list of plain dictionaries that knows what was varied and becomes a data frame."""

from __future__ import annotations

import importlib
from collections.abc import Iterable, Sequence
from typing import Any

from stickout.fem.errors import InputError
from stickout.fem.nearest import MISSING
from stickout.fem.sweep.case_row import Row


class Rows(list[Row]):
    """A list of rows; ``varied`` are the names of what was varied, in order: columns of every row."""

    def __init__(self, rows: Iterable[Row], *, varied: Sequence[str] = ()) -> None:
        """Keep the rows, and what was varied."""
        super().__init__(rows)
        self.varied = tuple(varied)

    def frame(self) -> Any:  # noqa: ANN401 - pandas is no dependency, so its type is not known here
        """Return the rows as a pandas DataFrame, a row a case, numbered from 1.

        Raises
        ------
        InputError
            pandas is not installed; it is not needed for anything else.
        """
        try:
            pandas = importlib.import_module("pandas")
        except ImportError:
            mend = "pip install pandas; or use the rows as they are, a list of dictionaries."
            allowed = "installed for a data frame"
            raise InputError(key="pandas", given=MISSING, allowed=allowed, mend=mend) from None
        return pandas.DataFrame(list(self)).set_index("case")
