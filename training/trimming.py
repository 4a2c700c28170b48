"""Cuts a recorded stroke at its physical onset, so that a rendered take's truth is exact.

Onset: the first crossing of -40 dB under the peak, reached without a break from the stroke's own rise. A sound whose noise before
the stroke lies above that level has no such moment and is refused.
"""
import numpy as np

RATE = 44100
ONSET_DB = -40.0


def trim(sound, longest, rate=RATE):
    """The stroke from its onset, at most `longest` seconds, faded out; None if its onset cannot be told."""
    peak = float(np.max(np.abs(sound))) if len(sound) else 0.0
    if peak < 1e-4:
        return None
    loud = np.abs(sound) / peak
    rise = int(np.argmax(loud > 0.1))
    # Envelope: largest value of the last 1.5 ms, so that zero crossings do not break the walk back.
    width = int(0.0015 * rate)
    floor = 10 ** (ONSET_DB / 20)
    start = rise
    earliest = max(0, rise - int(0.03 * rate))
    above = np.flatnonzero(loud[earliest:rise] >= floor) + earliest
    for place in above[::-1]:
        if start - place > width:
            break
        start = int(place)
    if start == earliest and earliest > 0:
        return None
    sound = sound[start:start + int(longest * rate)]
    # Drop the tail under -60 dB.
    loud = np.abs(sound) / peak
    last = np.flatnonzero(loud > 1e-3)[-1]
    sound = sound[:max(last + 1, int(0.05 * rate))].astype(np.float32).copy()
    fade = max(int(0.1 * len(sound)), 32)
    sound[-fade:] *= np.cos(np.linspace(0, np.pi / 2, fade, dtype=np.float32)) ** 2
    return sound
