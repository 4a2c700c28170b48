"""Packs annotated real recordings for evaluation only: `python3 build_real.py MDB_FOLDER OUT.npz`.

Nothing of this may enter the repository or train anything that is shipped (CC BY-NC-SA). Sound as 16-bit mono at 44.1 kHz.
"""
import sys
from pathlib import Path

import numpy as np

from kit_sources import decode
from pieces import INDEX, MDB_LABELS
from sample_pack import write_sounds


def main(folder, out):
    sounds, names, seconds, piece, first, skipped = [], [], [], [], [0], {}
    for path in sorted(Path(folder).glob("*.flac")):
        sounds.append(decode(path))
        names.append(path.stem)
        for line in open(path.with_suffix("").with_suffix(".hits.txt")):
            when, label = line.split()[:2]
            if label in MDB_LABELS:
                seconds.append(float(when))
                piece.append(INDEX[MDB_LABELS[label]])
            else:
                skipped[label] = skipped.get(label, 0) + 1
        first.append(len(seconds))
    write_sounds(out, sounds, bits=16, name=np.array(names), seconds=np.array(seconds), piece=np.array(piece, np.int8), first=np.array(first))
    print(f"{out}: {len(names)} recordings, {sum(map(len, sounds)) / 44100:.0f} s, {len(seconds)} hits, skipped {skipped}")


if __name__ == "__main__":
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    main(*sys.argv[1:])
