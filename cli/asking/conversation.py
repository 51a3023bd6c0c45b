"""Ask questions one by one: the usual answer by Enter, ``?`` explains, ``b`` goes back; three tries."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

TRIES: Final = 3
CHECK: Final = "usual: check"
Known = Mapping[str, Any]
Say = Callable[[str], object]


class WrongAnswerError(ValueError):
    """An answer that cannot be taken; the text says why, in one line."""


class EndOfAnswersError(Exception):
    """The answers ended before the questions did."""


@dataclass(frozen=True)
class Question:
    """One question.

    Attributes
    ----------
    key
        Name of the answer.
    words
        The question, from what is known so far.
    usual
        The usual answer as one would type it, from what is known so far; empty where there is none.
    explain
        What ``?`` shows.
    read
        Turns a typed answer into what is known after it. It raises WrongAnswerError.
    asked
        Whether the question is asked, from what is known so far.
    letters
        Answers of one letter that are choices, so that ``b`` may be one.
    """

    key: str
    words: Callable[[Known], str]
    usual: Callable[[Known], str]
    explain: str
    read: Callable[[str, Known], Known]
    asked: Callable[[Known], bool] = lambda _: True
    letters: str = ""


def converse(questions: Sequence[Question], lines: Iterator[str], *, say: Say) -> Known:
    """Return what is known after all questions; nothing is read or written but through the parameters.

    Parameters
    ----------
    questions
        The questions in order.
    lines
        What is typed, a line each.
    say
        Takes what is shown: prompts without, other lines with their line end.

    Returns
    -------
    dict
        The answers, and under ``marks`` what is to stand beside a key that was not simply answered.

    Raises
    ------
    EndOfAnswersError
        The lines ended first.
    """
    known: list[Known] = [{"marks": {}, "units": "mm"}]
    at = 0
    trail: list[int] = []
    while at < len(questions):
        question, before = questions[at], known[-1]
        if not question.asked(before):
            at += 1
            continue
        after = _one(question, before, number=len(trail) + 1, lines=lines, say=say)
        if after is None:
            if trail:
                at = trail.pop()
                known.pop()
            continue
        if after["units"] != before["units"]:
            say("   Inches from here on.\n")
        trail.append(at)
        known.append(after)
        at += 1
    return known[-1]


def _one(question: Question, known: Known, *, number: int, lines: Iterator[str], say: Say) -> Known | None:
    """Return what is known after one question, None where the user goes back."""
    usual = question.usual(known)
    tries = 0
    while True:
        offer = f"[{usual}]" if usual else ""
        say(f"{number:2} {question.words(known):<68} {offer:<14} ")
        typed = next(lines, None)
        if typed is None:
            raise EndOfAnswersError
        typed = typed.strip()
        if typed == "?":
            say(f"   {question.explain}\n")
            continue
        if typed == "b" and "b" not in question.letters:
            return None
        if not typed and not usual:
            say("   This one only you can know.\n")
            continue
        try:
            return {**known, **question.read(typed or usual, known)}
        except WrongAnswerError as wrong:
            tries += 1
            said = str(wrong)
        if tries >= TRIES and usual:
            say(f"   {said} The usual {usual} is taken; check it in the file.\n")
            marks = {**known["marks"], question.key: CHECK}
            return {**known, **question.read(usual, known), "marks": marks}
        say(f"   {said}\n")
        known = {**known, "wrong": typed}
