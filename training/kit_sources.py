"""Which recorded strokes each sample source offers: yields (kit, piece, loudness rank 0..1, sound, kind).

kind: `acoustic`, `overhead` (all microphones open), `electronic`, `other` (never labelled) or `music`.
"""
import re
import subprocess
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import numpy as np

from pieces import GENERAL_MIDI_NOTES, GENERAL_MIDI_OTHER, LENGTH_CAP, MUSIC
from soundfont import SAMPLE_ID, SoundFont

# Instrument names of the hydrogen kits; the first match wins, None = left out (rolls, chokes, noises).
HYDROGEN_NAMES = [
    (r"^snare 2 \(|roll|choke|flink|zap|fx|whistle|click|drum \d|^emptysample", None), (r"cajon|maraca|clap|snap|tambourine|cowbell|clave|agogo|conga|woodblock|bongo", "other"),
    (r"side ?stick|^stick|stick$|^c#3 - stick|rim ?click", "cross-stick"), (r"kick|bass ?drum", "kick"), (r"snare|redo super", "snare"),
    (r"semi-?open|swish|h(i|i-)? ?hat free|hihat semiopen", "hat-open"), (r"(pedal (hh|hat))|(hat|hh).*(pedal|pd$)", "hat-pedal"),
    (r"(open(ed)?|op|side ohh).*(hh|hat)|(hat|hh).*(open|op\b|op$)|ohh", "hat-open"), (r"hat|hh", "hat-closed"),
    (r"floor|tom[ -]low|low tom|tom ?2$", "tom-low"), (r"tom[ -]mid|middle tom", "tom-mid"), (r"(?<!cus)tom", "tom-high"),
    (r"bell|cup", "ride-bell"), (r"ride", "ride"), (r"china", "china"), (r"splash", "splash"), (r"crash|cymbal", "crash"),
]
# This kit's instruments mix strokes of different kinds; its file names say what each is.
BY_FILE_NAME = {"ColomboAcousticDrumkit"}
ELECTRONIC = {"Audiophob", "ElectricEmpireKit", "HardElectro1", "VariBreaks", "rumpf_kit_z01_h2"}
# Sample fonts' own layout of the avldrums package, where it differs from General MIDI.
AVL_NOTES = {36: "kick", 37: "cross-stick", 38: "snare", 40: "snare", 41: "tom-low", 43: "tom-low", 45: "tom-high", 47: "tom-high",
             42: "hat-closed", 44: "hat-pedal", 46: "hat-open", 48: "hat-open", 49: "crash", 57: "crash", 51: "ride", 59: "ride",
             53: "ride-bell", 55: "splash"}
SUPERSONIC = {
    "drum_bass_soft": ("kick", .3), "drum_bass_hard": ("kick", .9), "drum_snare_soft": ("snare", .3), "drum_snare_hard": ("snare", .9),
    "drum_cymbal_closed": ("hat-closed", .6), "drum_cymbal_open": ("hat-open", .6), "drum_cymbal_pedal": ("hat-pedal", .6),
    "drum_cymbal_soft": ("crash", .3), "drum_cymbal_hard": ("crash", .9), "drum_splash_soft": ("splash", .3), "drum_splash_hard": ("splash", .9),
    "drum_tom_hi_soft": ("tom-high", .3), "drum_tom_hi_hard": ("tom-high", .9), "drum_tom_mid_soft": ("tom-mid", .3),
    "drum_tom_mid_hard": ("tom-mid", .9), "drum_tom_lo_soft": ("tom-low", .3), "drum_tom_lo_hard": ("tom-low", .9),
    "drum_cowbell": ("other", .6), "ride_via": ("ride", .6), "ride_tri": ("ride", .6),
}
SUPERSONIC_ELECTRONIC = {"bd_": "kick", "sn_": "snare", "hat_": "hat-closed"}
# Pitched instruments of FluidR3 for light music: program, keys.
MUSIC_NOTES = [(p, k) for p, keys in {
    0: (48, 60, 72), 4: (48, 62), 7: (50, 64), 16: (48, 64), 19: (45, 60), 24: (45, 57, 69), 25: (45, 57, 69), 26: (45, 60), 27: (45, 57, 69),
    29: (40, 52), 30: (40, 52), 32: (31, 40), 33: (28, 33, 40), 34: (28, 35), 35: (33, 40), 36: (33,), 38: (33, 40), 48: (48, 64),
    52: (55, 67), 56: (58, 67), 57: (46, 55), 61: (58,), 65: (58, 67), 66: (50, 60), 73: (72,), 80: (60,), 81: (60,), 89: (55,), 11: (67,), 22: (62,),
}.items() for k in keys]


