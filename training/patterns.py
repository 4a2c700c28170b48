"""What is struck in a training clip: a stretch of a recorded take, altered so that rare strokes become frequent.

A pattern is three arrays: seconds from the clip's start (negative = struck before it, still ringing), piece, velocity 1..127.
"""
import numpy as np

from pieces import INDEX

K, S, X, HC, HO, HP, R, RB, C, SP, CH, T1, T2, T3 = range(14)
RARE_WEIGHT = np.array([0, 0, 1, 0, 1, .2, 0, 2, 4, 4, 4, 2, 3, 2.5])
RINGING = 2.4


class Takes:
    """The takes of one split, with the places of rare strokes."""

    def __init__(self, path, validation):
        file = np.load(path, allow_pickle=False)
        self.seconds, self.piece, self.velocity = (file[n] for n in ("seconds", "piece", "velocity"))
        self.seconds, self.piece, self.velocity = self.seconds.astype(np.float64), self.piece.astype(np.int64), self.velocity.astype(np.float64)
        self.first, self.length = file["first"], file["length"]
        self.chosen = np.flatnonzero(file["split"] == int(validation))
        share = np.minimum(self.length[self.chosen], 120.0)
        self.share = share / share.sum()
        take_of = np.repeat(np.arange(len(self.length)), np.diff(self.first))
        rare = RARE_WEIGHT[self.piece] * np.isin(take_of, self.chosen)
        self._rare = np.flatnonzero(rare)
        self._rare_sum = np.cumsum(rare[self._rare])
        self._take_of = take_of

    def stretch(self, take, start, seconds):
        """The strokes of one take from `start` - RINGING to `start` + `seconds`, times from `start`."""
        a, b = self.first[take], self.first[take + 1]
        lo, hi = np.searchsorted(self.seconds[a:b], (start - RINGING * 1.35, start + seconds)) + a
        return self.seconds[lo:hi] - start, self.piece[lo:hi].copy(), self.velocity[lo:hi].copy()

    def draw(self, random, seconds):
        """A random stretch; half of them around a rare stroke. Doubled hat notes are thinned (`single_hats`)."""
        if random.random() < 0.5:
            stroke = self._rare[np.searchsorted(self._rare_sum, random.random() * self._rare_sum[-1])]
            take = self._take_of[stroke]
            start = self.seconds[stroke] - random.random() * seconds
        else:
            take = random.choice(self.chosen, p=self.share)
            start = random.random() * max(self.length[take] - seconds, 0.1)
        return single_hats(*self.stretch(take, max(start, -0.2), seconds))


def single_hats(t, p, v, apart=0.05):
    """Drops the softer of two hat notes closer than `apart`: an electronic hat reports its pedal as well when a stick strikes it.

    Learned as they are, such pairs made the network hear two hats 30 ms apart at one stroke of a real pair. Only learning thins
    them; evaluation keeps every note.
    """
    hats = np.flatnonzero((p == HC) | (p == HO) | (p == HP))
    kept = np.ones(len(t), bool)
    for a, b in zip(hats[:-1], hats[1:]):
        if kept[a] and t[b] - t[a] < apart:
            kept[a if v[a] < v[b] else b] = False
    return t[kept], p[kept], v[kept]


def scattered(random, seconds):
    """Strokes with no musical order, so that a piece is not guessed from its neighbours."""
    parts = []
    for piece in random.choice(14, size=random.integers(2, 8), replace=False):
        count = random.poisson(random.uniform(0.4, 4.0) * (seconds + 1))
        parts.append((random.uniform(-1, seconds, count), np.full(count, piece), random.uniform(10, 127, count)))
    return tuple(np.concatenate(p) for p in zip(*parts))


