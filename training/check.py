"""Checks of the training code against slow or independent computations: `python3 check.py`. Prints a line each, fails on the first miss."""
import struct
import tempfile

import numpy as np
import torch

import effects
import moments
import planning
import scoring
from features import FLOOR, RANGES, Features, mel_weights, third_filter
from midi_file import read_notes
from network import targets
from rendering import FADE, _sum_blocks, BLOCK
from sample_pack import read_sounds, write_sounds
from trimming import trim


def need(what, good):
    print(("ok   " if good else "MISS ") + what)
    if not good:
        raise SystemExit(1)


def check_moments():
    """Moments, what is seen there and what was struck, by loops over the definitions in moments.py."""
    random = np.random.default_rng(1)
    frames = 300
    onset = (random.random((1, frames, 19)) ** 3).astype(np.float32)
    curve = onset[0, :, :5]
    strength = np.zeros(frames)
    for t in range(frames):
        for f in range(5):
            left, right = curve[t - 1, f] if t else 0, curve[t + 1, f] if t + 1 < frames else -1
            if curve[t, f] >= moments.LEAST and curve[t, f] >= left and curve[t, f] > right:
                strength[t] = max(strength[t], curve[t, f])
    around = np.pad(strength, 2)
    dumb = [t for t in range(frames) if strength[t] > max(around[t:t + 2].max(), 0) and strength[t] >= around[t + 3:t + 5].max()]
    found, _ = moments.find(torch.from_numpy(onset))
    need(f"{len(dumb)} moments are those of a loop", np.flatnonzero(found[0].numpy() > 0).tolist() == dumb)

    sound = random.normal(0, 0.1, frames * 441).astype(np.float32)
    tensors = [torch.from_numpy(random.random(shape).astype(np.float32)) for shape in ((1, 2, frames, 84), (1, frames, 19), (1, frames, 19), (1, frames, 128))]
    pictures, velocity, offset, hidden = tensors
    views, t, there = moments.Views()(torch.from_numpy(sound)[None], pictures, torch.from_numpy(onset), velocity, offset, hidden)
    i = len(dumb) // 2
    window = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(256) / 256)
    family = int(np.argmax([curve[dumb[i], f] if curve[dumb[i], f] >= curve[dumb[i] - 1, f] and curve[dumb[i], f] > curve[dumb[i] + 1, f] else 0 for f in range(5)]))
    centre = 441 * dumb[i] + round(441 * float(offset[0, dumb[i], family]))
    worst = 0
    for k in range(24):
        start = centre + 88 * (k - 5) - 128
        power = (np.abs(np.fft.rfft(sound[start:start + 256] * window)) * 2 / window.sum()) ** 2
        m = np.sqrt(power + 6 * FLOOR ** 2 / 256) @ mel_weights(44100, 17000.0, 100.0, 256, 24).numpy()
        worst = max(worst, np.abs(0.25 * np.log(1 + 10000 * m) - views["fine"][0, i, 24 * k:24 * k + 24].numpy()).max())
    need(f"the fine picture differs from its definition by {worst:.1e} at most", worst < 1e-5)
    need("pictures are those of the columns named", np.array_equal(views["pictures"][0, i].reshape(15, 2, 84)[4].numpy(), pictures[0, :, dumb[i] - 1].numpy()))

    hits = np.array([[441 * dumb[3] + 100, 3, 80, 1], [441 * dumb[3] + 50, 0, 60, 1], [441 * dumb[9], 1, 50, 0], [441 * frames + 9000, 1, 50, 1]], np.float32)
    answer, lost = moments.answers(hits, np.zeros(4, int), t, there)
    struck = np.argwhere(answer["onset"][0].numpy() > 0).tolist()
    need("strokes belong to their moments", struck == [[3, 0], [3, 2], [3, 5], [3, 8]] and lost == 0.25
         and float(answer["weight"][0, 9, 1]) == 0 and abs(float(answer["place"][0, 3, 2]) - 100 / 441) < 1e-4)


