"""A quick measure of what checks tell about the cause, from how far the causes' predictions lie apart."""

from __future__ import annotations

import numpy as np

from backprobe.circuit.compiled import Floats

CACHED = 60_000
"""Pairs of causes, check by check, whose distances are reckoned at once."""
STILL = 1e-6
"""Score below which a check is no check [nat]."""


def spread_score(
    member: Floats, weight: Floats, mean: Floats, variance: Floats, *, widths: bool = False
) -> Floats:
    """Quick measure of the information in each check [nat], from how far the causes lie apart.

    Entropy of a mixture by pairwise Bhattacharyya distances (A. Kolchinsky, B. D. Tracey: Estimating
    mixture entropy with pairwise distances. Entropy 19 (2017)) [mem].

    Parameters
    ----------
    member
        ``(l, e)`` one where an explanation names a cause.
    weight
        ``(e,)`` share of each explanation.
    mean, variance
        ``(e, k)`` what each check shows under each explanation.
    widths
        Whether causes also count as apart that lie at one place, the one sharp and the other wide.
    """
    share = member @ weight
    part = member * weight / share[:, None]
    centre = part @ mean
    width = part @ (variance + mean**2) - centre**2
    result: Floats = np.zeros(mean.shape[1])
    # No score is larger than the largest gap: where nothing moves, most of them need no reckoning.
    moves = np.flatnonzero((np.ptp(centre, axis=0) ** 2 > 8 * STILL * width.min(axis=0)) | widths)
    # Half the digits are enough for a quick look, and more than twice as quick.
    middle = centre.mean(axis=0)
    c, w, p = (a.astype(np.float32) for a in ((centre - middle)[:, moves], width[:, moves], share))
    mixed = np.repeat(share[:, None], moves.size, axis=1)
    # As many causes at once as fit a processor's cache.
    step = max(1, CACHED // max(1, c.size))
    for i in range(0, len(share), step):
        some = slice(i, i + step)
        both = w[some, None] + w[i:]
        alike = c[some, None] - c[i:]
        alike *= alike
        alike /= -4 * both
        np.exp(alike, out=alike)
        if widths:
            alike *= np.sqrt(2 * np.sqrt(w[some, None] * w[i:]) / both)
        mixed[some] += np.einsum("j,ijk->ik", p[i:], alike) - share[some, None]
        mixed[i + step :] += np.einsum("i,ijk->jk", p[some], alike[:, step:])
    result[moves] = -(share @ np.log(mixed))
    return result