def alter(random, t, p, v, seconds):
    """Moves strokes to other pieces, adds and drops some; everything is decided once a clip, as a drummer would."""
    def chance(x):
        return random.random() < x

    hats = (p == HC) | (p == HO)
    if chance(0.40):
        p = np.where(hats, random.choice([R, R, R, RB, HO, HO, C, T3, CH, X, HC], p=[.12, .12, .12, .12, .12, .08, .1, .08, .04, .04, .06]), p)
    if chance(0.2):
        p = np.where(p == R, random.choice([HC, RB, RB, HO, C]), p)
    if chance(0.15):
        p = np.where((p == S) & (v > 40), X, p)
    elif chance(0.07):
        p = np.where(p == S, random.choice([T1, T2, T3]), p)
    if chance(0.3):
        p = np.where(p == X, S, p)
    if chance(0.35):
        p = np.where(p == C, random.choice([SP, CH]), p)
    if chance(0.25):
        p = np.where(p >= T1, random.permutation(3)[np.maximum(p - T1, 0)] + T1, p)
    if chance(0.25):
        p = np.where((p == HC) & (random.random(len(p)) < 0.3), HO, p)
    if chance(0.5):
        p = np.where((p == HP) & (v < 50), -1, p)
    for piece in range(14):
        if chance(0.05):
            p = np.where(p == piece, -1, p)
    t, p, v = loosen(random, t, p, v)
    if chance(0.15) and len(t):
        a = random.uniform(0, seconds - 1)
        inside = (t > a) & (t < a + random.uniform(0.5, 1.5)) & np.isin(p, [S, HC, HO, R])
        p = np.where(inside, random.choice([T1, T2, T3, T3], size=len(p)), p)
        v = np.where(inside, np.maximum(v, random.uniform(40, 100)), v)
    add = []
    if chance(0.3):
        at = (p == K) & (random.random(len(p)) < 0.2)
        add.append((t[at], np.full(at.sum(), random.choice([C, C, C, SP, CH])), random.uniform(60, 127, at.sum())))
    if chance(0.2):
        at = np.isin(p, [S, T1, T2, T3]) & (v > 50) & (random.random(len(p)) < 0.25)
        add.append((t[at] - random.uniform(0.012, 0.045, at.sum()), p[at], v[at] * random.uniform(0.25, 0.7, at.sum())))
    if chance(0.2):
        at = np.isin(p, [HC, HO, R]) & (random.random(len(p)) < 0.3)
        add.append((t[at] + random.normal(0, 0.006, at.sum()), np.full(at.sum(), S), random.uniform(8, 35, at.sum())))
    if chance(0.15) and len(t):
        period = random.uniform(0.35, 1.2)
        beat = np.arange(random.uniform(-1, 0), seconds + 0.2, period)
        add.append((beat + random.normal(0, 0.008, len(beat)), np.full(len(beat), HP), random.uniform(30, 100, len(beat))))
    add += passages(random, t, p, seconds)
    for extra in add:
        t, p, v = np.concatenate([t, extra[0]]), np.concatenate([p, extra[1]]), np.concatenate([v, extra[2]])
    kept = p >= 0
    return t[kept], p[kept], v[kept]


def loosen(random, t, p, v):
    """Parts hats from drums: played grooves have a hat at nearly every backbeat, so a snare's own hiss passes for one."""
    def chance(x):
        return random.random() < x

    metal = np.isin(p, [HC, HO, HP, R, RB])
    if chance(0.25):
        drums = ((S, X), (K,), (S, K), (S, T1, T2, T3))[random.integers(4)]
        with_drum = metal & _near(t, t[np.isin(p, drums)])
        p = np.where(with_drum & (random.random(len(p)) < random.choice([1.0, random.uniform(0.4, 1)])), -1, p)
    elif chance(0.15):
        # Hats at drums by the toss of a coin: whether one is there can only be heard by comparing the drum with its likes.
        drums = np.isin(p, ((S,), (S, K), (S, T1, T2, T3))[random.integers(3)])
        bare = drums & ~_near(t, t[metal]) & (random.random(len(p)) < 0.5)
        p = np.where(metal & _near(t, t[drums]) & (random.random(len(p)) < 0.5), -1, p)
        own = p[metal & (p >= 0)]
        t = np.concatenate([t, t[bare] + random.normal(0, 0.006, bare.sum())])
        v = np.concatenate([v, random.uniform(25, 110) + random.normal(0, 8, bare.sum())])
        p = np.concatenate([p, np.full(bare.sum(), random.choice(own) if len(own) else HC)])
        metal = np.isin(p, [HC, HO, HP, R, RB])
    elif chance(0.07):
        with_hat = (p == S) & _near(t, t[metal])
        p = np.where(with_hat & (random.random(len(p)) < random.uniform(0.4, 1)), -1, p)
    if chance(0.12):
        t = np.where(metal, t + random.uniform(0.04, 0.6), t)
    if chance(0.12):
        p = np.where(metal & (random.random(len(p)) < random.uniform(0.2, 0.7)), -1, p)
    if chance(0.06):
        p = np.where(metal | np.isin(p, [C, SP, CH]), -1, p)
    for drum, share in ((K, 0.18), (S, 0.08)):
        if chance(share):
            v = np.where(p == drum, v * random.uniform(0.1, 0.5), v)
    if chance(0.08):
        v = np.where(metal, v * random.uniform(0.2, 0.6), v)
    return t, p, v


