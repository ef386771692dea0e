"""Which reading tells most about a label, when every hypothesis predicts it as a Gaussian."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from typing import TypeVar

import numpy as np

from backprobe.circuit.compiled import Floats

T = TypeVar("T", bound=Hashable)

GRID = 600
WIDTHS = 4.0
HELD = 1e-3
"""Hypotheses below this share of belief are left out [1]."""


def information(weights: Floats, mean: Floats, spread: Floats, labels: Sequence[Hashable]) -> float:
    """Mutual information between a label and one reading [bit].

    Parameters
    ----------
    weights, mean, spread
        ``(h,)`` belief [1], and what each hypothesis expects to be read, with its standard deviation.
    labels
        What each hypothesis says; equal labels need not be told apart.

    Notes
    -----
    Entropy of the mixture less that of each label's own mixture (T. M. Cover, J. A. Thomas: Elements of
    Information Theory, chapter 2 [mem]), on a grid that is fine where the narrowest Gaussians are.
    """
    kept = np.flatnonzero(weights > HELD)
    if kept.size < 2:
        return 0.0
    w, m, s = weights[kept] / weights[kept].sum(), mean[kept], spread[kept]
    points = np.unique(np.concatenate([m + k * s for k in np.linspace(-WIDTHS, WIDTHS, 41)]))
    if points.size > GRID:
        points = points[np.linspace(0, points.size - 1, GRID).astype(int)]
    density = np.exp(-0.5 * ((points[:, None] - m) / s) ** 2) / (s * (2 * np.pi) ** 0.5)
    told = [labels[int(i)] for i in kept]
    names = {label: i for i, label in enumerate(dict.fromkeys(told))}
    member = np.array([names[t] for t in told])
    total = 0.0
    whole = density @ w
    for number in range(len(names)):
        mine = w * (member == number)
        own = density @ mine
        share = float(mine.sum())
        ratio = np.log2(np.maximum(own / share, 1e-300) / np.maximum(whole, 1e-300))
        total += float(np.trapezoid(own * ratio, points))
    return max(total, 0.0)


def summed(names: Sequence[T], share: Floats) -> list[tuple[T, float]]:
    """Belief by name, the most probable first; what is next to nothing is left out.

    Parameters
    ----------
    names
        What each hypothesis is called.
    share
        ``(h,)`` its belief [1].
    """
    total: dict[T, float] = {}
    for name, part in zip(names, share, strict=True):
        total[name] = total.get(name, 0.0) + float(part)
    return sorted(((n, p) for n, p in total.items() if p > 1e-4), key=lambda t: -t[1])
