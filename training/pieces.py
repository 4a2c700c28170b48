"""The pieces the listening model hears, their families and how other sources name them.

The ids are those of the engine (KitPiece), without `other`. The model has one channel for each family and then one for each
piece: families decide whether something was struck, pieces decide what it was (two hats at half certainty are still one sure hat).
"""

PIECES = [
    "kick", "snare", "cross-stick", "hat-closed", "hat-open", "hat-pedal", "ride", "ride-bell",
    "crash", "splash", "china", "tom-high", "tom-mid", "tom-low",
]
FAMILIES = ["kick", "snare", "hat", "cymbal", "tom"]
FAMILY_OF = [0, 1, 1, 2, 2, 2, 3, 3, 3, 3, 3, 4, 4, 4]
CHANNELS = FAMILIES + PIECES
INDEX = {name: i for i, name in enumerate(PIECES)}

# Sounds of the bank that are rendered but never labelled.
OTHER = len(PIECES)          # claps, tambourines, cowbells, hand drums
MUSIC = len(PIECES) + 1      # single notes of pitched instruments

# Longest kept length of a sample, seconds.
LENGTH_CAP = [0.8, 0.8, 0.4, 0.5, 1.6, 0.5, 1.8, 1.8, 2.4, 1.2, 1.8, 1.2, 1.2, 1.4, 0.8, 1.8]

# Groove MIDI Dataset, note map of its electronic kit (its documentation; same list as in its paper's appendix).
GROOVE_NOTES = {
    36: "kick", 38: "snare", 40: "snare", 37: "cross-stick", 48: "tom-high", 50: "tom-high", 45: "tom-mid", 47: "tom-mid",
    43: "tom-low", 58: "tom-low", 42: "hat-closed", 22: "hat-closed", 46: "hat-open", 26: "hat-open", 44: "hat-pedal",
    49: "crash", 55: "crash", 57: "crash", 52: "crash", 51: "ride", 59: "ride", 53: "ride-bell",
}

# General MIDI Level 1 percussion keys (MIDI Manufacturers Association), for the sound fonts' drum presets.
GENERAL_MIDI_NOTES = {
    35: "kick", 36: "kick", 38: "snare", 40: "snare", 37: "cross-stick", 42: "hat-closed", 44: "hat-pedal", 46: "hat-open",
    41: "tom-low", 43: "tom-low", 45: "tom-mid", 47: "tom-mid", 48: "tom-high", 50: "tom-high", 49: "crash", 57: "crash",
    51: "ride", 59: "ride", 53: "ride-bell", 52: "china", 55: "splash",
}
GENERAL_MIDI_OTHER = [39, 54, 56, 70, 75]

# MDB Drums labels (its dataset page). TMB (tambourine) is none of our pieces.
MDB_LABELS = {
    "KD": "kick", "SD": "snare", "SDB": "snare", "SDD": "snare", "SDF": "snare", "SDG": "snare", "SDNS": "snare",
    "SST": "cross-stick", "CHH": "hat-closed", "OHH": "hat-open", "PHH": "hat-pedal", "RDC": "ride", "RDB": "ride-bell",
    "CRC": "crash", "SPC": "splash", "CHC": "china", "HIT": "tom-high", "MHT": "tom-mid", "HFT": "tom-low", "LFT": "tom-low",
}
