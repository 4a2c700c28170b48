using CsCheck;
using Hindbeat.Charting;
using Hindbeat.Performances;
using Hindbeat.Units;
using NAudio.Midi;
using static Hindbeat.Tests.Charting.WrittenPassages;

namespace Hindbeat.Tests.Charting;

/// <summary>Written files are read back with a foreign reader (NAudio) and their times reckoned by the file's own tempo map.</summary>
public class ChartMidiTests
{
    [Fact]
    public void As_played_every_hit_comes_back_within_half_a_millisecond() => Any.Sample(performance =>
    {
        List<(double Time, int Key, int Velocity)> read = ReadTimes(stream => ChartMidi.WriteAsPlayed(performance, stream));
        Assert.Equal(performance.Hits.Count, read.Count);
        foreach (IGrouping<KitPiece, Hit> piece in performance.Hits.GroupBy(hit => hit.Piece))
        {
            double[] played = [.. piece.Select(hit => hit.Time.TotalSeconds).Order()];
            double[] back = [.. read.Where(note => note.Key == piece.Key.GeneralMidiKey()).Select(note => note.Time).Order()];
            Assert.Equal(played.Length, back.Length);
            for (int i = 0; i < played.Length; i++)
                Assert.InRange(Math.Abs(played[i] - back[i]), 0, 0.0005);
        }
    }, iter: 1000);

    [Fact]
    public void As_played_a_slow_passage_is_exact_although_a_tick_lasts_over_a_millisecond()
    {
        // At 40 beats a minute one of 960 ticks lasts 1.56 ms, so rounding alone would miss by up to 0.78 ms.
        Performance written = Typed("4/4", 40, 4, ("ride", "0 1/4 1/2 3/4 1 5/4 3/2 2 3"));
        var performance = new Performance(written.Pulse, written.Hits.Select((hit, i) => hit with { Time = hit.Time + Seconds.FromMilliseconds(0.37 * i) }));
        double[] back = [.. ReadTimes(stream => ChartMidi.WriteAsPlayed(performance, stream)).Select(note => note.Time)];
        Assert.All(performance.Hits.Zip(back), pair => Assert.InRange(Math.Abs(pair.First.Time.TotalSeconds - pair.Second), 0, 0.0005));
    }

    [Fact]
    public void As_played_beats_of_the_pulse_fall_on_whole_quarters_of_the_file()
    {
        var beats = new List<Beat>();
        double time = 1.3;
        for (int i = 0; i < 17; i++)
        {
            beats.Add(new Beat(AudioTime.FromSeconds(time), 1 + (i / 4), 1 + (i % 4)));
            time += 0.61 + (0.02 * Math.Sin(i));
        }

        var pulse = new Pulse(Meter.FourFour, beats);
        var performance = new Performance(pulse, beats.Take(16).Select(beat => new Hit(beat.Time, KitPiece.Kick, 100, Level.FromDbfs(-6), 1) { Position = new BarPosition(beat.Bar, beat.Number, 0) }));
        MidiFile file = Read(stream => ChartMidi.WriteAsPlayed(performance, stream));
        Assert.All(file.Events[0].OfType<NoteOnEvent>().Where(note => note.Velocity > 0), note => Assert.Equal(0, note.AbsoluteTime % 960));
        TimeSignatureEvent[] signatures = [.. file.Events[0].OfType<TimeSignatureEvent>()];
        Assert.Equal(4, signatures[^1].Numerator);
        Assert.Equal(signatures[^1].AbsoluteTime, file.Events[0].OfType<NoteOnEvent>().First().AbsoluteTime);
    }

    [Theory]
    [InlineData(KitPiece.Kick, 36)]
    [InlineData(KitPiece.CrossStick, 37)]
    [InlineData(KitPiece.Snare, 38)]
    [InlineData(KitPiece.HatClosed, 42)]
    [InlineData(KitPiece.HatPedal, 44)]
    [InlineData(KitPiece.HatOpen, 46)]
    [InlineData(KitPiece.Crash, 49)]
    [InlineData(KitPiece.Ride, 51)]
    [InlineData(KitPiece.China, 52)]
    [InlineData(KitPiece.RideBell, 53)]
    [InlineData(KitPiece.Splash, 55)]
    public void Keys_are_those_of_general_midi_on_channel_ten(KitPiece piece, int key)
    {
        // General MIDI Level 1 percussion key map.
        Performance performance = Typed("4/4", 100, 1, (piece.Id(), "0"));
        foreach (MidiFile file in new[]
        {
            Read(stream => ChartMidi.WriteAsPlayed(performance, stream)),
            Read(stream => ChartMidi.WriteAsWritten(ChartMaker.Make(performance, null, Plain), stream, null)),
        })
        {
            NoteOnEvent note = Assert.Single(file.Events[0].OfType<NoteOnEvent>(), note => note.Velocity > 0);
            Assert.Equal((key, 10, 960), (note.NoteNumber, note.Channel, file.DeltaTicksPerQuarterNote));
        }
    }

