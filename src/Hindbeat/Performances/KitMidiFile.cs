using System.Buffers.Binary;
using Hindbeat.Units;
using NAudio.Midi;

namespace Hindbeat.Performances;

/// <summary>
/// Reads a Standard MIDI File (format 0 or 1) of a drum kit: strokes, and the file's own beats.
/// </summary>
/// <remarks>
/// Controller 4 (hat pedal) is not read: kit modules already choose the hat's key by it.
/// Strokes of one piece at one tick (layered keys, doubled tracks) are one stroke, the loudest.
/// </remarks>
public static class KitMidiFile
{
    /// <summary>General MIDI Level 1: percussion is on channel 10.</summary>
    private const int PercussionChannel = 10;

    /// <summary>Larger files are no drum performance; a drummer plays about 100 kB an hour.</summary>
    private const long LargestFile = 64 << 20;

    /// <summary>About a day at 140 bpm. More means a damaged division or delta time, and would fill the memory with beats.</summary>
    private const long MostBeats = 200_000;

    /// <summary>On another channel, this share of the notes must lie on keys of kit pieces for it to be taken for a kit.</summary>
    private const double LeastShareOfKitKeys = 0.95;

    private readonly record struct Note(long Tick, int Channel, int Key, int Velocity);

    /// <exception cref="InputException">Not a MIDI file, cut short, SMPTE times, no notes, or no drums.</exception>
    public static KitMidi Read(string path)
    {
        ArgumentException.ThrowIfNullOrEmpty(path);
        string name = Path.GetFileName(path);
        if (!File.Exists(path))
            throw new InputException($"There is no file '{path}'.");
        if (new FileInfo(path).Length > LargestFile)
            throw new InputException($"'{name}' is too large for a MIDI file; is it a recording?");
        byte[] bytes;
        try
        {
            bytes = File.ReadAllBytes(path);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new InputException($"'{name}' cannot be opened: {error.Message}", error);
        }

        return Read(bytes, name);
    }

    /// <param name="name">What the messages call the file.</param>
    /// <exception cref="InputException">As for <see cref="Read(string)"/>.</exception>
    public static KitMidi Read(byte[] bytes, string name)
    {
        ArgumentNullException.ThrowIfNull(bytes);
        CheckChunks(bytes, name);
        MidiEventCollection events = Parse(bytes, name);
        int division = events.DeltaTicksPerQuarterNote;
        MidiEvent[] all = [.. events.SelectMany(track => track)];

        List<Doubt> doubts = [];
        Note[] notes = ChooseChannel(all, name, doubts);
        (int Tick, int Microseconds)[] tempos = [.. all.OfType<TempoEvent>().Select(e => ((int)e.AbsoluteTime, e.MicrosecondsPerQuarterNote))];
        if (tempos.Any(tempo => tempo.Microseconds <= 0))
            throw new InputException($"'{name}' states a tempo of zero microseconds a quarter note; the file is damaged.");
        KitMidiTempoMap map = new(division, tempos.Select(tempo => ((long)tempo.Tick, tempo.Microseconds)));

        Hit[] hits = Strokes(notes, map, doubts);
        if (hits.Length == 0)
            throw new InputException($"'{name}' is a MIDI file without drums: none of its {notes.Length} notes is on the key of a kit piece.");
        Meter meter = FirstSignature(all, name, doubts);
        return new KitMidi(hits, Grid(meter, map, division, notes.Max(note => note.Tick), name), tempos.Length > 0, doubts);
    }

