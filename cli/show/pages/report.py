"""The report: one printable page of a set-up, every figure taken from the result file's content."""

from __future__ import annotations

import html
from typing import Final

from stickout.cli.show.drawing.of_result import drawing_of
from stickout.cli.show.pages.report_cut import cut_cards, cut_sections
from stickout.cli.show.pages.report_modes import (
    assumed_section,
    energy_section,
    hand_section,
    modes_cards,
    modes_section,
    versions_section,
)
from stickout.cli.show.pages.report_parts import Ledger, bullets, contents, page, paragraph, section
from stickout.cli.show.pages.report_work import together_section, work_section
from stickout.cli.show.pages.told import Told, plain_answer
from stickout.cli.text.cut_answer import CAUTIONS, CHECKLIST
from stickout.cli.text.cut_screen import opening_sentences, said_line
from stickout.cli.text.cut_words import cut_words
from stickout.cli.text.modes_answer import answer_text, setup_words
from stickout.cli.text.reasons import caution
from stickout.cli.version import TOOL, VERSION
from stickout.fem.records.cut import cut_result_record
from stickout.fem.records.result import result_record

STYLES: Final = ("report.css",)


def report_page(told: Told) -> str:
    """Return the report as one HTML page that asks nothing of any other file."""
    result, answer = told.result, told.answer
    modes = Ledger("modes", result_record(result, tool=TOOL, version=VERSION))
    cut = modes if answer is None else Ledger("cut", cut_result_record(answer, tool=TOOL, version=VERSION))
    title = result.setup.title or "Untitled set-up"
    cards = [
        *modes_cards(result, modes)[:2],
        *(modes_cards(result, modes)[2:] if answer is None else cut_cards(answer, cut)),
    ]
    body = [
        _answer(told),
        f'<div class="cards">{"".join(cards)}</div>',
        f"<figure>{drawing_of(result)}</figure>",
        modes_section(result, modes),
        energy_section(result, modes),
        hand_section(result, modes),
        *([] if answer is None else cut_sections(answer, cut)),
        work_section(told.result, answer),
        "" if answer is None else together_section(answer),
        assumed_section(cut, result.setup.units),
        _cautions(told),
        versions_section(modes),
    ]
    text = "\n".join(part for part in body if part)
    whole = [f"<header>\n{_job(told, title)}\n</header>", contents(text), f"<main>\n{text}\n</main>"]
    return page(f"{title}: report", "\n".join(whole), styles=STYLES)


def _job(told: Told, title: str) -> str:
    """Return what was asked."""
    setup = told.result.setup
    lines = [f"<h1>{html.escape(title)}</h1>", paragraph(setup_words(setup), kind="job")]
    if told.answer is not None:
        lines.append(paragraph(cut_words(setup, told.answer.case), kind="job"))
    return "\n".join(lines)


def _answer(told: Told) -> str:
    """Return the plain answer: as ``cut`` opens, verdict first, then what the bar does."""
    cut = [] if told.answer is None else opening_sentences(told.answer)
    kinds = ["verdict" if told.answer is not None and one == said_line(told.answer) else "" for one in cut]
    lines = [paragraph(one, kind=kind) for one, kind in zip(cut, kinds, strict=True)]
    text = plain_answer(answer_text(told.result))
    # The cut's own opening has told the spring, with what comes of it.
    bar = paragraph(text if told.answer is None else text.partition(". ")[2])
    return section("In plain words", *lines, bar, paragraph(told.no_cut, kind="note"))


def _cautions(told: Told) -> str:
    """Return warnings, what to believe, and what to check and mind."""
    warnings = [f"Warning: {one}" for one in told.result.warnings]
    parts = [bullets(warnings), paragraph(caution(told.result.setup))]
    parts += ["<h3>Check first, before you trust any of this</h3>", bullets(CHECKLIST, kind="boxes")]
    if told.answer is not None:
        parts += ["<h3>For the first cut</h3>", bullets(CAUTIONS)]
    return section("Cautions", *parts)