def passages(random, t, p, seconds):
    """Strokes that takes seldom hold: a kick feathered in quarters, a beater that rebounds, two toms at once, a snare roll or hats in doubles."""
    add = []
    if random.random() < 0.1:
        kicks = t[(p == K) & (random.random(len(p)) < random.uniform(0.3, 1))]
        again = kicks + random.normal(random.uniform(0.05, 0.1), 0.008, len(kicks))
        again = again[~_near(again, t[p == K], 0.04)]
        add.append((again, np.full(len(again), K), random.uniform(5, 35) + random.normal(0, 3, len(again))))
    toms = (p >= T1) & (random.random(len(p)) < random.uniform(0.3, 1))
    if toms.any() and random.random() < 0.3:
        other = T1 + (p[toms] - T1 + random.integers(1, 3, toms.sum())) % 3
        loud = random.uniform(20, 120) + random.normal(0, 10, toms.sum())
        add.append((t[toms] + random.normal(0, random.uniform(0.001, 0.008), toms.sum()), other, loud))
    if random.random() < 0.08:
        beat = np.arange(random.uniform(-1, 0), seconds + 0.2, random.uniform(0.28, 0.75))
        beat = beat[~_near(beat, t[p == K], 0.06)]
        add.append((beat + random.normal(0, 0.006, len(beat)), np.full(len(beat), K), random.uniform(5, 40) + random.normal(0, 4, len(beat))))
    for probability, piece, fastest in ((0.1, S, 0.045), (0.08, HC, 0.065)):
        if random.random() < probability:
            start, step = random.uniform(-0.5, seconds - 0.5), random.uniform(fastest, 0.14)
            roll = start + step * np.arange(random.integers(3, 16))
            roll = roll[~_near(roll, t[p == piece], 0.04)]
            loud = random.uniform(12, 90) * np.where(np.arange(len(roll)) % 2, random.uniform(0.5, 1), 1)
            add.append((roll + random.normal(0, 0.004, len(roll)), np.full(len(roll), piece), loud + random.normal(0, 5, len(roll))))
    return add


def _near(t, others, within=0.03):
    """Which of `t` lie within `within` seconds of one of `others`."""
    if not len(others):
        return np.zeros(len(t), bool)
    others = np.sort(others)
    i = np.searchsorted(others, t)
    return np.minimum(np.abs(t - others[np.maximum(i - 1, 0)]), np.abs(others[np.minimum(i, len(others) - 1)] - t)) < within


def pattern(random, takes, seconds):
    """One clip's strokes."""
    kind = random.random()
    if kind < 0.04:
        empty = np.zeros(0)
        return empty, empty.astype(np.int64), empty
    if kind < 0.14:
        t, p, v = scattered(random, seconds)
    else:
        tempo = 2 ** random.uniform(-0.45, 0.45)
        t, p, v = takes.draw(random, seconds * tempo)
        t = t / tempo
        t, p, v = alter(random, t, p.astype(np.int64), v, seconds)
        t = t + random.normal(0, abs(random.normal(0, 0.006)), len(t))
    v = 127 * (np.clip(v, 1, 127) / 127) ** 2 ** random.normal(0, 0.5) + random.normal(0, 4, len(v))
    kept = (t > -RINGING) & (t < seconds - 0.002)
    order = np.argsort(t[kept], kind="stable")
    return t[kept][order], p[kept][order], np.clip(v[kept][order], 2, 127)


def played(random, takes, seconds):
    """A stretch of a take as it was played."""
    take = random.choice(takes.chosen, p=takes.share)
    t, p, v = single_hats(*takes.stretch(take, random.random() * max(takes.length[take] - seconds, 0.1), seconds))
    kept = (t > -RINGING) & (t < seconds - 0.002)
    return t[kept], p[kept], np.clip(v[kept], 2, 127)


assert INDEX["tom-low"] == T3 and INDEX["hat-pedal"] == HP