    [Fact]
    public void As_written_straight_every_stroke_lies_on_its_written_tick()
    {
        Chart chart = ChartMaker.Make(Typed("4/4", 100, 1, ("snare", "0 1/4 1/3 2 8/3"), ("kick", "0")), null, Plain);
        MidiFile file = Read(stream => ChartMidi.WriteAsWritten(chart, stream, null));
        Assert.Equal([0L, 0, 240, 320, 1920, 2560], file.Events[0].OfType<NoteOnEvent>().Where(note => note.Velocity > 0).Select(note => note.AbsoluteTime));
    }

    [Theory]
    [InlineData(1.0, 240, 720)]
    [InlineData(1.5, 288, 768)] // share 60 % of a 480-tick pair
    [InlineData(2.0, 320, 800)] // the triplet: 66.67 %
    [InlineData(3.0, 360, 840)] // 75 %
    public void As_written_swung_the_second_16th_comes_after_its_share_of_the_pair(double ratio, long second, long fourth)
    {
        // Share p = R / (1 + R): Câmara & Jensenius, Sensing Sound and Music, ch. 5.
        Chart chart = ChartMaker.Make(Typed("4/4", 100, 1, ("hat-closed", "0 1/4 1/2 3/4")), null, Plain);
        MidiFile file = Read(stream => ChartMidi.WriteAsWritten(chart, stream, ratio));
        Assert.Equal([0L, second, 480, fourth], file.Events[0].OfType<NoteOnEvent>().Where(note => note.Velocity > 0).Select(note => note.AbsoluteTime));
    }

    [Fact]
    public void A_pickup_is_a_short_bar_before_the_first_whole_one()
    {
        Chart chart = ChartMaker.Make(Typed("4/4", 100, 2, 0, ("snare", "3 7/2", HitMarks.None)), null, Plain);
        MidiFile file = Read(stream => ChartMidi.WriteAsWritten(chart, stream, null));
        TimeSignatureEvent[] signatures = [.. file.Events[0].OfType<TimeSignatureEvent>()];
        Assert.Equal([(0L, 1), (960L, 4)], signatures.Select(signature => (signature.AbsoluteTime, signature.Numerator)));
    }

    [Fact]
    public void A_stroke_before_the_recording_is_refused()
    {
        Performance performance = Typed("4/4", 100, 1, ("snare", "0"));
        var early = new Performance(performance.Pulse, [performance.Hits[0] with { Time = AudioTime.FromSeconds(-0.1) }]);
        Assert.Throws<InputException>(() => ChartMidi.WriteAsPlayed(early, new MemoryStream()));
    }

    private static MidiFile Read(Action<Stream> write)
    {
        using var stream = new MemoryStream();
        write(stream);
        return new MidiFile(new MemoryStream(stream.ToArray()), strictChecking: true);
    }

    /// <summary>Times by the file's own tempo map: the sum of ticks × microseconds a quarter / 960.</summary>
    internal static List<(double Time, int Key, int Velocity)> ReadTimes(Action<Stream> write)
    {
        MidiFile file = Read(write);
        var notes = new List<(double, int, int)>();
        double seconds = 0;
        long tick = 0;
        int tempo = 500_000;
        foreach (MidiEvent happening in file.Events.SelectMany(track => track).OrderBy(midi => midi.AbsoluteTime).ThenBy(midi => midi is TempoEvent ? 0 : 1))
        {
            seconds += (happening.AbsoluteTime - tick) * (double)tempo / file.DeltaTicksPerQuarterNote / 1e6;
            tick = happening.AbsoluteTime;
            if (happening is TempoEvent change)
                tempo = change.MicrosecondsPerQuarterNote;
            else if (happening is NoteOnEvent { Velocity: > 0 } note)
                notes.Add((seconds, note.NoteNumber, note.Velocity));
        }

        return notes;
    }
}
