"""Ask questions one by one: the usual answer by Enter, ``?`` explains, ``b`` goes back; three tries."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

TRIES: Final = 3
CHECK: Final = "usual: check"
ONLY_YOU: Final = "This one only you can know."
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
        The question, from what is known so far, without its choices.
    usual
        The usual answer as one would type it, from what is known so far; empty where there is none.
    explain
        What ``?`` shows.
    read
        Turns a typed answer into what is known after it. It raises WrongAnswerError.
    asked
        Whether the question is asked, from what is known so far.
    choices
        The only answers there are, each by its letter, from what is known so far; empty where any may be.
    offers
        Answers that most would give, where others may be given too.
    drawing
        Letters that draw what is meant, shown before the question.
    """

    key: str
    words: Callable[[Known], str]
    usual: Callable[[Known], str]
    explain: str
    read: Callable[[str, Known], Known]
    asked: Callable[[Known], bool] = lambda _: True
    choices: Callable[[Known], Mapping[str, str]] = lambda _: {}
    offers: Callable[[Known], Sequence[str]] = lambda _: ()
    drawing: str = ""


@dataclass(frozen=True)
class Asked:
    """Where a conversation stands.

    Attributes
    ----------
    known
        What is known so far.
    question
        What is asked next; None after the last.
    before
        Each question that was answered, with what was known when it was asked and what was typed.
    """

    known: Known
    question: Question | None
    before: tuple[tuple[Question, Known, str], ...] = ()


def nothing_known(units: str = "mm") -> Known:
    """Return what is known before the first question; bare lengths are in ``units``."""
    return {"marks": {}, "units": units}


def followed(questions: Sequence[Question], typed: Sequence[str], *, start: Known, wrong: str = "") -> Asked:
    """Return where a conversation stands after answers that were typed, an empty one for the usual.

    Parameters
    ----------
    questions
        The questions in order.
    typed
        The answers so far, those that are more than the questions left out.
    start
        What is known at the beginning, as of ``nothing_known``.
    wrong
        What was typed before the last answer and could not be taken.

    Raises
    ------
    WrongAnswerError
        One of the answers cannot be taken; only the last should be able to.
    """
    known, left = start, list(typed)
    before: list[tuple[Question, Known, str]] = []
    for question in questions:
        if not question.asked(known):
            continue
        if not left:
            return Asked(known, question, tuple(before))
        answer, last = left.pop(0).strip(), not left
        asked = known if not (last and wrong) else {**known, "wrong": wrong}
        if not answer and not question.usual(known):
            raise WrongAnswerError(ONLY_YOU)
        before.append((question, known, answer))
        known = {**known, **question.read(answer or question.usual(known), asked)}
    return Asked(known, None, tuple(before))


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
    known: list[Known] = [nothing_known()]
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
    say(question.drawing)
    while True:
        offer = f"[{usual}]" if usual else ""
        say(f"{number:2} {asked_in_full(question, known):<68} {offer:<14} ")
        typed = next(lines, None)
        if typed is None:
            raise EndOfAnswersError
        typed = typed.strip()
        if typed == "?":
            say(f"   {question.explain}\n")
            continue
        if typed == "b" and "b" not in question.choices(known):
            return None
        if not typed and not usual:
            say(f"   {ONLY_YOU}\n")
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


def asked_in_full(question: Question, known: Known) -> str:
    """Return a question with its choices behind it: "Held in?  k bored block, v v-block"."""
    choices = ", ".join(f"{letter} {name}" for letter, name in question.choices(known).items())
    return "  ".join(
        one for one in (question.words(known), choices, ", ".join(question.offers(known))) if one
    )
