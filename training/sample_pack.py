"""A compact store for many mono 16-bit sounds: fixed linear prediction, then LZMA on the residual's two byte planes.

Sounds are scaled to full range and rounded to `BITS` bits first (noise 77 dB under each sound's peak), which halves the size of
cymbals and is below what most augmentation adds. It is not below what a clean recording holds: whole recordings keep 16 bits
(at 12 the listener heard fewer hats in them than there were, both true and false ones). Reading gives float32 in -1..1.
"""
import lzma

import numpy as np

BITS = 12
FILTERS = [{"id": lzma.FILTER_LZMA2, "preset": 1, "lc": 0, "lp": 0, "pb": 0}]


def write_sounds(path, sounds, bits=BITS, **tables):
    """Stores float sounds at so many bits (16 at most) and any further arrays (one table a keyword) in one npz file."""
    lengths, orders, residuals = [], [], []
    for sound in sounds:
        peak = float(np.max(np.abs(sound)))
        whole = np.round(sound * (2 ** (bits - 1) - 1) / peak).astype(np.int64)
        candidates = [whole]
        for _ in range(3):
            candidates.append(np.diff(candidates[-1], prepend=0))
        order = int(np.argmin([np.abs(c).sum() if np.abs(c).max() < 0x8000 else np.inf for c in candidates]))
        lengths.append(len(sound))
        orders.append(order)
        residuals.append(candidates[order])
    residual = np.concatenate(residuals)
    folded = ((residual << 1) ^ (residual >> 63)).astype(np.uint32)
    if folded.max() > 0xFFFF:
        raise ValueError("a residual does not fit in 16 bits")
    planes = [lzma.compress((folded >> shift & 0xFF).astype(np.uint8).tobytes(), lzma.FORMAT_XZ, filters=FILTERS) for shift in (0, 8)]
    np.savez(path, bits=np.int8(bits), low=np.frombuffer(planes[0], np.uint8), high=np.frombuffer(planes[1], np.uint8),
             length=np.array(lengths, np.int64), order=np.array(orders, np.int8), **tables)


def read_sounds(path):
    """(sound, start, tables): all sounds in one float32 array, where each begins (one more entry than sounds), all tables."""
    file = np.load(path, allow_pickle=False)
    low, high = (np.frombuffer(lzma.decompress(file[name].tobytes()), np.uint8) for name in ("low", "high"))
    folded = low.astype(np.int64) | high.astype(np.int64) << 8
    residual = (folded >> 1) ^ -(folded & 1)
    start = np.concatenate([[0], np.cumsum(file["length"])])
    sound = np.empty(start[-1], np.float32)
    for i, order in enumerate(file["order"]):
        part = residual[start[i]:start[i + 1]]
        for _ in range(order):
            part = np.cumsum(part)
        sound[start[i]:start[i + 1]] = part
    bits = int(file["bits"]) if "bits" in file else BITS
    return sound / np.float32(2 ** (bits - 1) - 1), start, {name: file[name] for name in file.files}
