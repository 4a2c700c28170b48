"""Writes one kit of a bank as a folder that bench/Hindbeat.Accuracy reads: `python3 unpack_kit.py BANK KIT OUT`.

OUT/strokes/*.wav, 16-bit mono at 44,100 Hz, each starting at its onset, and OUT/strokes.csv: file, piece, layer (soft to loud),
rank (the velocity of 0..1 that calls for it), level_db (at which the full-range file is played for a velocity of 127).
"""
import csv
import sys
import wave
from pathlib import Path

import numpy as np

from pieces import PIECES
from planning import KitTable, USUAL_DB
from sample_pack import read_sounds


def main(bank, name, out):
    sound, start, tables = read_sounds(bank)
    kits = KitTable(tables)
    if name not in kits.names:
        sys.exit(f"{bank} holds no kit {name}; it has {', '.join(kits.names)}")
    kit = kits.names.index(name)
    natural = "muldjord" in name
    out = Path(out)
    (out / "strokes").mkdir(parents=True, exist_ok=True)
    with open(out / "strokes.csv", "w", newline="") as table:
        rows = csv.writer(table, lineterminator="\n")
        rows.writerow(["file", "piece", "layer", "rank", "level_db"])
        for piece, id_ in enumerate(PIECES):
            if (kit, piece) not in kits.choices:
                continue
            level = kits.loudest_db(kit, piece) - kits.loudest_db(kit, 0) if natural else USUAL_DB[piece]
            ranks, sounds = kits.choices[kit, piece]
            for layer, i in enumerate(np.argsort(ranks, kind="stable")):
                file = f"strokes/{id_}-{layer + 1}.wav"
                samples = sound[start[sounds[i]]:start[sounds[i] + 1]]
                with wave.open(str(out / file), "wb") as wav:
                    wav.setnchannels(1)
                    wav.setsampwidth(2)
                    wav.setframerate(44100)
                    wav.writeframes(np.round(samples * 32767).astype("<i2").tobytes())
                rows.writerow([file, id_, layer + 1, f"{ranks[i]:.4f}", f"{level:.2f}"])


if __name__ == "__main__":
    if len(sys.argv) != 4:
        sys.exit(__doc__)
    main(*sys.argv[1:])
