"""Sections of several bodies put side by side: sharing nodes, lying on each other, or sawn open."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from stickout.meshes.sections import Section, compressed
from stickout.meshes.tagged import FloatArray, IntArray


def joined(sections: Sequence[Section], *, share: bool) -> tuple[Section, list[int]]:
    """Return sections side by side as one, and the first cell of each.

    Parameters
    ----------
    sections
        Sections that touch but do not overlap where they are present together.
    share
        Whether nodes at the same place become one, so that the bodies hang together.
    """
    first = np.concatenate([[0], np.cumsum([len(s.cells) for s in sections])]).tolist()[:-1]
    if share:
        return _hung_together(sections), first
    offset = np.concatenate([[0], np.cumsum([len(s.points) for s in sections])])
    cells = np.vstack([s.cells + o for s, o in zip(sections, offset, strict=False)])
    layer = np.concatenate([s.layer for s in sections])
    return Section(np.vstack([s.points for s in sections]), cells, layer), first


def _hung_together(sections: Sequence[Section]) -> Section:
    """Return sections as one in which a node takes the node of an earlier section at its place.

    Nodes of one and the same section are left apart: a saw cut stays open.
    """
    whole, _ = joined(sections, share=False)
    owner = np.repeat(np.arange(len(sections)), [len(s.points) for s in sections])
    used = np.unique(whole.cells)
    close = 1e-7 * np.ptp(whole.points[used], axis=0).max()
    twin = np.arange(len(whole.points))
    for number in range(1, len(sections)):
        mine, earlier = used[owner[used] == number], used[owner[used] < number]
        found = _nearest(whole.points[mine], whole.points[earlier], close)
        twin[mine[found >= 0]] = earlier[found[found >= 0]]
    return compressed(whole.points, twin[whole.cells], layer=whole.layer)


def merged(sections: Sequence[Section]) -> Section:
    """Return sections as one in which nodes at the same place are the same node."""
    whole, _ = joined(sections, share=False)
    used = np.unique(whole.cells)
    close = 1e-7 * np.ptp(whole.points[used], axis=0).max()
    twin = np.arange(len(whole.points))
    twin[used] = used[_nearest(whole.points[used], whole.points[used], close)]
    return compressed(whole.points, twin[whole.cells], layer=whole.layer)


def slit(section: Section) -> Section:
    """Return the section cut open along z = 0 on the side of positive y.

    The cells above the cut get nodes of their own along it.
    """
    tiny = 1e-9 * np.ptp(section.points, axis=0).max()
    on_cut = (np.abs(section.points[:, 1]) < tiny) & (section.points[:, 0] > 0)
    above = section.points[section.cells[:, :4], 1].mean(axis=1) > 0
    copies = np.flatnonzero(on_cut)
    own = np.arange(len(section.points))
    own[copies] = len(section.points) + np.arange(len(copies))
    cells = np.where(above[:, None], own[section.cells], section.cells)
    return Section(np.vstack([section.points, section.points[copies]]), cells, section.layer)


def matching_edges(section: Section, mine: IntArray, *, other: IntArray) -> IntArray:
    """Return the edges of two bodies that lie on each other.

    Parameters
    ----------
    section
        The joined section.
    mine, other
        Outer edges (cell, side) of the two bodies.

    Returns
    -------
    ndarray
        Cell and side of the one, cell and side of the other, shape (n, 4).
    """
    places = [section.points[section.cells[e[:, 0], 4 + e[:, 1]]] for e in (mine, other)]
    nearest = _nearest(places[0], places[1], 1e-7 * np.ptp(section.points, axis=0).max())
    met = nearest >= 0
    return np.concatenate([mine[met], other[nearest[met]]], axis=1)


def _nearest(places: FloatArray, among: FloatArray, close: float) -> IntArray:
    """Return the first of ``among`` within ``close`` of each place, -1 where there is none, shape (n,)."""
    found = np.full(len(places), -1)
    # By all pairs, a thousand places at a time: a section is small, and a search tree is slow to import.
    for start in range(0, len(places), 1000):
        gap = np.abs(places[start : start + 1000, None] - among).max(axis=2) < close
        found[start : start + 1000] = np.where(gap.any(axis=1), gap.argmax(axis=1), -1)
    return found
