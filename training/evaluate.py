"""Measures a trained listener on rendered validation takes and, where given, on real recordings.

As a program: `python3 evaluate.py CHECKPOINT WORK [--real REAL.npz]`, WORK holding bank-train.npz, bank-eval.npz and takes.npz.
Thresholds are chosen on the first half of the validation takes with training kits; the tables use the second half, kits kept for
evaluation, and real recordings, none of which chose anything.
"""
import argparse

import numpy as np
import torch

import patterns
import planning
from effects import mix
from features import Features
from network import Listener
from pieces import FAMILY_OF, PIECES
from rendering import Bank, Renderer
from sample_pack import read_sounds
from scoring import Tally, best_thresholds, calibrate, decode, match, reliability, timing

RATE = 44100
WINDOW, MARGIN = 600, 50


@torch.no_grad()
def listen_together(net, pictures, window=WINDOW, margin=MARGIN):
    """Onset, velocity, offset [clips, frames, 19] and the last layer but one [clips, frames, 128] of clips of one length, in windows that overlap by twice the margin."""
    clips, _, frames, _ = pictures.shape
    begins, at = [], 0
    while True:
        begins.append(max(0, min(at, frames - window)))
        if begins[-1] + window >= frames:
            break
        at = begins[-1] + window - 2 * margin
    window = min(window, frames)
    cut = torch.cat([pictures[:, :, b:b + window] for b in begins])
    hidden = net.hidden(cut.contiguous(memory_format=torch.channels_last))
    out = torch.cat([*net.said(hidden), hidden.transpose(1, 2)], 2)
    whole = torch.empty((clips, frames, out.shape[2]), device=out.device)
    for i, b in enumerate(begins):
        skip = 0 if b == 0 else margin
        whole[:, b + skip:b + window] = out[i * clips:(i + 1) * clips, skip:]
    return torch.sigmoid(whole[:, :, :19]), whole[:, :, 19:38], whole[:, :, 38:57], whole[:, :, 57:]


def listen(net, pictures, window=WINDOW, margin=MARGIN):
    """Curves [frames, 19] × 3 of one recording's features [2, frames, 84]."""
    return tuple(curve[0].float().cpu().numpy() for curve in listen_together(net, pictures[None], window, margin)[:3])


def concatenate(plans):
    """One batch of (events, hits): events together, the clip of each, hits together, the clip of each."""
    events = {f: np.concatenate([p[0][f] for p in plans]) for f in planning.FIELDS}
    clip_of = np.repeat(np.arange(len(plans)), [len(p[0]["sound"]) for p in plans])
    hits = np.concatenate([p[1] for p in plans])
    hit_clip = np.repeat(np.arange(len(plans)), [len(p[1]) for p in plans])
    return events, clip_of, hits, hit_clip


def chosen_set(work, device, bank, clips=144, together=12):
    """[(features, hits)] that choose thresholds: the first half of the validation takes as they were played, training kits, every effect."""
    random, generator = np.random.default_rng(99), torch.Generator(device=device).manual_seed(99)
    kits, takes = planning.KitTable(bank.tables), patterns.Takes(f"{work}/takes.npz", True)
    takes.chosen, takes.share = takes.chosen[::2], takes.share[::2] / takes.share[::2].sum()
    renderer, listener_input, result = Renderer(bank), Features().to(device), []
    while len(result) < clips:
        plans = [planning.plan_clip(random, kits, takes, 5.0, as_played=True) for _ in range(together)]
        events, clip_of, _, _ = concatenate(plans)
        result += list(zip(listener_input(mix(renderer.render(events, clip_of, together, 5 * RATE), generator)), [p[1] for p in plans]))
    return result


def rendered_sets(work, device, bank, clips=160, per_kit=84, seconds=8.0):
    """{name: [(features, hits)]}: `choose` from takes as they were played, training kits and every effect; one set a kept kit, plain and through every effect."""
    random = np.random.default_rng(98)
    generator = torch.Generator(device=device).manual_seed(98)
    takes = patterns.Takes(f"{work}/takes.npz", True)
    listener_input = Features().to(device)

    def sound_of(renderer, plans, n, plain):
        result = []
        for a in range(0, len(plans), 16):
            events, clip_of, _, _ = concatenate(plans[a:a + 16])
            x = mix(renderer.render(events, clip_of, len(plans[a:a + 16]), n), generator, plain)
            result += list(listener_input(x))
        return result

    sets = {"choose": chosen_set(work, device, bank, clips)}
    kept = Bank(f"{work}/bank-eval.npz", device, variants=1)
    kits = planning.KitTable(kept.tables)
    others = takes.chosen[1::2]
    for kit, name in enumerate(kits.names):
        plans = []
        while len(plans) < per_kit:
            take = others[len(plans) % len(others)]
            start = random.random() * max(takes.length[take] - seconds, 0.1)
            t, p, v = takes.stretch(take, start, seconds)
            inside = (t > -patterns.RINGING) & (t < seconds - 0.02)
            plans.append(planning.plan_plain(random, kits, kit, t[inside], p[inside], v[inside]))
        hits = [p[1] for p in plans]
        sets[name] = list(zip(sound_of(Renderer(kept), plans, int(seconds * RATE), True), hits))
        sets[name + " (altered)"] = list(zip(sound_of(Renderer(kept), plans, int(seconds * RATE), False), hits))
    return sets


