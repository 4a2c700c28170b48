"""From the network's curves to strokes, and how well they agree with a truth."""
import numpy as np

from pieces import CHANNELS, FAMILIES, FAMILY_OF, PIECES

FRAME = 441 / 44100
# One limb does not strike a kick, a hat or a cymbal twice within 50 ms; drums are struck by two hands (flams).
APART = (0.05, 0.0, 0.05, 0.05, 0.0)
MEMBERS = [[5 + i for i, f in enumerate(FAMILY_OF) if f == family] for family in range(5)]


def decode(onset, velocity, offset, thresholds, least=0.03):
    """Strokes [n, 5]: seconds, family, piece, velocity 0..1, certainty. Curves are [frames, 19]; a peak is a largest value of three frames.

    Peaks under `least` or the family's threshold are dropped, and those closer than APART to a surer one. The engine decodes alike.
    """
    found = []
    for family in range(5):
        p = onset[:, family]
        padded = np.concatenate([[-1], p, [-1]])
        peaks = np.flatnonzero((p >= max(thresholds[family], least)) & (p >= padded[:-2]) & (p > padded[2:]))
        if APART[family]:
            surer = []
            for t in peaks[np.argsort(-p[peaks], kind="stable")]:
                if all(abs(t + offset[t, family] - u - offset[u, family]) * FRAME >= APART[family] for u in surer):
                    surer.append(t)
            peaks = np.array(surer, int)
        for t in peaks:
            near = onset[max(t - 1, 0):t + 2][:, MEMBERS[family]].max(0)
            channel = MEMBERS[family][int(np.argmax(near))]
            found.append(((t + offset[t, family]) * FRAME, family, channel - 5, velocity[t, channel], p[t]))
    return np.array(sorted(found)).reshape(-1, 5)


def merge(seconds, apart=0.005):
    """Times less than `apart` after the one before are the same stroke (two cymbals struck at once are one in family counting)."""
    seconds = np.sort(seconds)
    return seconds[np.concatenate([[True], np.diff(seconds) > apart])] if len(seconds) else seconds


def match(truth, found, window):
    """Pairs of indices, one to one in order, each within `window` seconds; both sorted. Largest possible number for one window."""
    pairs, i, j = [], 0, 0
    while i < len(truth) and j < len(found):
        gap = found[j] - truth[i]
        if abs(gap) <= window:
            pairs.append((i, j))
            i += 1
            j += 1
        elif gap < 0:
            j += 1
        else:
            i += 1
    return pairs


class Tally:
    """Counts over many recordings for one window."""

    def __init__(self, window):
        self.window, self.counts = window, np.zeros((5, 3))

    def add(self, truth, truth_family, found):
        for family in range(5):
            reference = merge(truth[truth_family == family])
            mine = found[found[:, 1] == family, 0]
            hits = len(match(reference, np.sort(mine), self.window))
            self.counts[family] += hits, len(reference), len(mine)

    @staticmethod
    def _f(c):
        return 2 * c[0] / max(c[1] + c[2], 1)

    def row(self):
        parts = [f"{name} {self._f(c):.3f} (r {c[0] / max(c[1], 1):.2f} p {c[0] / max(c[2], 1):.2f} n {int(c[1])})" for name, c in zip(FAMILIES, self.counts)]
        return f"+-{self.window * 1000:.0f} ms: " + "; ".join(parts) + f"; all {self._f(self.counts.sum(0)):.3f}"

    def f(self):
        return np.array([self._f(c) for c in self.counts] + [self._f(self.counts.sum(0))])


def best_thresholds(items, window=0.03):
    """Per family the threshold with the best F over items (curves, truth seconds, truth family).

    F is nearly flat around its best and the last thousandths are chance: the middle of all within 0.002 of it.
    """
    grid = np.arange(0.1, 0.91, 0.04)
    score = np.zeros((len(grid), 5, 3))
    for (onset, velocity, offset), truth, family in items:
        found = decode(onset, velocity, offset, np.full(5, grid[0]))
        for k, threshold in enumerate(grid):
            tally = Tally(window)
            tally.add(truth, family, found[found[:, 4] >= threshold])
            score[k] += tally.counts
    f = 2 * score[:, :, 0] / np.maximum(score[:, :, 1] + score[:, :, 2], 1)
    return np.array([grid[column >= column.max() - 0.002].mean() for column in f.T])


