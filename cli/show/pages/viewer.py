"""The viewer: one HTML file that shows a held bar moving, with no network and nothing installed."""

from __future__ import annotations

import base64
import html
import io
import json
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from stickout.cli.commands.show import check_viewer_file
from stickout.cli.outputs import writing
from stickout.cli.show.drawing.of_result import drawing_of
from stickout.cli.show.pages.viewer_model import viewer_model
from stickout.cli.show.plots.beside import check_together
from stickout.cli.text.together_words import together_words
from stickout.fem.cut.operating import moves_together, operating_motion
from stickout.fem.errors import InputError
from stickout.fem.force.case import cut_case
from stickout.fem.study.result import Result

if TYPE_CHECKING:
    from stickout.cli.show.scene.picture import Pictures
    from stickout.fem.cut.answer import CutAnswer

_HERE: Final = Path(__file__).parent
_INCLUDE: Final = re.compile(r"(?:<!--|/\*) include ([a-z_]+\.(?:html|css|js)) (?:-->|\*/)")
_SLOT: Final = re.compile(r"\{\{([a-z_]+)\}\}")
_QUALITY: Final = 24


def write_viewer(
    result: Result, out: Path, *, title: str | None = None, together: Sequence[Pictures] = ()
) -> None:
    """Write the viewer of a result as one HTML file.

    Parameters
    ----------
    result
        What a study found; the modes that were asked for are shown.
    out
        The file to be; it ends in .html.
    title
        Title on the page; None for the set-up's own.
    together
        Pictures of tool and part on one clock that are drawn already; without them they are drawn here.

    Raises
    ------
    InputError
        The suffix is another, or the file cannot be written.
    """
    out = Path(out)
    check_viewer_file(out)
    text = viewer_html(result, title=title, together=together)
    with writing(out, key="--out") as part:
        part.write_text(text, encoding="utf-8")


def viewer_html(result: Result, *, title: str | None = None, together: Sequence[Pictures] = ()) -> str:
    """Return the text of the viewer file; ``title`` and ``together`` as in ``write_viewer``."""
    answer = _moving(result)
    motion = None if answer is None else operating_motion(answer)
    model = viewer_model(result if answer is None else answer.result, title=title, motion=motion)
    return page_text(
        "viewer.html",
        {
            "title": html.escape(model["title"]),
            "model": script_json(model),
            "drawing": drawing_of(result),
            "together": ""
            if answer is None or not _is_drawn(answer.result)
            else together_html(answer, together),
        },
    )


def page_text(name: str, slots: Mapping[str, str]) -> str:
    """Return a page of this folder with its parts included and its ``{{slots}}`` filled.

    Slots are filled once, after the parts are in, so that a filled text is never searched again.
    """
    text = (_HERE / name).read_text(encoding="utf-8")
    while _INCLUDE.search(text):
        text = _INCLUDE.sub(lambda found: (_HERE / found[1]).read_text(encoding="utf-8").rstrip("\n"), text)
    return _SLOT.sub(lambda found: slots[found[1]], text)


def script_json(value: Any) -> str:  # noqa: ANN401 - any plain data
    """Return plain data as JSON that may stand inside a script element: nothing in it can end the element."""
    text = json.dumps(value, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return text.replace("<", "\\u003c")


def together_answer(result: Result) -> CutAnswer | None:
    """Return the answer on the cut where tool, part and post can be drawn on one clock; else None."""
    return _answer(result) if _is_drawn(result) else None


def _answer(result: Result) -> CutAnswer:
    """Return the answer on the cut of a result."""
    from stickout.fem.cut.answer import cut_answer  # here: few pages need it, and it takes long to import

    return cut_answer(result)


def _is_drawn(result: Result) -> bool:
    """Return whether tool, part and post can be drawn from above and from the tailstock."""
    try:
        check_together(result.setup)
        cut_case(result.setup)
    except InputError:
        return False
    return True


def _moving(result: Result) -> CutAnswer | None:
    """Return the answer on a cut in which more than the bar moves; None for others."""
    if not moves_together(result.setup):
        return None
    try:
        cut_case(result.setup)
    except InputError:
        return None
    return _answer(result)


def together_html(answer: CutAnswer, drawn: Sequence[Pictures] = ()) -> str:
    """Return tool, part and supports on one clock, folded away; ``drawn`` are its pictures, if there are."""
    from stickout.cli.show.plots.together_plot import together_frames  # here: not every bar has one

    said = html.escape(together_words(answer.result.setup, operating_motion(answer)))
    source = _small_uri(drawn or together_frames(answer))
    return (
        '<details class="together"><summary>Tool and part together, where the cut sings</summary>'
        f'<figure><img src="{source}" alt="Tool and part where the cut sings. {said}">'
        f"<figcaption>{said}</figcaption></figure></details>"
    )


def _small_uri(pictures: Sequence[Pictures]) -> str:
    """Return a loop as a small data URI."""
    from PIL import Image

    from stickout.cli.show.scene.gif import FRAME_S

    small = io.BytesIO()
    frames = [Image.fromarray(one) for one in pictures]
    frames[0].save(
        small,
        format="WEBP",
        save_all=True,
        append_images=frames[1:],
        duration=round(1000 * FRAME_S),
        loop=0,
        quality=_QUALITY,
        method=2,  # half the time of the usual 4 for a fifteenth more bytes
    )
    return "data:image/webp;base64," + base64.b64encode(small.getvalue()).decode("ascii")
