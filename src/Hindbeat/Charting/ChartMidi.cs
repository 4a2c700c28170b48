using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;
using NAudio.Midi;

namespace Hindbeat.Charting;

/// <summary>
/// Standard MIDI files, 960 ticks a quarter, General MIDI percussion keys on channel 10. As written: the
/// chart's places at one steady tempo. As played: every hit at its own time, bars and beats as the pulse
/// has them.
/// </summary>
public static class ChartMidi
{
    public const int TicksPerQuarter = 960;

    /// <summary>General MIDI's percussion channel, counted from 1.</summary>
    private const int DrumChannel = 10;

    /// <summary>A drum note's length means nothing to a kit; short enough to end before the next stroke.</summary>
    private const int NoteTicks = 30;

    /// <summary>A flam's grace lies this far before its note when the chart knows no time of its own (common practice, no source).</summary>
    private static readonly Seconds GraceLead = Seconds.FromMilliseconds(28);

    /// <summary>The chart at its steady tempo.</summary>
    /// <param name="swing">Long : short to play pairs with (1 or more); null plays the chart straight as it stands on the page.</param>
    /// <exception cref="ArgumentOutOfRangeException">The ratio is below 1 or not finite.</exception>
    public static void WriteAsWritten(Chart chart, Stream stream, double? swing)
    {
        ArgumentNullException.ThrowIfNull(chart);
        ArgumentNullException.ThrowIfNull(stream);
        if (swing is { } asked && !(asked is >= 1.0 and <= 100.0))
            throw new ArgumentOutOfRangeException(nameof(swing), swing, "A swing ratio is long : short, 1 (straight) or more.");

        var events = NewFile(chart.Title);
        Fraction start = Fraction.Zero;
        Meter? signature = null;
        double quarterSeconds = 0;
        foreach (ChartBar bar in RepeatFolding.InPlayingOrder(chart.Bars))
        {
            // The counted beat keeps its tempo over a change of meter, and so the quarter may change its.
            double quarter = chart.Tempo.Beat.Value / (bar.Meter.BeatLength.ToDouble() * 4.0);
            if (quarter != quarterSeconds)
                AddTempo(events, Ticks(start), quarterSeconds = quarter);
            if (bar.IsPickup)
                AddSignature(events, 0, bar.Length, bar.Meter.Denominator);
            else if (signature != bar.Meter)
                AddSignature(events, Ticks(start), (signature = bar.Meter).Value);
            foreach (ChartVoice voice in bar.Voices)
            {
                for (int i = 0; i < voice.Events.Count; i++)
                {
                    ChartEvent happening = voice.Events[i];
                    bool inTuplet = voice.Tuplets.Any(tuplet => tuplet.First <= i && i <= tuplet.Last);
                    double place = swing is { } ratio && !inTuplet
                        ? SwungPlace(happening.At, chart.Swing?.Level ?? FinestLevel(chart), ratio, bar.Meter)
                        : happening.At.ToDouble();
                    long tick = Round((start - bar.Start).ToDouble() + place);
                    foreach (ChartNote note in happening.Notes)
                        AddNoteWithGraces(events, tick, note, quarterSeconds);
                }
            }

            start += bar.Length;
        }

        Finish(events, Ticks(start), stream);
    }

    /// <summary>
    /// Every hit within 0.5 ms of its time in the recording (file time 0 = the recording's first sample).
    /// Beats fall on whole beats of the file through a tempo for each; where a tick would be coarser than
    /// that, the tempo is bent at the hit itself.
    /// </summary>
    /// <exception cref="InputException">A hit lies before the recording's first sample.</exception>
    public static void WriteAsPlayed(Performance performance, Stream stream)
    {
        ArgumentNullException.ThrowIfNull(performance);
        ArgumentNullException.ThrowIfNull(stream);
        if (performance.Hits.Count > 0 && performance.Hits[0].Time < AudioTime.Zero)
            throw new InputException($"The first stroke lies at {performance.Hits[0].Time}, before the recording begins; a MIDI file cannot hold it.");
        TempoMap map = TempoMap.Of(performance);
        var events = NewFile("As played");
        if (map.LeadIn > 0)
            AddSignature(events, 0, map.LeadIn, map.Signatures[0].Meter.Denominator);
        foreach ((long tick, Meter meter) in map.Signatures)
            AddSignature(events, tick, meter);
        foreach ((long tick, double microsecondsPerQuarter) in map.Tempos)
            events.AddEvent(new TempoEvent((int)Math.Round(microsecondsPerQuarter), tick), 0);
        for (int i = 0; i < performance.Hits.Count; i++)
            AddNote(events, map.HitTicks[i], performance.Hits[i].Piece, performance.Hits[i].Velocity);
        Finish(events, map.EndTick, stream);
    }

