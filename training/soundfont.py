"""Reads single strokes out of a SoundFont 2 file (SoundFont Technical Specification 2.04, E-mu Systems, 1998).

Only what a drum preset needs: zones by key and velocity, sample data, root key, tuning, loops. Envelopes and filters are left out.
"""
import struct

import numpy as np

KEY_RANGE, VELOCITY_RANGE, INSTRUMENT, SAMPLE_ID = 43, 44, 41, 53
COARSE, FINE, SCALE, ROOT, LOOP_MODE = 51, 52, 56, 58, 54


def _chunks(data, at, end):
    while at + 8 <= end:
        size = struct.unpack("<I", data[at + 4:at + 8])[0]
        yield data[at:at + 4], at + 8, size
        at += 8 + size + (size & 1)


class SoundFont:
    """One sound font file held in memory."""

    def __init__(self, path):
        with open(path, "rb") as file:
            data = file.read()
        if data[:4] != b"RIFF" or data[8:12] != b"sfbk":
            raise ValueError(f"{path} is not a SoundFont 2 file")
        parts = {}
        for kind, at, size in _chunks(data, 12, len(data)):
            if kind == b"LIST":
                for name, start, length in _chunks(data, at + 4, at + size):
                    parts[name] = (start, length)
        start, length = parts[b"smpl"]
        self.sound = np.frombuffer(data, "<i2", length // 2, start)

        def table(name, layout):
            start, length = parts[name]
            return list(struct.iter_unpack(layout, data[start:start + length]))

        self._preset_bags, self._preset_gens = table(b"pbag", "<HH"), table(b"pgen", "<HH")
        self._bags, self._gens = table(b"ibag", "<HH"), table(b"igen", "<HH")
        self._instruments = table(b"inst", "<20sH")
        self._samples = table(b"shdr", "<20sIIIIIBbHH")
        self._presets = table(b"phdr", "<20sHHHIII")

    def presets(self):
        """(bank, program, name) of every preset."""
        return [(p[2], p[1], p[0].split(b"\0")[0].decode("latin1")) for p in self._presets[:-1]]

    def zones(self, bank, program, key, velocity):
        """The sample zones that sound for one key and velocity: list of generator dictionaries with SAMPLE_ID set."""
        for i, preset in enumerate(self._presets[:-1]):
            if preset[2] == bank and preset[1] == program:
                found = []
                for zone in self._matching(self._preset_bags, self._preset_gens, preset[3], self._presets[i + 1][3], INSTRUMENT, key, velocity):
                    k = zone[INSTRUMENT]
                    found += self._matching(self._bags, self._gens, self._instruments[k][1], self._instruments[k + 1][1], SAMPLE_ID, key, velocity)
                return found
        raise ValueError(f"no preset {bank}:{program}")

    @staticmethod
    def _matching(bags, gens, first, last, needed, key, velocity):
        common, result = {}, []
        for b in range(first, last):
            zone = dict(common)
            zone.update(dict(gens[bags[b][0]:bags[b + 1][0]]))
            if needed not in zone:
                if b == first:
                    common = zone
                continue
            inside = True
            for kind, value in ((KEY_RANGE, key), (VELOCITY_RANGE, velocity)):
                if kind in zone:
                    inside &= (zone[kind] & 0xFF) <= value <= (zone[kind] >> 8)
            if inside:
                result.append(zone)
        return result

    def stroke(self, zone, key, seconds, rate=44100):
        """One zone as float32 at `rate` samples a second, at the pitch of `key`, at most `seconds` long."""
        _, start, end, loop_from, loop_to, sample_rate, root, correction, _, _ = self._samples[zone[SAMPLE_ID]]

        def signed(kind, default):
            value = zone.get(kind, default)
            return value - 65536 if value >= 32768 else value

        root = zone[ROOT] if zone.get(ROOT, 65535) <= 127 else root
        cents = (key - root) * signed(SCALE, 100) + 100 * signed(COARSE, 0) + signed(FINE, 0) + correction
        step = sample_rate / rate * 2 ** (cents / 1200)
        data = self.sound[start:end].astype(np.float32) / 32768
        needed = int(seconds * rate * step) + 2
        if zone.get(LOOP_MODE, 0) & 1 and loop_to - loop_from > 32 and len(data) < needed:
            loop = data[loop_from - start:loop_to - start]
            data = np.concatenate([data[:loop_to - start]] + [loop] * (1 + needed // len(loop)))
        positions = np.arange(0, min(len(data) - 1, needed - 1), step)
        if abs(step - 1) < 1e-4:
            return data[:len(positions)].copy()
        return np.interp(positions, np.arange(len(data)), data).astype(np.float32)
