"""What the comparer adds to the listener: `python3 evaluate_comparer.py COMPARER.pt LIGHT.pt WORK [--real REAL.npz]`.

Rendered: validation takes (their second half) on kits kept for evaluation, 20 s each, plain and through every effect; real recordings
whole. A stroke is a peak of the listener's curve; the comparer only weighs it anew (`rescored`), at 0.5.
"""
import argparse

import numpy as np
import torch

import patterns
import planning
from effects import mix
from evaluate import RATE, concatenate, listen_together, load
from features import HOP, Features
from moments import Views
from pieces import FAMILIES, FAMILY_OF, INDEX, PIECES
from rendering import Bank, Renderer
from sample_pack import read_sounds
from scoring import MEMBERS, Tally, decode, match, merge

SECONDS = 20.0
DRUMS = [i for i, f in enumerate(FAMILY_OF) if f in (0, 1, 4)]


@torch.no_grad()
def heard(listener, comparer, sound, device, floor_views, floor_features):
    """Strokes [n, 7] of one recording: seconds, family, piece, velocity, certainty, and the comparer's certainty, piece, velocity, seconds of it."""
    pictures = floor_features(sound)
    onset, velocity, offset, hidden = listen_together(listener, pictures)
    velocity = velocity.clamp(0, 1)
    views, t, there = floor_views(sound, pictures, onset, velocity, offset, hidden)
    logit, loud, place = comparer(views)
    t, p = t[0].cpu().numpy(), torch.sigmoid(logit[0]).cpu().numpy()
    loud, place = loud[0].cpu().numpy(), place[0].cpu().numpy()
    found = decode(*(c[0].cpu().numpy() for c in (onset, velocity, offset)), np.full(5, 0.06))
    column = found[:, 0] / HOP * RATE
    near = np.clip(np.searchsorted(t, column), 1, max(len(t) - 1, 1))
    near = np.where(np.abs(column - t[np.minimum(near - 1, len(t) - 1)]) <= np.abs(t[np.minimum(near, len(t) - 1)] - column), near - 1, np.minimum(near, len(t) - 1))
    near = np.minimum(near, len(t) - 1)
    family = found[:, 1].astype(int)
    known = np.abs(t[near] - column) <= 3
    piece = np.array([MEMBERS[f][int(np.argmax(p[i, MEMBERS[f]]))] - 5 for f, i in zip(family, near)], int) if len(found) else np.zeros(0, int)
    sure = np.where(known, p[near, family], found[:, 4])
    return np.column_stack([found, sure, piece, loud[near, piece + 5], (t[near] + place[near, family]) * HOP / RATE]), known.mean() if len(found) else 1


def rendered(work, device, bank, count):
    """(name, sound [1, n], hits) of clips of 20 s."""
    random = np.random.default_rng(97)
    generator = torch.Generator(device=device).manual_seed(97)
    takes = patterns.Takes(f"{work}/takes.npz", True)
    kept = Bank(f"{work}/bank-eval.npz", device, variants=1)
    kits = planning.KitTable(kept.tables)
    others, renderer = takes.chosen[1::2], Renderer(kept)
    for kit, name in enumerate(kits.names):
        for plain in (True, False):
            plans = []
            while len(plans) < count:
                take = others[len(plans) % len(others)]
                t, p, v = takes.stretch(take, random.random() * max(takes.length[take] - SECONDS, 0.1), SECONDS)
                inside = (t > -patterns.RINGING) & (t < SECONDS - 0.02)
                plans.append(planning.plan_plain(random, kits, kit, t[inside], p[inside], v[inside]))
            for a in range(0, count, 8):
                events, clip_of, _, _ = concatenate(plans[a:a + 8])
                x = mix(renderer.render(events, clip_of, len(plans[a:a + 8]), int(SECONDS * RATE)), generator, plain)
                for i, plan in enumerate(plans[a:a + 8]):
                    yield name + ("" if plain else " (altered)"), x[i:i + 1], plan[1][plan[1][:, 0] >= 0]


def hats_at_drums(hits, found):
    """(right, true, heard) of hats within 30 ms of a drum."""
    drums = np.sort(hits[np.isin(hits[:, 1], DRUMS), 0] / RATE)
    def near(x):
        if not len(drums):
            return np.zeros(len(x), bool)
        i = np.clip(np.searchsorted(drums, x), 1, max(len(drums) - 1, 1))
        return np.minimum(np.abs(x - drums[np.minimum(i - 1, len(drums) - 1)]), np.abs(x - drums[np.minimum(i, len(drums) - 1)])) < 0.03
    hats = np.array(FAMILY_OF)[hits[:, 1].astype(int)] == 2
    truth, mine = merge(hits[hats, 0] / RATE), np.sort(found[found[:, 1] == 2, 0])
    truth, mine = truth[near(truth)], mine[near(mine)]
    return np.array([len(match(truth, mine, 0.025)), len(truth), len(mine)])


def ranks(x, y):
    a, b = (np.argsort(np.argsort(z + np.random.default_rng(0).random(len(z)) * 1e-6)) for z in (x, y))
    return np.corrcoef(a, b)[0, 1]


