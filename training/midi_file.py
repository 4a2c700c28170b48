"""Reads the notes of a standard MIDI file: seconds, note number and velocity of every note-on."""
import struct


def _variable(data, at):
    value = 0
    while True:
        byte = data[at]
        at += 1
        value = (value << 7) | (byte & 0x7F)
        if byte < 0x80:
            return value, at


def read_notes(path):
    """All note-ons of the file as sorted (seconds, note, velocity); the file's tempo events are followed.

    Standard MIDI Files 1.0, MIDI Manufacturers Association. Raises ValueError if the file is none.
    """
    with open(path, "rb") as file:
        data = file.read()
    if data[:4] != b"MThd":
        raise ValueError(f"{path} is not a standard MIDI file")
    header, _, tracks, division = struct.unpack(">IHHH", data[4:14])
    if division & 0x8000:
        raise ValueError(f"{path} counts in frames, not in parts of a quarter")
    at = 8 + header
    tempos, notes = [(0, 500000)], []
    for _ in range(tracks):
        kind, size = data[at:at + 4], struct.unpack(">I", data[at + 4:at + 8])[0]
        at += 8
        end = at + size
        if kind == b"MTrk":
            _read_track(data, at, end, tempos, notes)
        at = end
    tempos.sort()
    return _in_seconds(sorted(notes), tempos, division)


def _read_track(data, at, end, tempos, notes):
    tick, status = 0, 0
    while at < end:
        delta, at = _variable(data, at)
        tick += delta
        if data[at] & 0x80:
            status = data[at]
            at += 1
        if status == 0xFF:
            kind = data[at]
            size, at = _variable(data, at + 1)
            if kind == 0x51:
                tempos.append((tick, int.from_bytes(data[at:at + size], "big")))
            at += size
        elif status in (0xF0, 0xF7):
            size, at = _variable(data, at)
            at += size
        elif status & 0xF0 in (0xC0, 0xD0):
            at += 1
        else:
            if status & 0xF0 == 0x90 and data[at + 1] > 0:
                notes.append((tick, data[at], data[at + 1]))
            at += 2


def _in_seconds(notes, tempos, division):
    result, k, tick, seconds = [], 0, 0, 0.0
    for when, note, velocity in notes:
        while k + 1 < len(tempos) and tempos[k + 1][0] <= when:
            seconds += (tempos[k + 1][0] - tick) * tempos[k][1] / division / 1e6
            tick = tempos[k + 1][0]
            k += 1
        result.append((seconds + (when - tick) * tempos[k][1] / division / 1e6, note, velocity))
    return result
