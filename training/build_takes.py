"""Parses the Groove MIDI Dataset's train and validation takes: `python3 build_takes.py GROOVE_FOLDER OUT.npz`.

OUT holds, for all takes one after another, seconds, piece and velocity of every stroke; first stroke, split (0 train, 1 validation),
tempo, length and name of each take. Takes of 4 s and more are kept.
"""
import csv
import sys
from pathlib import Path

import numpy as np

from midi_file import read_notes
from pieces import GROOVE_NOTES, INDEX


def main(folder, out):
    seconds, piece, velocity, first, split, bpm, length, name = [], [], [], [0], [], [], [], []
    unknown = {}
    for row in csv.DictReader(open(Path(folder) / "info.csv")):
        if row["split"] not in ("train", "validation") or float(row["duration"]) < 4:
            continue
        for when, note, loud in read_notes(Path(folder) / row["midi_filename"]):
            if note not in GROOVE_NOTES:
                unknown[note] = unknown.get(note, 0) + 1
                continue
            seconds.append(when)
            piece.append(INDEX[GROOVE_NOTES[note]])
            velocity.append(loud)
        first.append(len(seconds))
        split.append(row["split"] == "validation")
        bpm.append(float(row["bpm"]))
        length.append(float(row["duration"]))
        name.append(row["id"])
    np.savez_compressed(out, seconds=np.array(seconds, np.float32), piece=np.array(piece, np.int8), velocity=np.array(velocity, np.int8),
                        first=np.array(first, np.int32), split=np.array(split, np.int8), bpm=np.array(bpm, np.float32),
                        length=np.array(length, np.float32), name=np.array(name))
    print(f"{len(name)} takes ({sum(split)} validation), {len(seconds)} strokes, {sum(length) / 3600:.1f} h; unknown notes: {unknown}")
    print("strokes a piece:", np.bincount(piece, minlength=14).tolist())


if __name__ == "__main__":
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    main(*sys.argv[1:])
