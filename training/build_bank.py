"""Builds the banks of single strokes: `python3 build_bank.py SOURCES MULDJORD OUT`.

SOURCES: what fetch.sh unpacked (training/work/sources). MULDJORD: the folder of the muldjord kit (studio, overhead, room).
Writes OUT/bank-train.npz and OUT/bank-eval.npz (kits kept for evaluation only) and prints what each holds.
"""
import sys
from pathlib import Path

import numpy as np

import kit_sources
from pieces import INDEX, LENGTH_CAP, MUSIC, OTHER
from sample_pack import write_sounds
from trimming import trim

DRUM_PRESETS_FLUID = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 32, 33, 34, 35, 36, 40, 41, 42, 24, 25]
DRUM_PRESETS_TIM = [0, 8, 16, 24, 25, 32, 40]
VELOCITIES = [10, 30, 50, 70, 90, 110, 125]


def _spectrum(sound):
    spectrum = np.fft.rfft(sound[:8820], 32768)
    return spectrum / np.linalg.norm(np.fft.irfft(spectrum))


class Bank:
    """Collects strokes; the same sound is stored once even where several kits share it."""

    def __init__(self):
        self.sounds, self.peaks, self.entries, self.kits, self.kinds, self.seen, self.refused = [], [], [], [], [], {}, 0

    def add(self, kit, piece, rank, sound, kind):
        number = {"other": OTHER, "music": MUSIC}.get(piece, INDEX.get(piece))
        tag = (number, hash(sound.tobytes()))
        if tag not in self.seen:
            peak = float(np.max(np.abs(sound))) if len(sound) else 0
            cut = trim(sound, LENGTH_CAP[number])
            self.seen[tag] = None if cut is None else len(self.sounds)
            if cut is None:
                self.refused += 1
            else:
                self.sounds.append(cut)
                self.peaks.append(20 * np.log10(peak))
        if self.seen[tag] is None:
            return
        if kit not in self.kits:
            self.kits.append(kit)
            self.kinds.append(kind)
        self.entries.append((self.kits.index(kit), number, rank, self.seen[tag]))

    def drop_sounds_of(self, other):
        """Drops every stroke that is the same recording as one of `other`: correlation over 0.95 at the best shift.

        Needed: the Black Pearl kits and Red Zeppelin (one author) share their hats and splash.
        """
        theirs = {}
        for number, index in {(e[1], e[3]) for e in other.entries}:
            theirs.setdefault(number, []).append(_spectrum(other.sounds[index]))
        same = set()
        for number, index in {(e[1], e[3]) for e in self.entries}:
            mine = np.conj(_spectrum(self.sounds[index]))
            if any(np.abs(np.fft.irfft(t * mine)).max() > 0.95 for t in theirs.get(number, [])):
                same.add(index)
        kept = [i for i in range(len(self.sounds)) if i not in same]
        place = {old: new for new, old in enumerate(kept)}
        self.entries = [(k, n, r, place[i]) for k, n, r, i in self.entries if i in place]
        self.sounds, self.peaks = [self.sounds[i] for i in kept], [self.peaks[i] for i in kept]
        print(f"{len(same)} training sounds dropped: the same recordings as evaluation sounds")

    def write(self, path):
        entries = np.array(self.entries, np.float64)
        write_sounds(path, self.sounds, peak_db=np.array(self.peaks, np.float32), entry_kit=entries[:, 0].astype(np.int32),
                     entry_piece=entries[:, 1].astype(np.int32), entry_rank=entries[:, 2].astype(np.float32),
                     entry_sound=entries[:, 3].astype(np.int32), kit_name=np.array(self.kits), kit_kind=np.array(self.kinds))
        seconds = sum(map(len, self.sounds)) / 44100
        print(f"{path}: {len(self.kits)} kits, {len(self.sounds)} sounds, {seconds:.0f} s, {self.refused} refused, {Path(path).stat().st_size / 1e6:.1f} MB")
        for k, kit in enumerate(self.kits):
            mine = entries[entries[:, 0] == k]
            print(f"  {kit} ({self.kinds[k]}):", " ".join(f"{n}x{int((mine[:, 1] == n).sum())}" for n in range(16) if (mine[:, 1] == n).any()))


def main(sources, muldjord, out):
    share = Path(sources) / "usr/share"
    fonts, hydrogen = share / "sounds/sf2", share / "hydrogen/data/drumkits"
    Path(out).mkdir(parents=True, exist_ok=True)
    evaluation = Bank()
    for stroke in kit_sources.hydrogen(hydrogen, lambda n: n == "ForzeeStereo"):
        evaluation.add(*stroke)
    avl = dict(bank=0, programs=[0], others=[39, 54, 56], velocities=VELOCITIES)
    for stroke in kit_sources.sound_font(fonts / "Red_Zeppelin_4_LV2.sf2", "Red_Zeppelin", notes=kit_sources.AVL_NOTES, **avl):
        evaluation.add(*stroke)
    for stroke in kit_sources.muldjord(muldjord, {"room"}):
        evaluation.add(*stroke)
    evaluation.write(Path(out) / "bank-eval.npz")

    training = Bank()
    left_out = {"ForzeeStereo", "circAfrique v4"}
    for stroke in kit_sources.hydrogen(hydrogen, lambda n: n not in left_out):
        training.add(*stroke)
    for stroke in kit_sources.muldjord(muldjord, {"studio", "overhead"}):
        training.add(*stroke)
    for stroke in kit_sources.sound_font(fonts / "Black_Pearl_4_LV2.sf2", "Black_Pearl_avl", notes=kit_sources.AVL_NOTES, **avl):
        training.add(*stroke)
    general = dict(bank=128, notes=kit_sources.GENERAL_MIDI_NOTES, others=kit_sources.GENERAL_MIDI_OTHER, velocities=VELOCITIES)
    for stroke in kit_sources.sound_font(fonts / "FluidR3_GM.sf2", "FluidR3", programs=DRUM_PRESETS_FLUID, **general):
        training.add(*stroke)
    for stroke in kit_sources.sound_font(fonts / "TimGM6mb.sf2", "TimGM6mb", programs=DRUM_PRESETS_TIM, **general):
        training.add(*stroke)
    for stroke in kit_sources.supersonic(Path(sources) / "package/samples"):
        training.add(*stroke)
    for stroke in kit_sources.music(fonts / "FluidR3_GM.sf2"):
        training.add(*stroke)
    training.drop_sounds_of(evaluation)
    training.write(Path(out) / "bank-train.npz")


if __name__ == "__main__":
    if len(sys.argv) != 4:
        sys.exit(__doc__)
    main(*sys.argv[1:])