def check_features():
    """Every value by a direct loop over the definition in features.py, in double precision."""
    sound = np.random.default_rng(0).normal(0, 0.1, 44100).astype(np.float32)
    pictures = Features()(torch.from_numpy(sound)[None])[0].numpy()
    h = third_filter().numpy()
    padded = np.pad(sound.astype(float), 48)
    low = np.array([h @ padded[3 * j:3 * j + 97] for j in range(len(sound) // 3)])
    window = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(1024) / 1024)
    worst = 0
    for i, (x, hop) in enumerate(((sound.astype(float), 441), (low, 147))):
        x = np.pad(x, (512, 2048))
        for t in (0, 1, 50, 99):
            power = (np.abs(np.fft.rfft(x[hop * t:hop * t + 1024] * window)) * 2 / window.sum()) ** 2
            m = np.sqrt(power + 6 * FLOOR ** 2 / 1024 * (1, h @ h)[i]) @ mel_weights(*RANGES[i]).numpy()
            worst = max(worst, np.abs(0.25 * np.log(1 + 10000 * m) - pictures[i, t]).max())
    need(f"features differ from their definition by {worst:.1e} at most", worst < 1e-5)


def check_rendering():
    """One sound played at another speed, damped and choked, against NumPy's interpolation."""
    random = np.random.default_rng(1)
    flat = torch.from_numpy(random.normal(0, 1, 5000).astype(np.float32))
    rate, gain, damp, stop, start, n = 1.13, 0.7, 5.0, 3000, 400, 8000
    out = torch.zeros(n)
    for k0 in (0, BLOCK):
        one = lambda v, kind=torch.float32: torch.tensor([v], dtype=kind)
        _sum_blocks(flat, out, one(0, torch.int64), one(5000, torch.int64), one(k0, torch.int64), one(rate), one(gain), one(float(stop)),
                    one(damp / 44100), one(start, torch.int64), torch.tensor([[0, stop]]))
    k = np.arange(stop)
    expected = np.zeros(n)
    expected[start:start + stop] = np.interp(k * rate, np.arange(5000), flat.numpy()) * gain * np.exp(-damp / 44100 * k) * np.clip((stop - k) / FADE, 0, 1)
    worst = np.abs(out.numpy() - expected).max()
    need(f"rendering differs from direct interpolation by {worst:.1e} at most", worst < 1e-3)


def check_effects():
    """A minimum-phase filter keeps its magnitude and puts its largest value first."""
    generator = torch.Generator().manual_seed(0)
    magnitude = effects.shaped_magnitude(4, 4.0, generator, "cpu")
    filters = effects.minimum_phase(magnitude)
    got = torch.fft.rfft(filters, n=effects.GRID).abs()
    worst = float((20 * torch.log10(got / magnitude)).abs()[:, 20:].max())
    need(f"minimum-phase filters keep their magnitude within {worst:.2f} dB", worst < 1.0)
    need("minimum-phase filters start at once", bool((filters.abs().argmax(1) == 0).all()))


def check_files():
    """A hand-written MIDI file of two tempi; sounds packed and read back; a stroke cut at its onset."""
    track = bytes([0, 0xFF, 0x51, 3, 0x07, 0xA1, 0x20, 0, 0x99, 36, 100, 0x60, 38, 64, 0, 0xFF, 0x51, 3, 0x03, 0xD0, 0x90, 0x60, 42, 1, 0, 0xFF, 0x2F, 0])
    with tempfile.TemporaryDirectory() as folder:
        with open(f"{folder}/a.mid", "wb") as file:
            # Running status does not survive a meta event; the last note repeats its status byte.
            track = track.replace(bytes([0x60, 42, 1]), bytes([0x60, 0x99, 42, 1]))
            file.write(b"MThd" + struct.pack(">IHHH", 6, 0, 1, 96) + b"MTrk" + struct.pack(">I", len(track)) + track)
        notes = read_notes(f"{folder}/a.mid")
        need("MIDI: quarters at 120 and then 240 bpm", np.allclose([n[0] for n in notes], [0, 0.5, 0.75]) and [n[1] for n in notes] == [36, 38, 42])
        sounds = [np.sin(np.arange(9000) * 0.05) * np.exp(-np.arange(9000) / 2000), np.random.default_rng(0).normal(0, 0.2, 4000)]
        write_sounds(f"{folder}/b.npz", sounds)
        back, start, _ = read_sounds(f"{folder}/b.npz")
        worst = max(np.abs(back[start[i]:start[i + 1]] - s / np.abs(s).max()).max() for i, s in enumerate(sounds))
        need(f"packed sounds come back within half a step ({worst:.1e})", worst <= 0.51 / 2047)
    stroke = np.concatenate([np.random.default_rng(0).normal(0, 0.0005, 3000), np.exp(-np.arange(20000) / 3000) * np.cos(np.arange(20000) * 0.3)])
    need("a stroke is cut at its first sample", np.allclose(trim(stroke, 0.1)[:50], stroke[3000:3050], atol=1e-6))


def check_counting():
    """Targets made of known strokes decode to the same strokes; matching against a hand-worked case."""
    hits = np.array([[10000, 0, 100, 1], [30123, 3, 60, 1], [31500, 1, 80, 1], [32000, 1, 30, 1]], np.float32)
    dense = targets(hits, np.zeros(4, int), 1, 100, "cpu")
    found = scoring.decode(dense["onset"][0].numpy(), dense["velocity"][0].numpy(), dense["offset"][0].numpy(), [0.5] * 5)
    need("targets decode to their strokes within 0.01 ms", len(found) == 4 and np.abs(found[:, 0] * 44100 - np.sort(hits[:, 0])).max() < 0.44)
    need("matching: one to one, in order", scoring.match([0.0, 1.0, 1.04], [0.03, 1.02, 2.0], 0.05) == [(0, 0), (1, 1)])


if __name__ == "__main__":
    for check in (check_features, check_moments, check_rendering, check_effects, check_files, check_counting):
        check()
    need("every piece has its stem and usual level", len(planning.STEM_OF) == len(planning.USUAL_DB) == 16)