def decode(path, rate=44100):
    """Any sound file as mono float32 (channels averaged), through ffmpeg."""
    done = subprocess.run(["ffmpeg", "-v", "error", "-i", str(path), "-f", "f32le", "-ac", "1", "-ar", str(rate), "-"], capture_output=True, check=True)
    return np.frombuffer(done.stdout, np.float32)


def name_piece(name):
    for pattern, piece in HYDROGEN_NAMES:
        if re.search(pattern, name.lower()):
            return piece
    return None


def hydrogen(folder, wanted):
    for kit in sorted(Path(folder).iterdir()):
        if not wanted(kit.name):
            continue
        root = ElementTree.parse(kit / "drumkit.xml").getroot()
        for element in root.iter():
            element.tag = element.tag.split("}")[-1]
        kind = "electronic" if kit.name in ELECTRONIC else "acoustic"
        for instrument in root.iter("instrument"):
            piece = name_piece(instrument.findtext("name") or "")
            layers = [(float(l.findtext("max") or 1), l.findtext("filename")) for l in instrument.iter("layer")]
            layers = sorted(layers) or [(1.0, instrument.findtext("filename"))]
            for rank, (_, file) in enumerate(layers):
                if kit.name in BY_FILE_NAME and file and piece:
                    piece = name_piece(file.replace("stick-rim", "stick").replace("i__", " "))
                if piece and file and (kit / file).exists():
                    yield kit.name, piece, (rank + 0.7) / (len(layers) + 0.4), decode(kit / file), "other" if piece == "other" else kind


def sound_font(path, name, bank, programs, notes, others, velocities, kind="acoustic"):
    """Strokes of drum presets; zones that sound together (left and right) are averaged. A set of zones is rendered once for each key's piece."""
    font, seen = SoundFont(path), {}
    for program in programs:
        for key in sorted(set(notes) | set(others)):
            piece = notes.get(key, "other")
            layers = []
            for velocity in velocities:
                zones = font.zones(bank, program, key, velocity)
                tag = tuple(z[SAMPLE_ID] for z in zones)
                if zones and tag not in [t for t, _ in layers]:
                    layers.append((tag, zones))
            for rank, (tag, zones) in enumerate(layers):
                if (piece, tag) not in seen:
                    parts = [font.stroke(z, key, 3.0) for z in zones]
                    length = min(len(p) for p in parts)
                    seen[piece, tag] = sum(p[:length] for p in parts) / len(parts)
                yield f"{name}-{program}", piece, (rank + 0.7) / (len(layers) + 0.4), seen[piece, tag], "other" if piece == "other" else kind


def muldjord(folder, views):
    rows = [line.strip().split(",") for line in open(Path(folder) / "strokes.csv")][1:]
    loudest = {}
    for file, piece, layer, _ in rows:
        stem = re.sub(r"-\d+\.flac$", "", file)
        loudest[stem] = max(loudest.get(stem, 0), int(layer))
    for file, piece, layer, _ in rows:
        view = file.split("/")[0]
        if view in views:
            yield f"muldjord-{view}", piece, (int(layer) - 0.3) / (loudest[re.sub(r'-\d+\.flac$', '', file)] + 0.4), decode(Path(folder) / file), "overhead"


def supersonic(folder):
    for name, (piece, rank) in SUPERSONIC.items():
        yield "scsynth-strokes", piece, rank, decode(Path(folder) / f"{name}.flac"), "other" if piece == "other" else "acoustic"
    for prefix, piece in SUPERSONIC_ELECTRONIC.items():
        for path in sorted(Path(folder).glob(prefix + "*.flac")):
            yield "scsynth-electronic", piece, 0.7, decode(path), "electronic"


def music(path):
    font = SoundFont(path)
    for program, key in MUSIC_NOTES:
        parts = [font.stroke(z, key, LENGTH_CAP[MUSIC]) for z in font.zones(0, program, key, 90)]
        length = min(len(p) for p in parts)
        yield "music", "music", key, sum(p[:length] for p in parts) / len(parts), "music"
