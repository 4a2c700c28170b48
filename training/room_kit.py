"""A kit of unpack_kit.py as a far microphone in an invented room hears it: `python3 room_kit.py KIT OUT SEED`.

Each piece stands somewhere else in the same room: its strokes keep their onset (the direct sound), then come early reflections and a
tail of noise that dies away by 60 dB in 0.25 to 0.9 s, faster the higher. Levels and ranks stay as they are.
"""
import csv
import sys
import wave
from pathlib import Path

import numpy as np
from scipy.signal import butter, fftconvolve, sosfilt

RATE = 44100
BANDS = (200, 800, 3000, 8000)


def room(random):
    """Seconds of reverberation of five ranges, low to high, and decibels of the tail's energy over the direct sound's."""
    low = random.uniform(0.3, 0.9)
    return low * np.linspace(1, random.uniform(0.35, 0.8), len(BANDS) + 1), random.uniform(-8, 4)


def response(random, seconds, tail_db):
    length = int(1.1 * max(seconds) * RATE)
    t = np.arange(length) / RATE
    edges = (None,) + BANDS + (None,)
    tail = np.zeros(length)
    for low, high, t60 in zip(edges, edges[1:], seconds):
        noise = random.standard_normal(length)
        if low:
            noise = sosfilt(butter(2, low, "high", fs=RATE, output="sos"), noise)
        if high:
            noise = sosfilt(butter(2, high, "low", fs=RATE, output="sos"), noise)
        tail += noise * np.exp(-6.9 * t / t60)
    begin = random.uniform(0.003, 0.012)
    tail *= np.clip((t - begin) / 0.02, 0, 1)
    tail *= np.sqrt(10 ** (tail_db / 10) / np.sum(tail ** 2))
    early = np.zeros(length)
    for _ in range(random.integers(4, 9)):
        at = random.uniform(0.0015, 0.03)
        early[int(at * RATE)] += random.choice((-1, 1)) * random.uniform(0.15, 0.6) * np.exp(-at / 0.03)
    direct = np.zeros(length)
    direct[0] = 1
    return direct + early + tail


def read(path):
    with wave.open(str(path)) as wav:
        return np.frombuffer(wav.readframes(wav.getnframes()), "<i2") / 32768


def write(path, samples):
    with wave.open(str(path), "wb") as wav:
        wav.setnchannels(1)
        wav.setsampwidth(2)
        wav.setframerate(RATE)
        wav.writeframes(np.round(samples * 32767).astype("<i2").tobytes())


def main(kit, out, seed):
    random = np.random.default_rng(seed)
    seconds, tail_db = room(random)
    kit, out = Path(kit), Path(out)
    (out / "strokes").mkdir(parents=True, exist_ok=True)
    (out / "strokes.csv").write_text((kit / "strokes.csv").read_text())
    responses = {}
    for row in csv.DictReader(open(kit / "strokes.csv")):
        if row["piece"] not in responses:
            responses[row["piece"]] = response(random, seconds, tail_db + random.uniform(-2, 2))
        dry = read(kit / row["file"])
        wet = fftconvolve(dry, responses[row["piece"]])
        # Full range again, so that the level of strokes.csv holds for the wet stroke.
        write(out / row["file"], wet * (np.abs(dry).max() / np.abs(wet).max()))


if __name__ == "__main__":
    if len(sys.argv) != 4:
        sys.exit(__doc__)
    main(sys.argv[1], sys.argv[2], int(sys.argv[3]))