def real_set(path, device):
    """[(name, features, seconds, family, piece)] of the real recordings, each scaled to -20 dBFS."""
    sound, start, tables = read_sounds(path)
    listener_input = Features().to(device)
    result = []
    for i, name in enumerate(tables["name"]):
        x = torch.from_numpy(sound[start[i]:start[i + 1]]).to(device)[None]
        x = x * (0.1 / x.square().mean().sqrt())
        a, b = tables["first"][i], tables["first"][i + 1]
        piece = tables["piece"][a:b].astype(int)
        result.append((str(name), listener_input(x)[0], tables["seconds"][a:b], np.array(FAMILY_OF)[piece], piece))
    return result


def report(net, sets, real, say):
    """Prints every table; returns the thresholds and the calibration."""
    net.eval()
    def curves_of(items):
        return [(listen(net, pictures), hits[hits[:, 0] >= 0]) for pictures, hits in items]
    def plain(items):
        return [(c, h[:, 0] / RATE, np.array(FAMILY_OF)[h[:, 1].astype(int)]) for c, h in items]
    heard = curves_of(sets["choose"])
    chosen = plain([(c, h[h[:, 3] > 0]) for c, h in heard])
    thresholds, calibration = best_thresholds(chosen), calibrate(plain(heard))
    say("calibration (slope, shift) " + " ".join(f"{a:.2f},{b:+.2f}" for a, b in calibration))
    say("thresholds " + " ".join(f"{t:.2f}" for t in thresholds))
    say("choose (chose the thresholds) " + _row(chosen, thresholds, 0.025))
    for name, items in sets.items():
        if name == "choose":
            continue
        curves = curves_of(items)
        say(f"{name}: " + _row(plain(curves), thresholds, 0.025))
        if "altered" not in name:
            for line in timing([(c, np.concatenate([h[:, :1] / RATE, h[:, 1:]], 1)) for c, h in curves], thresholds):
                say(line)
    if real:
        for window_frames in (600, 1200):
            items = [(listen(net, x, window_frames), s, f) for _, x, s, f, _ in real]
            for window in (0.05, 0.025):
                say(f"real, windows of {window_frames}: " + _row(items, thresholds, window))
        items = [(listen(net, x), s, f) for _, x, s, f, _ in real]
        for (name, _, _, _, _), item in zip(real, items):
            say(f"  {name} " + _row([item], thresholds, 0.05))
        say("  best thresholds there (looked at, not used): " + " ".join(f"{t:.2f}" for t in best_thresholds(items, 0.05)) + " " + _row(items, best_thresholds(items, 0.05), 0.05))
        for line in reliability(items) + _false_alarms(items, real, thresholds):
            say(line)
    return thresholds, calibration


def _row(items, thresholds, window):
    tally = Tally(window)
    for curves, seconds, family in items:
        tally.add(seconds, family, decode(*curves, thresholds))
    return tally.row()


def _false_alarms(items, real, thresholds):
    """What was really struck where a family was heard wrongly."""
    causes = {}
    for (curves, seconds, family), (_, _, _, _, piece) in zip(items, real):
        found = decode(*curves, thresholds)
        for f in range(5):
            mine = found[found[:, 1] == f]
            mine = mine[np.argsort(mine[:, 0])]
            truth = np.sort(seconds[family == f])
            good = {j for _, j in match(truth, mine[:, 0], 0.05)}
            for j in range(len(mine)):
                if j not in good:
                    there = sorted({PIECES[p] for p in piece[np.abs(seconds - mine[j, 0]) < 0.05]})
                    key = (PIECES[int(mine[j, 2])], "+".join(there) or "nothing")
                    causes[key] = causes.get(key, 0) + 1
    top = sorted(causes.items(), key=lambda c: -c[1])[:16]
    return ["  heard wrongly: " + "; ".join(f"{a} at {b} {n}" for (a, b), n in top)]


def load(path, device):
    saved = torch.load(path, map_location=device, weights_only=True)
    net = Listener(**{k: (tuple(v) if isinstance(v, list) else v) for k, v in saved["shape"].items()}).to(device)
    net.load_state_dict(saved["average"])
    return net.eval(), saved


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("checkpoint")
    parser.add_argument("work")
    parser.add_argument("--real")
    arguments = parser.parse_args()
    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = False
    bank = Bank(f"{arguments.work}/bank-train.npz", device)
    report(load(arguments.checkpoint, device)[0], rendered_sets(arguments.work, device, bank), real_set(arguments.real, device) if arguments.real else None, print)