    /// <summary>Ticks of a length in whole notes; every length on the page up to 1/64 quintuplets is rounded, never cut.</summary>
    internal static long Ticks(Fraction wholeNotes) => Round(wholeNotes.ToDouble());

    private static long Round(double wholeNotes) => (long)Math.Round(wholeNotes * 4.0 * TicksPerQuarter, MidpointRounding.AwayFromZero);

    /// <summary>
    /// Bends a place within its pair: the first half is stretched to R/(1+R) of the pair, the second
    /// squeezed into the rest. Pairs that do not divide the beat stay straight.
    /// </summary>
    private static double SwungPlace(Fraction place, SwingLevel level, double ratio, Meter meter)
    {
        Fraction pair = level == SwingLevel.Eighth ? new Fraction(1, 4) : new Fraction(1, 8);
        if (meter.IsCompound || (meter.BeatLength / pair).Denominator != 1)
            return place.ToDouble();
        double within = (place / pair).ToDouble();
        double start = Math.Floor(within);
        within -= start;
        double share = ratio / (1.0 + ratio);
        double bent = within < 0.5 ? within * 2.0 * share : share + ((within - 0.5) * 2.0 * (1.0 - share));
        return (start + bent) * pair.ToDouble();
    }

    /// <summary>16ths when any note lies on one, else eighths.</summary>
    private static SwingLevel FinestLevel(Chart chart) =>
        chart.Bars.SelectMany(bar => bar.Voices).SelectMany(voice => voice.Events).Any(happening => !happening.IsRest && happening.At.Denominator == 16)
            ? SwingLevel.Sixteenth
            : SwingLevel.Eighth;

    private static MidiEventCollection NewFile(string title)
    {
        var events = new MidiEventCollection(0, TicksPerQuarter);
        events.AddTrack();
        events.AddEvent(new TextEvent(title, MetaEventType.SequenceTrackName, 0), 0);
        return events;
    }

    private static void AddTempo(MidiEventCollection events, long tick, double quarterSeconds) =>
        events.AddEvent(new TempoEvent((int)Math.Round(quarterSeconds * 1e6), tick), 0);

    private static void AddSignature(MidiEventCollection events, long tick, Meter meter) =>
        events.AddEvent(new TimeSignatureEvent(tick, meter.Numerator, (int)Math.Log2(meter.Denominator), 24, 8), 0);

    /// <summary>A short bar in the counts of the passage: 1/4 or 2/4 before a 4/4.</summary>
    private static void AddSignature(MidiEventCollection events, long tick, Fraction length, int denominator) =>
        events.AddEvent(new TimeSignatureEvent(tick, (int)(length * denominator).Numerator, (int)Math.Log2(denominator), 24, 8), 0);

    private static void AddNoteWithGraces(MidiEventCollection events, long tick, ChartNote note, double quarterSeconds)
    {
        long lead = (long)Math.Round(GraceLead.Value / quarterSeconds * TicksPerQuarter);
        for (int i = 0; i < note.Graces.Count; i++)
        {
            long at = tick - (lead * (note.Graces.Count - i));
            AddNote(events, Math.Max(0, at), note.Graces[i].Piece, note.Graces[i].Velocity);
        }

        AddNote(events, tick, note.Piece, note.Velocity);
    }

    private static void AddNote(MidiEventCollection events, long tick, KitPiece piece, int velocity)
    {
        var on = new NoteOnEvent(tick, DrumChannel, piece.GeneralMidiKey(), Math.Clamp(velocity, 1, 127), NoteTicks);
        events.AddEvent(on, 0);
        events.AddEvent(new NoteEvent(tick + NoteTicks, DrumChannel, MidiCommandCode.NoteOff, on.NoteNumber, 0), 0);
    }

    private static void Finish(MidiEventCollection events, long endTick, Stream stream)
    {
        long last = events[0].Max(midi => midi.AbsoluteTime);
        events.AddEvent(new MetaEvent(MetaEventType.EndTrack, 0, Math.Max(endTick, last)), 0);
        events.PrepareForExport();
        MidiFile.Export(stream, events);
    }
}
