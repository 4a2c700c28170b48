"""How a clip sounds: which recorded stroke is placed where, how loud, at which speed, when it is choked; what leaks around it.

Everything here is small arrays made by worker processes; the sound itself is summed on the accelerator (rendering.py).
"""
import numpy as np

import patterns
from pieces import FAMILY_OF, MUSIC, OTHER

RATE = 44100
VARIANTS = 4
SOFT = 3
SYNTHETIC = 64                                   # sounds of each synthetic kind, behind the recorded ones
BUZZ, CLICK, RESONANCE, HISS, TONE = range(5)
TONE_ROOT = 26                                   # MIDI key of the first tone; the others follow by semitones
STEMS = 5                                        # kick, snare, toms, cymbals (with hats and other percussion), music
STEM_OF = np.array([0, 1, 1, 3, 3, 3, 3, 3, 3, 3, 3, 2, 2, 2, 3, 4])
# Usual level of each piece when every sound is scaled to full range; decibels, common practice, no source.
USUAL_DB = np.array([1, -2, -11, -17, -15, -19, -18, -15, -11, -13, -12, -4, -4, -3, -16, -17.0])
FIELDS = ["sound", "start", "rate", "gain", "stop", "damp", "stem", "variant"]
KIT_WEIGHT = {"BJA_Pacific": 3, "ColomboAcousticDrumkit": 2.5, "Millo-Drums_v.1": 1, "Millo_MultiLayered2": 3, "Millo_MultiLayered3": 3,
              "The Black Pearl 1.0": 2.5, "Black_Pearl_avl-0": 2.5, "muldjord-studio": 5, "muldjord-overhead": 5, "scsynth-strokes": 1.5,
              "scsynth-electronic": .3, "Audiophob": .3, "ElectricEmpireKit": .3, "HardElectro1": .2, "VariBreaks": .4, "rumpf_kit_z01_h2": .5,
              "ForzeeStereo": 1, "Red_Zeppelin-0": 1, "muldjord-room": 1}


class KitTable:
    """Which sounds each kit offers for each piece."""

    def __init__(self, tables):
        self.names = [str(n) for n in tables["kit_name"]]
        self.count = len(tables["length"])
        self.peak_db = tables["peak_db"]
        self.choices = {}
        for k, n, rank, sound in zip(tables["entry_kit"], tables["entry_piece"], tables["entry_rank"], tables["entry_sound"]):
            self.choices.setdefault((int(k), int(n)), []).append((float(rank), int(sound)))
        self.choices = {key: (np.array([r for r, _ in v]), np.array([s for _, s in v])) for key, v in self.choices.items()}
        weights = np.array([KIT_WEIGHT.get(n, .13 if n.startswith("FluidR3") else .2 if n.startswith("TimGM") else 0) for n in self.names])
        self.weight = weights
        self.with_piece = {n: np.array([k for k in range(len(self.names)) if (k, n) in self.choices]) for n in range(16)}

    def draw(self, random, piece, but=None):
        kits = self.with_piece[piece]
        weight = self.weight[kits] * (1.0 if but is None else (kits != but))
        if weight.sum() == 0:
            weight = np.ones(len(kits))
        return int(random.choice(kits, p=weight / weight.sum()))

    def loudest_db(self, kit, piece):
        return float(self.peak_db[self.choices[kit, piece][1]].max())


class Events:
    """Collects placed sounds."""

    def __init__(self):
        self.parts = []

    def add(self, sound, start, rate, gain, stem, stop=1 << 24, damp=0.0, variant=0):
        n = len(start)
        def full(x, kind=np.float32):
            return np.broadcast_to(np.asarray(x, kind), (n,))
        self.parts.append((full(sound, np.int32), full(start, np.int32), full(rate), full(gain), full(stop, np.int32), full(damp), full(stem, np.int32), full(variant, np.int32)))

    def arrays(self):
        if not self.parts:
            return {f: np.zeros(0, np.float32 if f in ("rate", "gain", "damp") else np.int32) for f in FIELDS}
        return {f: np.concatenate(column) for f, column in zip(FIELDS, zip(*self.parts))}


def decibels(db):
    return 10 ** (np.asarray(db) / 20)


