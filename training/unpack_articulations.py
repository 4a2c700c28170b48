"""Writes a kit with rimshots and half-open hats as a folder that bench/Hindbeat.Accuracy reads: `python3 unpack_articulations.py work/sources KIT OUT`.

As unpack_kit.py writes one, with a sixth column `mark` (rimshot, half-open or empty). Straight from the sample set, since the banks keep such strokes among the plain ones.
ForzeeStereo is for evaluation: look at it, choose nothing by it.
"""
import csv
import re
import sys
import wave
from pathlib import Path

import numpy as np

from kit_sources import decode
from pieces import INDEX, LENGTH_CAP
from planning import USUAL_DB
from trimming import trim

# Files of each instrument, soft to loud when sorted by their peak: piece, mark, name.
KITS = {
    "The Black Pearl 1.0": [
        ("kick", "", "PearlKick-"), ("snare", "", "PearlSnare-"), ("snare", "rimshot", "PearlSnareRimshot-"), ("cross-stick", "", "PearlSideStick-"),
        ("hat-closed", "", "SabianHatClosed-"), ("hat-open", "half-open", "SabianHatSemiOpen-"), ("hat-open", "", "SabianHatOpen-"), ("hat-pedal", "", "SabianHatPedal-"),
        ("ride", "", "PaisteRide-"), ("ride-bell", "", "PaisteBell-"), ("crash", "", "SabianCrash-"), ("splash", "", "ZildjianSplash-"),
        ("tom-high", "", "PearlTom1-"), ("tom-mid", "", "PearlTom2-"), ("tom-low", "", "PearlTomFloor-")],
    "ColomboAcousticDrumkit": [
        ("kick", "", "bassdrum-"), ("snare", "", r"snare-.*normal[-_]shot"), ("snare", "rimshot", r"snare-.*rimshot"), ("cross-stick", "", "stick-rim"),
        ("hat-closed", "", "hihat-closed-"), ("hat-open", "half-open", "hihat-semi-open-"), ("hat-open", "", "hihat-open-"),
        ("ride", "", "crash20i__ride4"), ("ride-bell", "", "crash20i__ride-cup"), ("crash", "", "crash16i__crash"),
        ("tom-high", "", "tom-hi"), ("tom-mid", "", "tom-mid"), ("tom-low", "", "tom-low")],
    "ForzeeStereo": [
        ("kick", "", "Kick-"), ("snare", "", "Snare-"), ("snare", "rimshot", "SnareRim-"), ("cross-stick", "", "RimClick-"),
        ("hat-closed", "", "HiHatClosed-"), ("hat-open", "half-open", "HiHatSemiopen-"), ("hat-open", "", "HiHatOpen-"), ("hat-pedal", "", "HiHatFoot-"),
        ("ride", "", "RideBow-"), ("ride-bell", "", "RideBell-"), ("crash", "", "Crash18-"), ("splash", "", "Splash10-"), ("china", "", "China-"),
        ("tom-high", "", "TomHigh-"), ("tom-mid", "", "TomMid-"), ("tom-low", "", "TomLow-")],
}


def main(sources, name, out):
    if name not in KITS:
        sys.exit(f"no list for the kit {name}; there are {', '.join(KITS)}")
    folder = next((f for f in Path(sources).rglob(name) if f.is_dir()), None)
    if folder is None:
        sys.exit(f"{sources} holds no folder {name}; run fetch.sh first")
    out = Path(out)
    (out / "strokes").mkdir(parents=True, exist_ok=True)
    with open(out / "strokes.csv", "w", newline="") as table:
        rows = csv.writer(table, lineterminator="\n")
        rows.writerow(["file", "piece", "layer", "rank", "level_db", "mark"])
        for piece, mark, pattern in KITS[name]:
            sounds = [decode(file) for file in sorted(folder.iterdir()) if re.match(pattern, file.name) and file.suffix in (".wav", ".flac")]
            sounds = [s for s in (trim(s, LENGTH_CAP[INDEX[piece]]) for s in sounds) if s is not None]
            if not sounds:
                sys.exit(f"{folder} holds no file for {piece} {mark} ({pattern})")
            sounds.sort(key=lambda s: float(np.abs(s).max()))
            for layer, samples in enumerate(sounds):
                file = f"strokes/{piece}{'-' + mark if mark else ''}-{layer + 1}.wav"
                with wave.open(str(out / file), "wb") as wav:
                    wav.setnchannels(1)
                    wav.setsampwidth(2)
                    wav.setframerate(44100)
                    wav.writeframes(np.round(samples / np.abs(samples).max() * 32767).astype("<i2").tobytes())
                rows.writerow([file, piece, layer + 1, f"{(layer + 0.5) / len(sounds):.4f}", f"{USUAL_DB[INDEX[piece]]:.2f}", mark])


if __name__ == "__main__":
    if len(sys.argv) != 4:
        sys.exit(__doc__)
    main(*sys.argv[1:])
