"""A set-up begun on the live page: the questions of the command ``new``, one at a time, and the file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from stickout.cli.asking.conversation import Asked, Question, WrongAnswerError, followed, nothing_known
from stickout.cli.asking.questions import questions
from stickout.cli.asking.written import file_of, free_path, name_of, title_of
from stickout.cli.live.sent import not_sent, sent_object
from stickout.cli.outputs import writing

Record = dict[str, Any]
_MOST_ANSWERS: Final = 20
_LONGEST: Final = 200


@dataclass(frozen=True)
class Typed:
    """What was typed on the page so far, checked.

    Attributes
    ----------
    answers
        The answers in order; an empty one takes the usual.
    units
        What a bare length is at the beginning: "mm" or "inch".
    wrong
        What was typed before the last answer and could not be taken.
    """

    answers: tuple[str, ...]
    units: str = "mm"
    wrong: str = ""


def checked_typed(body: bytes) -> Typed:
    """Return what was typed, checked: it may come from anything that speaks HTTP on this machine.

    Raises
    ------
    InputError
        It is no JSON, or a part of it is missing or not of its kind.
    """
    sent = sent_object(body)
    answers, units, wrong = sent.get("typed"), sent.get("units"), sent.get("wrong", "")
    if not isinstance(answers, list) or len(answers) > _MOST_ANSWERS or not all(map(_is_text, answers)):
        allowed = f"at most {_MOST_ANSWERS} texts of at most {_LONGEST} characters"
        raise not_sent("typed", str(answers)[:40], allowed=allowed)
    if units not in ("mm", "inch"):
        raise not_sent("units", str(units)[:40], allowed='"mm" or "inch"')
    if not _is_text(wrong):
        raise not_sent("wrong", str(wrong)[:40], allowed="a text")
    return Typed(tuple(answers), units, wrong)


def next_question(typed: Typed) -> Record:
    """Return the question that comes next, those before it, or the name of the file after the last one.

    Where the last answer cannot be taken, its question comes again and ``message`` says why.
    """
    try:
        asked, message = _followed(typed), ""
    except WrongAnswerError as wrong:
        asked, message = _again(typed), str(wrong)
    told: Record = {
        "before": [_answered(*one) for one in asked.before],
        "message": message,
        "units": asked.known["units"],
    }
    if asked.question is None:
        _, usual = file_of(asked.known)
        name = free_path(Path(name_of(asked.known))).name
        return told | {"title": title_of(asked.known), "name": name, "usual": usual}
    return told | {"question": _shown(asked.question, asked)}


def begun_file(typed: Typed, folder: Path) -> Path:
    """Write the set-up file of all answers into a folder, beside whatever is there, and return where it is.

    Raises
    ------
    InputError
        Answers are missing or cannot be taken, or the file cannot be written.
    """
    try:
        asked = _followed(typed)
    except WrongAnswerError as wrong:
        raise not_sent("typed", typed.answers[-1][:40], allowed=str(wrong)) from None
    if asked.question is not None:
        raise not_sent("typed", len(typed.answers), allowed="an answer to every question")
    path = free_path(folder / name_of(asked.known))
    with writing(path, key="FILE") as part:
        part.write_text(file_of(asked.known)[0], encoding="utf-8")
    return path


def _followed(typed: Typed) -> Asked:
    """Return where the conversation stands."""
    return followed(questions(), typed.answers, start=nothing_known(typed.units), wrong=typed.wrong)


def _again(typed: Typed) -> Asked:
    """Return where the conversation stood before the answer that cannot be taken."""
    for most in reversed(range(len(typed.answers))):
        try:
            return _followed(Typed(typed.answers[:most], typed.units))
        except WrongAnswerError:
            continue
    return _followed(Typed((), typed.units))


def _answered(question: Question, known: Mapping[str, Any], typed: str) -> Record:
    """Return a question that was answered, with the answer in words."""
    answer = typed or question.usual(known)
    said = question.choices(known).get(answer.casefold(), answer)
    return {"words": question.words(known), "typed": typed, "said": said, "usual": not typed}


def _shown(question: Question, asked: Asked) -> Record:
    """Return a question as the page shows it."""
    known = asked.known
    return {
        "key": question.key,
        "number": len(asked.before) + 1,
        "words": question.words(known),
        "usual": question.usual(known),
        "explain": question.explain,
        "choices": [{"letter": letter, "name": name} for letter, name in question.choices(known).items()],
        "offers": list(question.offers(known)),
        "kind": known.get("kind", ""),
    }


def _is_text(value: object) -> bool:
    """Return whether a value is a text of one line, not too long."""
    return isinstance(value, str) and len(value) <= _LONGEST and value.isprintable()