def plan_clip(random, kits, takes, seconds, as_played=False):
    """One training clip: (events, hits); hits are columns sample, piece, velocity, counts (0 = too faint to ask for).

    `as_played`: a take's own strokes, for choosing thresholds; their usual order is part of what a threshold weighs.
    """
    t, p, v = patterns.played(random, takes, seconds) if as_played else patterns.pattern(random, takes, seconds)
    start = np.round(t * RATE).astype(np.int64)
    events = Events()
    main = int(random.choice(len(kits.names), p=kits.weight / kits.weight.sum()))
    while (main, 0) not in kits.choices or (main, 3) not in kits.choices:
        main = int(random.choice(len(kits.names), p=kits.weight / kits.weight.sum()))
    curve = random.uniform(0.35, 1.15)
    natural = "muldjord" in kits.names[main] and random.random() < 0.6
    family_db = random.normal(0, 4.5, 5)
    if random.random() < 0.25:                   # the view of a pair over the kit: much cymbal, little kick
        family_db += np.array([-5, -1, 3, 4, -1.0])
    speed = 2 ** random.normal(0, 0.06)
    gain_db, touch = np.full(len(p), -99.0), np.zeros(len(p))
    # Toms of one set: only their order tells a mid tom from its neighbours.
    tom_kit, tom_speed = kits.draw(random, 12) if random.random() < 0.4 else None, 2 ** random.normal(0, 0.1)
    for n in np.unique(p):
        mine = np.flatnonzero(p == n)
        if n >= 11 and tom_kit is not None and (tom_kit, n) in kits.choices:
            kit = tom_kit
        else:
            kit = main if (main, n) in kits.choices and random.random() > (0.05 if n >= 11 else 0.25) else kits.draw(random, n, main)
        base = USUAL_DB[n]
        if natural and kit == main:
            base = kits.loudest_db(kit, n) - kits.loudest_db(kit, 0)
        base += family_db[FAMILY_OF[n]] + random.normal(0, 2)
        touch[mine] = np.maximum(40 * np.log10(v[mine] / 127) * curve, -34) + random.normal(0, 0.8, len(mine))
        gain_db[mine] = base + touch[mine]
        piece_speed = speed * 2 ** random.normal(0, 0.1)
        if n >= 11:
            piece_speed = speed * tom_speed
        elif n == 1 and random.random() < 0.15:
            piece_speed *= 2 ** -random.uniform(0.1, 0.5)
        damp = random.exponential(3.0) if random.random() < 0.3 else 0.0
        stop = _chokes(start, p, mine) if n in (3, 4, 5) else 1 << 24
        layers = [(kit, 0.0, piece_speed)]
        if random.random() < 0.12:
            layers.append((kits.draw(random, n), random.uniform(-16, -2), speed * 2 ** random.normal(0, 0.1)))
        rings = n == 3 and random.random() < 0.12     # a hat not quite closed, by this kit's measure
        if rings:
            damp = random.uniform(5, 25)
        own = natural and kit == main and not rings
        for from_kit, db, at_speed in layers:
            like = 4 if rings and (from_kit, 4) in kits.choices else n
            sound, variant = _choose(random, kits, from_kit, like, v[mine])
            if own and from_kit == kit:           # as loud as this very stroke was recorded
                touch[mine] = kits.peak_db[sound] - kits.loudest_db(kit, n) + random.uniform(-2, 2, len(mine))
                gain_db[mine] = base + touch[mine]
            events.add(sound, start[mine], at_speed * 2 ** random.normal(0, 0.004, len(mine)), decibels(gain_db[mine] + db), STEM_OF[n], stop, damp, variant)
    _leaks(random, kits, events, start, p, gain_db)
    if random.random() < 0.12 or (len(p) == 0 and random.random() < 0.5):
        _other_percussion(random, kits, events, start, seconds)
    if random.random() < 0.35 or (len(p) == 0 and random.random() < 0.7):
        _music(random, kits, events, start, seconds)
    # The velocity to learn is the level that was rendered, on the square law.
    heard = np.clip(127 * decibels(touch / 2), 1, 127)
    hits = np.stack([start, p, heard, _audible(start, gain_db)], 1).astype(np.float32) if len(p) else np.zeros((0, 4), np.float32)
    return events.arrays(), hits


def plan_plain(random, kits, kit, t, p, v):
    """A clip as one kit plays it, nothing altered; for evaluation. Pieces the kit lacks are left out of sound and truth.

    A low tom stands in for a missing mid tom.
    """
    p = p.copy()
    if (kit, 12) not in kits.choices:
        p[p == 12] = 13 if (kit, 13) in kits.choices else 11
    here = np.isin(p, [n for n in range(14) if (kit, n) in kits.choices])
    t, p, v = t[here], p[here], v[here]
    start = np.round(t * RATE).astype(np.int64)
    events = Events()
    natural = "muldjord" in kits.names[kit]
    gain_db = np.zeros(len(p))
    for n in np.unique(p):
        mine = np.flatnonzero(p == n)
        base = kits.loudest_db(kit, n) - kits.loudest_db(kit, 0) if natural else USUAL_DB[n]
        gain_db[mine] = base + np.maximum(40 * np.log10(v[mine] / 127) * 0.8, -34)
        rank, sound = kits.choices[kit, n]
        nearest = np.argmin(np.abs(rank[None] - v[mine, None] / 127 + random.normal(0, .03, (len(mine), len(rank)))), 1)
        stop = _chokes(start, p, mine) if n in (3, 4, 5) else 1 << 24
        events.add(sound[nearest], start[mine], 1.0, decibels(gain_db[mine]), STEM_OF[n], stop)
    hits = np.stack([start, p, v, _audible(start, gain_db)], 1).astype(np.float32) if len(p) else np.zeros((0, 4), np.float32)
    return events.arrays(), hits