class Table:
    """Counts of one set, the listener alone and with the comparer."""

    def __init__(self, thresholds):
        self.thresholds = np.asarray(thresholds)
        self.alone, self.with_it = Tally(0.025), Tally(0.025)
        self.hats = np.zeros((2, 3))
        self.loud = {}
        self.late = {f: [] for f in range(5)}
        self.known, self.bins = [], np.zeros((10, 2))
        self.named = np.zeros((2, 2))

    def add(self, strokes, hits):
        family = np.array(FAMILY_OF)[hits[:, 1].astype(int)]
        seconds = hits[:, 0] / RATE
        alone = strokes[strokes[:, 4] >= self.thresholds[strokes[:, 1].astype(int)]]
        new = strokes[strokes[:, 5] >= 0.5]
        self.alone.add(seconds, family, alone)
        self.with_it.add(seconds, family, new)
        self.hats += [hats_at_drums(hits, alone), hats_at_drums(hits, new)]
        for f in range(5):
            mine, theirs = new[new[:, 1] == f], hits[family == f]
            mine, theirs = mine[np.argsort(mine[:, 0])], theirs[np.argsort(theirs[:, 0])]
            pairs = match(theirs[:, 0] / RATE, mine[:, 0], 0.025)
            rows = np.array([(theirs[i, 1], theirs[i, 2], mine[j, 3], mine[j, 7], mine[j, 0] - theirs[i, 0] / RATE, mine[j, 8] - theirs[i, 0] / RATE, mine[j, 2], mine[j, 6]) for i, j in pairs]).reshape(-1, 8)
            self.late[f].append(rows[:, 4:6])
            self.named += [[(rows[:, 0] == rows[:, 6]).sum(), len(rows)], [(rows[:, 0] == rows[:, 7]).sum(), len(rows)]]
            for piece in np.unique(rows[:, 0]):
                r = rows[rows[:, 0] == piece]
                if len(r) >= 10:
                    self.loud.setdefault(PIECES[int(piece)], []).append((ranks(r[:, 1], r[:, 2]), ranks(r[:, 1], r[:, 3])))
            good = np.zeros(len(mine))
            good[[j for _, j in pairs]] = 1
            for c, g in zip(mine[:, 5], good):
                self.bins[min(int(c * 10), 9)] += g, 1

    def lines(self):
        def f(c):
            return 2 * c[0] / max(c[1] + c[2], 1)
        yield "  alone " + self.alone.row()
        yield "  with  " + self.with_it.row()
        yield f"  hats at drums: alone {f(self.hats[0]):.3f}, with {f(self.hats[1]):.3f} (n {int(self.hats[0][1])}); named right {self.named[0, 0] / max(self.named[0, 1], 1):.3f} -> {self.named[1, 0] / max(self.named[1, 1], 1):.3f}"
        yield "  velocity rank: " + ", ".join(f"{piece} {np.mean([a for a, _ in v]):.3f} -> {np.mean([b for _, b in v]):.3f}" for piece, v in self.loud.items())
        for family, rows in self.late.items():
            d = 1000 * np.concatenate(rows)
            if len(d) > 20:
                spread = np.abs(d - np.median(d, 0))
                yield f"  {FAMILIES[family]}: scatter {np.median(spread, 0).round(2).tolist()}, 95 % within {np.percentile(spread, 95, axis=0).round(2).tolist()}"
        yield "  right by certainty: " + " ".join(f"{i / 10:.1f}:{g / max(n, 1):.2f}({int(n)})" for i, (g, n) in enumerate(self.bins) if n)


def report(listener, comparer, work, device, bank, real, say, count=32, thresholds=(0.5, 0.56, 0.5, 0.58, 0.52)):
    views, features = Views().to(device), Features().to(device)
    tables = {}
    for name, sound, hits in rendered(work, device, bank, count):
        strokes, known = heard(listener, comparer, sound, device, views, features)
        tables.setdefault(name, Table(thresholds)).add(strokes, hits)
    if real:
        sound, start, columns = read_sounds(real)
        for i, name in enumerate(columns["name"]):
            x = torch.from_numpy(sound[start[i]:start[i + 1]]).to(device)[None]
            x = x * (0.1 / x.square().mean().sqrt())
            a, b = columns["first"][i], columns["first"][i + 1]
            seconds = columns["seconds"][a:b]
            hits = np.column_stack([seconds * RATE, columns["piece"][a:b], np.full(b - a, 64.0), np.ones(b - a)])
            strokes, known = heard(listener, comparer, x, device, views, features)
            tables.setdefault("real (25 ms)", Table(thresholds)).add(strokes, hits)
            wide = tables.setdefault("real (50 ms)", Table(thresholds))
            wide.alone.window = wide.with_it.window = 0.05
            wide.add(strokes, hits)
    for name, table in tables.items():
        say(name)
        for line in table.lines():
            say(line)


if __name__ == "__main__":
    from comparer import Comparer
    parser = argparse.ArgumentParser(description=__doc__)
    for name in ("comparer", "listener", "work"):
        parser.add_argument(name)
    parser.add_argument("--real")
    parser.add_argument("--eval-clips", type=int, default=32)
    a = parser.parse_args()
    device = "cuda" if torch.cuda.is_available() else "cpu"
    net = Comparer().to(device).eval()
    net.load_state_dict(torch.load(a.comparer, map_location=device))
    report(load(a.listener, device)[0], net, a.work, device, Bank(f"{a.work}/bank-train.npz", device), a.real, print, a.eval_clips)