def calibrate(items, least=0.1):
    """Per family (slope, shift): a stroke found with certainty c is right with probability 1 / (1 + exp(-(slope · logit c + shift))).

    Logistic regression on every peak over `least` (Platt, Probabilistic Outputs for Support Vector Machines, 1999), right within 50 ms.
    """
    logits, good = [[] for _ in range(5)], [[] for _ in range(5)]
    for curves, truth, truth_family in items:
        found = decode(*curves, np.full(5, least))
        for family in range(5):
            mine = found[found[:, 1] == family]
            mine = mine[np.argsort(mine[:, 0])]
            right = np.zeros(len(mine))
            right[[j for _, j in match(merge(truth[truth_family == family]), mine[:, 0], 0.05)]] = 1
            c = np.clip(mine[:, 4], 1e-4, 1 - 1e-4)
            logits[family] += list(np.log(c / (1 - c)))
            good[family] += list(right)
    return np.array([_logistic(np.array(x), np.array(y)) for x, y in zip(logits, good)])


def _logistic(x, y, steps=30):
    """Newton's steps from the identity, held towards it as if by a few strokes."""
    weights, held = np.array([1.0, 0.0]), 2.0
    design = np.stack([x, np.ones_like(x)], 1)
    for _ in range(steps):
        p = 1 / (1 + np.exp(-design @ weights))
        slope = design.T @ (y - p) - held * (weights - [1, 0])
        weights = weights + np.linalg.solve((design * (p * (1 - p))[:, None]).T @ design + held * np.eye(2), slope)
    return weights


def timing(items, thresholds):
    """Per family: bias and median absolute deviation in ms of matched strokes, 95th percentile, velocity rank correlation, piece accuracy."""
    lines, confusion = [], np.zeros((14, 14), int)
    rows = {family: [] for family in range(5)}
    for (onset, velocity, offset), hits in items:
        found = decode(onset, velocity, offset, thresholds)
        truth = hits[np.argsort(hits[:, 0])]
        for family in range(5):
            mine, theirs = found[found[:, 1] == family], truth[np.array(FAMILY_OF)[truth[:, 1].astype(int)] == family]
            mine = mine[np.argsort(mine[:, 0])]
            for i, j in match(theirs[:, 0], mine[:, 0], 0.025):
                rows[family].append((mine[j, 0] - theirs[i, 0], theirs[i, 2], mine[j, 3]))
                confusion[int(theirs[i, 1]), int(mine[j, 2])] += 1
    for family in range(5):
        r = np.array(rows[family])
        if len(r) < 10:
            continue
        d = r[:, 0] * 1000
        middle = np.median(d)
        ranks = [np.argsort(np.argsort(c + np.random.default_rng(0).random(len(c)) * 1e-6)) for c in (r[:, 1], r[:, 2])]
        piece = [i for i, f in enumerate(FAMILY_OF) if f == family]
        block = confusion[piece][:, piece]
        loud = r[:, 1] > np.median(r[:, 1])
        lines.append(f"  {FAMILIES[family]}: bias {middle:+.2f} ms (loud {np.median(d[loud]):+.2f}, soft {np.median(d[~loud]):+.2f}), scatter {np.median(np.abs(d - middle)):.2f}, "
                     f"95% within {np.percentile(np.abs(d - middle), 95):.2f}, velocity rank {np.corrcoef(*ranks)[0, 1]:.3f}, right piece {np.trace(block) / max(block.sum(), 1):.3f} (n {len(r)})")
    lines.append("  pieces heard (rows: truth): " + "; ".join(
        f"{PIECES[i]}: " + " ".join(f"{PIECES[j]} {confusion[i, j]}" for j in np.argsort(-confusion[i])[:3] if confusion[i, j]) for i in range(14) if confusion[i].sum()))
    return lines


def reliability(items, edges=(.1, .2, .3, .4, .5, .6, .7, .8, .9, 1.01)):
    """Of strokes found with a certainty in each bin, the share that is true, per family."""
    counts = np.zeros((5, len(edges) - 1, 2))
    for (onset, velocity, offset), truth, truth_family in items:
        found = decode(onset, velocity, offset, np.full(5, edges[0]))
        for family in range(5):
            mine = found[found[:, 1] == family]
            mine = mine[np.argsort(mine[:, 0])]
            good = {j for _, j in match(merge(truth[truth_family == family]), mine[:, 0], 0.05)}
            for j in range(len(mine)):
                k = np.searchsorted(edges, mine[j, 4], side="right") - 1
                counts[family, k] += j in good, 1
    return ["  " + name + ": " + " ".join(f"{edges[k]:.1f}:{counts[f, k, 0] / max(counts[f, k, 1], 1):.2f}({int(counts[f, k, 1])})" for k in range(len(edges) - 1))
            for f, name in enumerate(FAMILIES)]


assert len(CHANNELS) == 19