def _choose(random, kits, kit, piece, velocity):
    rank, sound = kits.choices[kit, piece]
    distance = np.abs(rank[None] - velocity[:, None] / 127 + random.normal(0, 0.1, (len(velocity), len(rank))))
    variant = random.integers(0, 3, len(velocity)) if random.random() < 0.5 else np.full(len(velocity), random.integers(0, 3))
    if len(rank) <= 2 and random.random() < 0.7:
        variant = np.where(velocity < random.uniform(30, 80), SOFT, variant)
    return sound[np.argmin(distance, 1)], variant


def _chokes(start, p, mine):
    """Where a hat's ringing ends: at the next stroke of any hat."""
    hats = np.unique(start[np.isin(p, (3, 4, 5))])
    after = np.searchsorted(hats, start[mine], side="right")
    return np.where(after < len(hats), hats[np.minimum(after, len(hats) - 1)], 1 << 24)


def _audible(start, gain_db):
    """0 for strokes over 29 dB under another within 25 ms, or 48 dB under the loudest."""
    near = np.abs(start[:, None] - start[None]) < 0.025 * RATE
    loudest = np.where(near, gain_db[None], -99).max(1)
    return ((gain_db > loudest - 29) & (gain_db > gain_db.max() - 48)).astype(np.float32)


def _leaks(random, kits, events, start, p, gain_db):
    """Unlabelled neighbours of real kits: snare wires hissing with the snare and buzzing under kick and toms, beater click, drums ringing along."""
    for kind, probability, causes, low, high in ((BUZZ, .6, (0, 11, 12, 13), -46, -18), (CLICK, .5, (0,), -32, -8),
                                                 (CLICK, .3, (1, 2, 11, 12, 13), -34, -12), (RESONANCE, .5, (0, 1, 11, 12), -36, -16),
                                                 (HISS, .45, (1,), -34, -7), (HISS, .1, (0, 2, 11, 12, 13), -40, -18)):
        if random.random() < probability:
            mine = np.flatnonzero(np.isin(p, causes))
            if len(mine):
                sound = kits.count + kind * SYNTHETIC + random.integers(SYNTHETIC)
                late = random.uniform(0, 0.003) * RATE
                db = gain_db[mine] + random.uniform(low, high) + random.normal(0, 1.5, len(mine))
                events.add(sound, start[mine] + int(late), random.uniform(0.9, 1.1, len(mine)), decibels(db), STEM_OF[p[mine]])


def _other_percussion(random, kits, events, start, seconds):
    kit = kits.draw(random, OTHER)
    _, sounds = kits.choices[kit, OTHER]
    for sound in random.choice(sounds, size=random.integers(1, 3)):
        if random.random() < 0.5 and len(start):
            at = start[random.random(len(start)) < random.uniform(0.1, 0.6)]
        else:
            at = np.arange(random.uniform(0, .5), seconds, random.uniform(0.12, 0.8)) * RATE
        at = at + random.normal(0, 0.006 * RATE, len(at))
        events.add(sound, at, 2 ** random.normal(0, .1), decibels(random.uniform(-28, -4) + random.normal(0, 2, len(at))), 3)


def _music(random, kits, events, start, seconds):
    """Bass, chords and a line of single notes, part of them struck together with drums; recorded notes or invented tones."""
    kit = int(kits.with_piece[MUSIC][0])
    root, sounds = kits.choices[kit, MUSIC]
    if random.random() < 0.5:
        root, sounds = TONE_ROOT + np.arange(SYNTHETIC), kits.count + TONE * SYNTHETIC + np.arange(SYNTHETIC)
    level = random.uniform(-26, 3)
    step = random.uniform(0.1, 0.6)
    key = random.integers(0, 12)
    scale = np.array([0, 2, 4, 5, 7, 9, 11] if random.random() < .5 else [0, 2, 3, 5, 7, 8, 10])
    for low, high, voices, probability in ((26, 45, 1, .8), (50, 70, 3, .7), (55, 80, 1, .5)):
        if random.random() > probability:
            continue
        at = np.arange(-1, seconds, step * random.choice([1, 2, 4])) * RATE
        at = at[random.random(len(at)) < random.uniform(.4, 1)]
        if len(start) and random.random() < 0.6:
            at = np.concatenate([at[::2], start[random.random(len(start)) < random.uniform(.05, .4)]])
        at = np.sort(at) + random.normal(0, 0.008 * RATE, len(at))
        if not len(at):
            continue
        usable = np.flatnonzero((root >= low - 4) & (root <= high + 4))
        pick = random.choice(usable)
        # Keep each note within a fifth of a recorded one of the same instrument family where there is one.
        for _ in range(voices):
            degree = scale[random.integers(0, 7, len(at))] + key
            wanted = root[pick] + ((degree - root[pick] + 6) % 12) - 6
            length = random.uniform(0.08, 1.5) * RATE
            events.add(sounds[pick], at, 2 ** ((wanted - root[pick]) / 12), decibels(level + USUAL_DB[MUSIC] + random.normal(0, 2, len(at))), 4, at + length)
