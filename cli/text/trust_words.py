"""Why a note that was heard may be believed, in words: each test, whether it was passed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from stickout.cli.text.words import folded, plain
from stickout.fem.bench.trust import AGREE, Trust

Told = tuple[bool | None, str]
HEADING: Final = "Why it may be believed"
_MARKS: Final = {True: "yes", False: "NO", None: "not tested"}
_MARK: Final = 12
_ENOUGH: Final = 5


def trust_words(one: Trust) -> list[Told]:
    """Return each test of a note in a sentence, and whether it was passed; None where it was not made."""
    return [_taps(one), _scatter(one), _other_ways(one), _early_late(one), _loud_soft(one), *_steady(one)]


def trust_lines(one: Trust) -> Iterator[str]:
    """Yield the tests as lines of an answer."""
    yield HEADING
    for passed, words in trust_words(one):
        yield from folded(f"  {_MARKS[passed].ljust(_MARK)}{words}", " " * (_MARK + 2))


def _taps(one: Trust) -> Told:
    """Return how many taps counted."""
    refused = f", {one.refused} refused" if one.refused else ""
    more = "" if one.used >= _ENOUGH else "; ten are better"
    return one.used >= _ENOUGH, f"{one.used} taps counted{refused}{more}"


def _scatter(one: Trust) -> Told:
    """Return how far the taps scatter."""
    note = f"taps agree: the note is known to {_percent(one.note_share)}"
    if one.damping_share is None:
        return False, f"{note}, how fast it dies away is not known"
    return True, f"{note}, its damping to {_percent(one.damping_share)} either way"


def _other_ways(one: Trust) -> Told:
    """Return whether other ways lead to the same damping."""
    ways = [
        f"{name} {plain(100 * found, 3)} %"
        for name, found in (("slope of the envelope", one.by_envelope), ("width of the peak", one.by_width))
        if found is not None
    ]
    if one.agree is None:
        return None, "two other ways to the damping: this note does not stand alone, so they would mislead"
    if one.agree:
        return True, f"other ways to the damping agree: {', '.join(ways)}"
    differ = f"other ways to the damping differ by more than {_percent(AGREE)}: {', '.join(ways)}"
    return False, f"{differ}; a room's tail or a second note does that"


def _early_late(one: Trust) -> Told:
    """Return whether a room is heard."""
    if one.even is None:
        return None, "early against late part of a tap: no damping was read"
    if one.even:
        return True, "early and late part of a tap die away alike: no room in it"
    return False, "early and late part of a tap die away differently: room or recorder; the interval is wider"


def _loud_soft(one: Trust) -> Told:
    """Return whether loud taps die away as soft ones."""
    if one.loudness_alike is None:
        return None, "loud against soft taps: give five soft ones and five harder ones"
    if one.loudness_alike:
        return True, "loud and soft taps die away alike: no gain control, and a seat that does not slip"
    return False, "loud and soft taps die away differently: recorder or seat; the interval is wider"


def _steady(one: Trust) -> Iterator[Told]:
    """Yield whether the noise rises after the taps."""
    if one.steady is None:
        return
    if one.steady:
        yield True, "the noise does not rise after a tap, as gain control would make it"
    else:
        yield False, "the noise rises after each tap: the recorder's gain control is on"


def _percent(share: float) -> str:
    """Return a share in per cent, two digits."""
    return f"{plain(100 * share)} %"
