"""A comparison as plain data, for the result file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from stickout.fem.compare.compare import Comparison, Entry
from stickout.fem.records.bands import band_record
from stickout.fem.records.cut_verdict import speeds_record
from stickout.fem.records.result import assumption_record
from stickout.fem.records.setup import setup_record


def comparison_record(
    comparison: Comparison, *, sentences: Mapping[int, str], tool: str, version: str
) -> dict[str, Any]:
    """Return the result file of a comparison: nested plain data, SI.

    Parameters
    ----------
    comparison
        What was compared.
    sentences
        Verdict in words by index of the entry.
    tool, version
        Name and version of the program, for the head of the file.

    Returns
    -------
    dict
        ``tool``, ``version``; ``assumptions`` as in the result file of ``modes``; ``bands``: what the bands
        mean; and ``entries``, the first set-up first, then the changes, then the rivals. An entry has

        - ``role``: "first", "change" or "rival"; ``name``: what the caller called it, null for a rival;
        - ``rival``: null, or {"kind", "amount"}: shorter (overhang left, mm), plain (without wrap or shim;
          its thickness, mm), thicker there, thicker all over (diameter added, mm), taller (height added, mm),
          turned and best turn (degrees);
        - ``setup``: the set-up in SI, as read or as made;
        - ``values``: note_hz, spring_m_per_n, stiffness_n_per_m, loss_factor and k_zeta_n_per_m along the
          force and, for a wholly described cut, cut_margin; each {"low", "likely", "high"};
        - ``ratios``: the same names, value over that of the first, bands of the ratio; a bound that does not
          exist is null;
        - ``aligned_mode``: number of the mode along the force, with its ``kind``, ``energy_shares``, and
          ``frequency_error``;
        - ``verdict``: null for the first, else {"kind": better, worse, mixed, partly, alike or unclear,
          "stiffness" and "limit": more, less, same or untold, "sentence"};
        - ``cut``: what the command ``cut`` says of it: margin, depth limit and pitch at the worst speed, and
          verdict, chance and margin at each; null where no cut is described;
        - ``widest``: null, or {"input", "share"}: what widens the ratio of the limit most.
    """
    return {
        "tool": tool,
        "version": version,
        "bands": "in nine of ten draws of all assumed numbers at once the value lies between low and high",
        "assumptions": [assumption_record(one) for one in comparison.assumptions],
        "entries": [_entry(one, sentences.get(n)) for n, one in enumerate(comparison.entries)],
    }


def _entry(entry: Entry, sentence: str | None) -> dict[str, Any]:
    result, verdict = entry.result, entry.verdict
    at = result.aligned
    return {
        "role": entry.role,
        "name": entry.name or None,
        "rival": None if entry.rival is None else {"kind": entry.rival.kind, "amount": entry.rival.amount},
        "setup": setup_record(result.setup),
        "values": {name: band_record(one) for name, one in entry.values.items()},
        "ratios": {name: band_record(one) for name, one in entry.ratios.items()},
        "aligned_mode": {
            "number": at + 1,
            "kind": result.kinds[at],
            "frequency_error": float(result.frequency_error[at]),
            "energy_shares": {name: float(share[at]) for name, share in result.shares.items()},
        },
        "verdict": None
        if verdict is None
        else {
            "kind": verdict.kind,
            "stiffness": verdict.stiffness,
            "limit": verdict.limit,
            "sentence": sentence,
        },
        "cut": None if entry.cut is None else speeds_record(entry.cut.verdict),
        "widest": None if entry.widest is None else {"input": entry.widest[0], "share": entry.widest[1]},
    }
