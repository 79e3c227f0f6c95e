"""Compiled: rectangles on a skyline, and a local search over the order in which they are tried.

Source of the skyline and of preferring a rectangle that fills its gap: E. K. Burke, G. Kendall and
G. Whitwell, "A new placement heuristic for the orthogonal stock-cutting problem", Operations Research
52 (2004), 655-671; of the search over orders: S. C. H. Leung, D. Zhang and K. M. Sim, "A two-stage
intelligent search algorithm for the two-dimensional strip packing problem", European Journal of
Operational Research 215 (2011), 57-69.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled
from planner.nesting.separation.random_kernel import uniform

Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]
Words = NDArray[np.uint64]


@compiled(nogil=True)
def fill_bin(
    width: int,
    height: int,
    w: Ints,
    h: Ints,
    order: Ints,
    eager: Flags,
    flat: Flags,
    rotate: bool,
    taken: Flags,
    at: Ints,
    sky: Ints,
) -> int:
    """Lay rectangles of ``order`` that are not taken into one bin; returns the area laid.

    At the lowest gap of the skyline the first eager rectangle that fits is laid, else the one that fits
    best: as wide as the gap, then as high as a neighbouring wall, then as wide as may be. ``at`` gets x, y,
    width and height of each rectangle laid; ``sky`` holds x, y and width of the segments.
    """
    sky[0, 0], sky[0, 1], sky[0, 2] = 0, 0, width
    many, laid = 1, 0
    while True:
        low = 0
        for k in range(1, many):
            if sky[k, 1] < sky[low, 1]:
                low = k
        x, y, gap = sky[low, 0], sky[low, 1], sky[low, 2]
        if y >= height:
            return laid
        left = height if low == 0 else sky[low - 1, 1]
        right = height if low == many - 1 else sky[low + 1, 1]
        best, best_score, bw, bh = -1, -1, 0, 0
        for i in order:
            if taken[i]:
                continue
            for side in range(2 if rotate and w[i] != h[i] else 1):
                turned = (side == 1) != flat[i] if rotate else False
                iw, ih = (h[i], w[i]) if turned else (w[i], h[i])
                if iw > gap or y + ih > height:
                    continue
                score = iw
                if iw == gap:
                    score += 3000000
                if y + ih == left or y + ih == right:
                    score += 1000000
                if eager[i]:
                    score = 9000000
                if score > best_score:
                    best, best_score, bw, bh = i, score, iw, ih
            if best_score == 9000000:
                break
        if best < 0:
            # nothing fits: the gap is lost up to its lower wall
            up = min(left, right)
            sky[low, 1] = up
            many = _merged(sky, many, low)
            continue
        # beside the higher wall
        at[best, 0] = x if left >= right else x + gap - bw
        at[best, 1], at[best, 2], at[best, 3] = y, bw, bh
        taken[best] = True
        laid += bw * bh
        if bw == gap:
            sky[low, 1] = y + bh
        else:
            for k in range(many, low, -1):
                sky[k] = sky[k - 1]
            many += 1
            first, second = (low, low + 1) if left >= right else (low + 1, low)
            sky[first, 1], sky[first, 2] = y + bh, bw
            sky[second, 1], sky[second, 2] = y, gap - bw
            sky[low, 0] = x
            sky[low + 1, 0] = x + sky[low, 2]
            low = first
        many = _merged(sky, many, low)


@compiled(nogil=True)
def _merged(sky: Ints, many: int, k: int) -> int:
    """Join segment k with neighbours of the same height."""
    if k + 1 < many and sky[k + 1, 1] == sky[k, 1]:
        sky[k, 2] += sky[k + 1, 2]
        for m in range(k + 1, many - 1):
            sky[m] = sky[m + 1]
        many -= 1
    if k > 0 and sky[k - 1, 1] == sky[k, 1]:
        sky[k - 1, 2] += sky[k, 2]
        for m in range(k, many - 1):
            sky[m] = sky[m + 1]
        many -= 1
    return many


@compiled(nogil=True)
def _keep(trial: Ints, at: Ints) -> None:
    """Write down where every rectangle lies."""
    for i in range(at.shape[0]):
        for k in range(at.shape[1]):
            at[i, k] = trial[i, k]


@compiled(nogil=True)
def squeeze(
    width: int,
    height: int,
    w: Ints,
    h: Ints,
    order: Ints,
    eager: Flags,
    flat: Flags,
    rotate: bool,
    rounds: int,
    heat: float,
    random: Words,
    at: Ints,
) -> tuple[int, int]:
    """Search orders until all rectangles lie in the bin; returns the area left out and the rounds used.

    A change is kept when it leaves out no more, or a little more with a chance that falls with the rounds.
    """
    n = len(w)
    whole = 0
    for i in range(n):
        whole += w[i] * h[i]
    taken = np.zeros(n, dtype=np.bool_)
    sky = np.zeros((n + 2, 3), dtype=np.int64)
    trial = np.zeros((n, 4), dtype=np.int64)
    now = whole - fill_bin(width, height, w, h, order, eager, flat, rotate, taken, trial, sky)
    if now == 0:
        _keep(trial, at)
        return 0, 1
    least = now
    for r in range(rounds):
        i, j = int(uniform(random) * n), int(uniform(random) * n)
        kind = uniform(random)
        if kind < 0.15:
            eager[i] = not eager[i]
        elif kind < 0.25:
            flat[i] = not flat[i]
        elif kind < 0.6:
            order[i], order[j] = order[j], order[i]
        else:
            _insert(order, i, j)
        taken[:] = False
        left = whole - fill_bin(width, height, w, h, order, eager, flat, rotate, taken, trial, sky)
        if left == 0:
            _keep(trial, at)
            return 0, r + 2
        allowed = -np.log(uniform(random) + 1e-300) * heat * whole * (1.0 - r / rounds)
        if left <= now + allowed:
            now = left
            least = min(least, left)
        elif kind < 0.15:
            eager[i] = not eager[i]
        elif kind < 0.25:
            flat[i] = not flat[i]
        elif kind < 0.6:
            order[i], order[j] = order[j], order[i]
        else:
            _insert(order, j, i)
    return least, rounds


@compiled(nogil=True)
def _insert(order: Ints, i: int, j: int) -> None:
    """Take place i out and put it in at j."""
    moved = order[i]
    if i < j:
        for k in range(i, j):
            order[k] = order[k + 1]
    else:
        for k in range(i, j, -1):
            order[k] = order[k - 1]
    order[j] = moved


@compiled(nogil=True)
def refill(
    width: int,
    height: int,
    w: Ints,
    h: Ints,
    bin_of: Ints,
    bins: int,
    rotate: bool,
    rounds: int,
    goal: int,
    random: Words,
    at: Ints,
) -> tuple[int, int]:
    """Empty a few bins and fill them anew, fuller first; returns the number of bins left and rounds used.

    A refill is kept when the sum of squared fills does not fall: bins grow unequal until one is empty.
    """
    n = len(w)
    order = np.zeros(n, dtype=np.int64)
    eager = np.zeros(n, dtype=np.bool_)
    flat = np.zeros(n, dtype=np.bool_)
    taken = np.ones(n, dtype=np.bool_)
    key = np.zeros(n)
    sky = np.zeros((n + 2, 3), dtype=np.int64)
    trial = np.zeros((n, 4), dtype=np.int64)
    new_bin = np.zeros(n, dtype=np.int64)
    fill = np.zeros(n + 1, dtype=np.int64)
    for i in range(n):
        fill[bin_of[i]] += w[i] * h[i]
    for r in range(rounds):
        if bins <= goal:
            return bins, r
        open_bins = min(bins, 2 + int(uniform(random) * 3.0))
        chosen = np.zeros(bins, dtype=np.bool_)
        emptiest = 0
        for b in range(bins):
            if fill[b] < fill[emptiest]:
                emptiest = b
        count = 0
        if uniform(random) < 0.7:
            chosen[emptiest] = True
            count = 1
        while count < open_bins:
            b = int(uniform(random) * bins)
            if not chosen[b]:
                chosen[b] = True
                count += 1
        many = 0
        noise = uniform(random)
        eagerness = 0.6 * uniform(random) * uniform(random)
        for i in range(n):
            if chosen[bin_of[i]]:
                order[many] = i
                size = max(w[i], h[i]) if r % 3 == 0 else w[i] * h[i]
                key[many] = -size * (1.0 - noise * uniform(random))
                many += 1
                taken[i] = False
                eager[i] = uniform(random) < eagerness
                flat[i] = uniform(random) < 0.5
        ranked = order[:many][np.argsort(key[:many])]
        before, after, used, left = 0.0, 0.0, 0, many
        for b in range(bins):
            if chosen[b]:
                before += float(fill[b]) ** 2
        while left > 0 and used < count:
            area = fill_bin(width, height, w, h, ranked, eager, flat, rotate, taken, trial, sky)
            after += float(area) ** 2
            for i in ranked:
                if taken[i] and new_bin[i] == 0:
                    new_bin[i] = used + 1
                    left -= 1
            used += 1
        if left == 0 and (after >= before or used < count):
            bins = _renumbered(chosen, bins, used, ranked, new_bin, bin_of, fill, w, h, trial, at)
        for i in ranked:
            taken[i] = True
            new_bin[i] = 0
    return bins, rounds


@compiled(nogil=True)
def _renumbered(
    chosen: Flags,
    bins: int,
    used: int,
    ranked: Ints,
    new_bin: Ints,
    bin_of: Ints,
    fill: Ints,
    w: Ints,
    h: Ints,
    trial: Ints,
    at: Ints,
) -> int:
    """Give the refilled bins the numbers of the emptied ones; numbers stay without gaps."""
    number = np.zeros(used + 1, dtype=np.int64)
    k = 0
    spare = np.zeros(bins, dtype=np.int64)
    spares = 0
    for b in range(bins):
        if chosen[b]:
            fill[b] = 0
            if k < used:
                number[k + 1] = b
                k += 1
            else:
                spare[spares] = b
                spares += 1
    for i in ranked:
        bin_of[i] = number[new_bin[i]]
        fill[bin_of[i]] += w[i] * h[i]
        at[i] = trial[i]
    for s in range(spares - 1, -1, -1):
        last = bins - 1
        gone = spare[s]
        for i in range(len(bin_of)):
            if bin_of[i] == last:
                bin_of[i] = gone
        fill[gone] = fill[last]
        fill[last] = 0
        bins -= 1
    return bins