    /// <summary>
    /// Velocity to level by the concave curve of the MIDI Manufacturers Association's DLS Level 1 (stated from
    /// memory): 40·log10(v/127) dB, so half the velocity is 12 dB less. An electronic kit's own curve is unknown.
    /// </summary>
    /// <param name="velocity">1 to 127.</param>
    public static Level LevelOf(int velocity)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(velocity, 1);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(velocity, 127);
        return Level.FromDbfs(40.0 * Math.Log10(velocity / 127.0));
    }

    /// <summary>Walks the chunks, for a reader that meets the end of a cut file may stop without a word.</summary>
    private static void CheckChunks(ReadOnlySpan<byte> bytes, string name)
    {
        if (bytes.Length < 14 || !bytes[..4].SequenceEqual("MThd"u8))
            throw new InputException($"'{name}' is not a MIDI file{(bytes.Length == 0 ? "; it is empty" : string.Empty)}.");
        int format = BinaryPrimitives.ReadInt16BigEndian(bytes[8..]);
        int division = BinaryPrimitives.ReadInt16BigEndian(bytes[12..]);
        if (format is not (0 or 1))
            throw new InputException($"'{name}' is a MIDI file of format {format}, which holds separate pieces; save the wanted one as format 0 or 1.");
        if (division < 0)
            throw new InputException($"'{name}' counts time in SMPTE frames, not in beats; save it with ticks per quarter note.");
        if (division == 0)
            throw new InputException($"'{name}' states zero ticks per quarter note; the file is damaged.");
        int tracks = 0;
        long at = 0;
        while (at + 8 <= bytes.Length)
        {
            ReadOnlySpan<byte> header = bytes[(int)at..];
            if (header[..4].SequenceEqual("MTrk"u8))
                tracks++;
            at += 8L + BinaryPrimitives.ReadUInt32BigEndian(header[4..]);
        }

        int promised = BinaryPrimitives.ReadUInt16BigEndian(bytes[10..]);
        if (at > bytes.Length || tracks < promised)
            throw new InputException($"'{name}' is cut short: the end of the MIDI file is missing.");
    }

    private static MidiEventCollection Parse(byte[] bytes, string name)
    {
        try
        {
            using MemoryStream stream = new(bytes, writable: false);
            // Not strict: a note without its end is common in kit recordings and harmless here.
            return new MidiFile(stream, false).Events;
        }
        catch (Exception error) when (error is FormatException or IOException or ArgumentException or InvalidOperationException
            or IndexOutOfRangeException or OverflowException or NotSupportedException)
        {
            throw new InputException($"'{name}' is a damaged MIDI file and cannot be read.", error);
        }
    }

    private static Note[] ChooseChannel(MidiEvent[] all, string name, List<Doubt> doubts)
    {
        Note[] notes = [.. all.OfType<NoteOnEvent>().Where(e => e.Velocity is > 0 and < 128).Select(e => new Note(e.AbsoluteTime, e.Channel, e.NoteNumber, e.Velocity))];
        if (notes.Length == 0)
            throw new InputException($"'{name}' is a MIDI file without notes.");
        Note[] percussion = [.. notes.Where(note => note.Channel == PercussionChannel)];
        if (percussion.Length > 0)
            return percussion;

        foreach (IGrouping<int, Note> channel in notes.GroupBy(note => note.Channel).OrderByDescending(group => group.Count()))
        {
            bool electronic = channel.Any(note => KitMidiKeys.ShowsElectronicKit(note.Key));
            KitPiece?[] pieces = [.. channel.Select(note => KitMidiKeys.Find(note.Key, electronic)?.Piece)];
            int onKit = pieces.Count(piece => piece is not (null or KitPiece.Other));
            // A bass line lies on the same keys; what it lacks is hats or cymbals beside kick or snare.
            bool hasDrum = pieces.Any(piece => piece is KitPiece.Kick or KitPiece.Snare or KitPiece.CrossStick);
            bool hasMetal = pieces.Any(piece => piece?.Family() is PieceFamily.Hat or PieceFamily.Cymbal);
            if (hasDrum && hasMetal && onKit >= LeastShareOfKitKeys * pieces.Length)
            {
                doubts.Add(new DrumsOnAnotherChannel(channel.Key));
                return [.. channel];
            }
        }

        throw new InputException($"'{name}' is a MIDI file without drums: no note is on the percussion channel 10, and no other channel looks like a kit.");
    }

    private static Hit[] Strokes(Note[] notes, KitMidiTempoMap map, List<Doubt> doubts)
    {
        bool electronic = notes.Any(note => KitMidiKeys.ShowsElectronicKit(note.Key));
        Dictionary<(long Tick, KitPiece Piece), (int Velocity, HitMarks Marks)> strokes = [];
        List<int> unknown = [];
        foreach (Note note in notes)
        {
            if (KitMidiKeys.Find(note.Key, electronic) is not { } found)
            {
                unknown.Add(note.Key);
                continue;
            }

            (long, KitPiece) place = (note.Tick, found.Piece);
            if (!strokes.TryGetValue(place, out var known) || known.Velocity < note.Velocity)
                strokes[place] = (note.Velocity, found.Marks);
        }

        if (unknown.Count > 0)
            doubts.Add(new UnknownDrumKeys([.. unknown.Distinct().Order()], unknown.Count));
        return [.. strokes
            .OrderBy(stroke => stroke.Key.Tick).ThenBy(stroke => stroke.Key.Piece)
            .Select(stroke => new Hit(AudioTime.FromSeconds(map.SecondsAt(stroke.Key.Tick)), stroke.Key.Piece, stroke.Value.Velocity, LevelOf(stroke.Value.Velocity), 1.0) { Marks = stroke.Value.Marks })];
    }

    private static Meter FirstSignature(MidiEvent[] all, string name, List<Doubt> doubts)
    {
        List<Meter> meters = [];
        foreach (TimeSignatureEvent e in all.OfType<TimeSignatureEvent>().OrderBy(e => e.AbsoluteTime))
        {
            // The file stores the lower number as a power of two.
            if (e.Denominator is < 1 or > 4 || e.Numerator is < 1 or > 32)
                throw new InputException($"'{name}' has a time signature {e.Numerator}/2^{e.Denominator}, which cannot be counted here; change it to one over 2, 4, 8 or 16.");
            Meter meter = new(e.Numerator, 1 << e.Denominator);
            if (meters.Count == 0 || meters[^1] != meter)
                meters.Add(meter);
        }

        if (meters.Count == 0)
            return Meter.FourFour; // Standard MIDI Files 1.0: 4/4 unless stated.
        if (meters.Count > 1)
            doubts.Add(new SignatureChanges(meters[0], meters.Count - 1));
        return meters[0];
    }

    private static Pulse Grid(Meter meter, KitMidiTempoMap map, int division, long lastTick, string name)
    {
        // Beat k lies at tick k · division · 4 · beat length, which need not be whole (7/16 at an odd division).
        Fraction ticksPerBeat = new Fraction(4L * division) * meter.BeatLength;
        long needed = (new Fraction(lastTick) / ticksPerBeat).Floor() + 1;
        if (needed > MostBeats)
            throw new InputException($"'{name}' lasts {needed} beats; its ticks per quarter note are damaged.");
        int bars = (int)(needed / meter.BeatsPerBar) + 1;
        Beat[] beats = new Beat[(bars * meter.BeatsPerBar) + 1];
        for (int k = 0; k < beats.Length; k++)
        {
            AudioTime time = AudioTime.FromSeconds(map.SecondsAt((ticksPerBeat * k).ToDouble()));
            beats[k] = new Beat(time, 1 + (k / meter.BeatsPerBar), 1 + (k % meter.BeatsPerBar));
        }

        return new Pulse(meter, beats, 1.0, PulseSource.Click);
    }
}
