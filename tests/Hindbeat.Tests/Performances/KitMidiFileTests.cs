using Hindbeat.Performances;
using Hindbeat.Units;
using static Hindbeat.Tests.Performances.MidiBytes;

namespace Hindbeat.Tests.Performances;

/// <summary>Expected times are worked by hand from the Standard MIDI Files 1.0 rule: µs a quarter ÷ ticks a quarter.</summary>
public class KitMidiFileTests
{
    private static KitMidi Read(byte[] bytes) => KitMidiFile.Read(bytes, "take.mid");

    [Fact]
    public void Times_follow_every_tempo_of_the_map()
    {
        // 480 ticks a quarter: one quarter at 120 bpm (0.5 s), one at 60 (1 s), half of one at 240 (0.125 s).
        KitMidi kit = Read(File(1, 480,
            Track(Tempo(0, 500_000), Tempo(480, 1_000_000), Tempo(480, 250_000)),
            Track(On(0, 36), On(480, 38), On(480, 36), On(240, 42))));
        Assert.Equal([0, 0.5, 1.5, 1.625], kit.Hits.Select(hit => Math.Round(hit.Time.TotalSeconds, 12)));
        Assert.True(kit.HasTempo);
        Assert.Equal([0, 0.5, 1.5, 1.75], kit.Grid.Beats.Take(4).Select(beat => Math.Round(beat.Time.TotalSeconds, 12)));
        Assert.Equal(PulseSource.Click, kit.Grid.Source);
    }

    [Fact]
    public void A_tempo_in_the_middle_of_a_beat_is_honoured_from_its_tick_on()
    {
        // Half a quarter at 120 bpm (0.25 s), half at 60 (0.5 s).
        KitMidi kit = Read(File(0, 96, Track(Tempo(0, 500_000), On(0, 36), Tempo(48, 1_000_000), On(48, 38))));
        Assert.Equal(0.75, kit.Hits[1].Time.TotalSeconds, 12);
        Assert.Equal(0.75, kit.Grid.Beats[1].Time.TotalSeconds, 12);
    }

    [Fact]
    public void Without_a_tempo_the_file_plays_at_120_and_says_that_it_states_none()
    {
        KitMidi kit = Read(File(0, 480, Track(On(0, 36), On(960, 38))));
        Assert.False(kit.HasTempo);
        Assert.Equal(1.0, kit.Hits[1].Time.TotalSeconds, 12);
        Assert.Equal(Meter.FourFour, kit.Grid.Meter);
    }

    [Fact]
    public void Running_status_and_note_on_with_velocity_zero_are_understood()
    {
        KitMidi kit = Read(File(0, 480, Track(Tempo(0, 500_000), On(0, 36, 90), Running(10, 36, 0), Running(470, 38, 80), Running(10, 38, 0))));
        Assert.Equal([(KitPiece.Kick, 90), (KitPiece.Snare, 80)], kit.Hits.Select(hit => (hit.Piece, hit.Velocity)));
    }

    [Fact]
    public void Compound_time_is_counted_in_dotted_quarters()
    {
        // 6/8 at 500 000 µs a quarter: a dotted quarter lasts 0.75 s, a bar two of them.
        KitMidi kit = Read(File(0, 480, Track(Tempo(0, 500_000), Signature(0, 6, 3), On(0, 36), On(720, 38), On(720, 36))));
        Assert.Equal(new Meter(6, 8), kit.Grid.Meter);
        Assert.Equal((2, 1), (kit.Grid.Beats[2].Bar, kit.Grid.Beats[2].Number));
        Assert.Equal(1.5, kit.Grid.Beats[2].Time.TotalSeconds, 12);
    }

    [Fact]
    public void The_grid_covers_every_stroke()
    {
        KitMidi kit = Read(File(0, 480, Track(Tempo(0, 500_000), On(0, 36), On(480 * 9, 38))));
        Assert.True(kit.Grid.Beats[0].Time <= kit.Hits[0].Time);
        Assert.True(kit.Grid.Beats[^1].Time > kit.Hits[^1].Time);
    }

    [Theory]
    // General MIDI Level 1 percussion map.
    [InlineData(35, KitPiece.Kick)]
    [InlineData(36, KitPiece.Kick)]
    [InlineData(37, KitPiece.CrossStick)]
    [InlineData(38, KitPiece.Snare)]
    [InlineData(41, KitPiece.TomLow)]
    [InlineData(42, KitPiece.HatClosed)]
    [InlineData(44, KitPiece.HatPedal)]
    [InlineData(46, KitPiece.HatOpen)]
    [InlineData(47, KitPiece.TomMid)]
    [InlineData(50, KitPiece.TomHigh)]
    [InlineData(52, KitPiece.China)]
    [InlineData(53, KitPiece.RideBell)]
    [InlineData(55, KitPiece.Splash)]
    [InlineData(57, KitPiece.Crash)]
    [InlineData(59, KitPiece.Ride)]
    [InlineData(56, KitPiece.Other)]
    public void General_midi_keys(int key, KitPiece piece) =>
        Assert.Equal(piece, Read(File(0, 480, Track(On(0, 36), On(480, key)))).Hits[1].Piece);

    [Theory]
    // Groove MIDI Dataset mapping: edge and rim keys of the electronic kit.
    [InlineData(22, KitPiece.HatClosed, HitMarks.None)]
    [InlineData(26, KitPiece.HatOpen, HitMarks.None)]
    [InlineData(40, KitPiece.Snare, HitMarks.Rimshot)]
    [InlineData(52, KitPiece.Crash, HitMarks.None)]
    [InlineData(55, KitPiece.Crash, HitMarks.None)]
    [InlineData(58, KitPiece.TomLow, HitMarks.None)]
    public void Keys_of_an_electronic_kit(int key, KitPiece piece, HitMarks marks)
    {
        Hit hit = Read(File(0, 480, Track(On(0, 22), On(480, key)))).Hits[1];
        Assert.Equal((piece, marks), (hit.Piece, hit.Marks));
    }

    [Fact]
    public void Layered_keys_of_one_piece_are_one_stroke_the_loudest()
    {
        KitMidi kit = Read(File(1, 480, Track(On(0, 36, 60), On(480, 38)), Track(On(0, 35, 90))));
        Assert.Equal([90, 100], kit.Hits.Select(hit => hit.Velocity));
    }

    [Fact]
    public void Drums_on_another_channel_are_read_and_the_choice_is_named()
    {
        KitMidi kit = Read(File(0, 480, Track(On(0, 36, 100, 1), On(0, 42, 80, 1), On(480, 38, 100, 1))));
        Assert.Equal(3, kit.Hits.Count);
        Assert.Equal(new DrumsOnAnotherChannel(1), Assert.Single(kit.Doubts));
    }

    [Fact]
    public void Notes_on_keys_of_no_piece_are_left_out_with_a_doubt()
    {
        KitMidi kit = Read(File(0, 480, Track(On(0, 36), On(480, 38), On(0, 99))));
        Assert.Equal(2, kit.Hits.Count);
        Assert.Equal(new UnknownDrumKeys([99], 1), Assert.Single(kit.Doubts));
    }

    [Fact]
    public void A_change_of_signature_keeps_the_first_with_a_doubt()
    {
        KitMidi kit = Read(File(0, 480, Track(Signature(0, 3, 2), On(0, 36), Signature(1440, 4, 2), On(0, 38))));
        Assert.Equal(new Meter(3, 4), kit.Grid.Meter);
        Assert.Equal(new SignatureChanges(new Meter(3, 4), 1), Assert.Single(kit.Doubts));
    }

    [Fact]
    public void Levels_halve_twice_for_half_the_velocity()
    {
        Assert.Equal(0.0, KitMidiFile.LevelOf(127).Dbfs, 12);
        // DLS Level 1 concave curve (from memory): 40·log10(64/127) = −11.905 dB.
        Assert.Equal(-11.905, KitMidiFile.LevelOf(64).Dbfs, 3);
    }

    public static TheoryData<string, byte[], string> Unusable => new()
    {
        { "text", "hello, this is no MIDI at all"u8.ToArray(), "is not a MIDI file" },
        { "empty", [], "empty" },
        { "cut in a track", File(0, 480, Track(On(0, 36), On(480, 38)))[..^6], "cut short" },
        { "cut before a track", File(0, 480, Track(On(0, 36)))[..14], "cut short" },
        { "no notes", File(0, 480, Track(Tempo(0, 500_000))), "without notes" },
        { "piano", File(0, 480, Track(On(0, 60, 80, 1), On(480, 64, 80, 1), On(480, 72, 80, 1))), "without drums" },
        { "bass line", File(0, 480, Track(On(0, 36, 80, 2), On(480, 38, 80, 2), On(480, 41, 80, 2))), "without drums" },
        { "keys of no piece", File(0, 480, Track(On(0, 100), On(480, 101))), "without drums" },
        { "SMPTE", File(0, unchecked((short)0xE728), Track(On(0, 36))), "SMPTE" },
        { "division 0", File(0, 0, Track(On(0, 36))), "zero ticks" },
        { "format 2", File(2, 480, Track(On(0, 36))), "format 2" },
        { "tempo 0", File(0, 480, Track(Tempo(0, 0), On(0, 36))), "tempo of zero" },
        { "rubbish in a track", File(0, 480, [0, 0x12, 0x34, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF]), "damaged" },
        { "endless", File(0, 1, Track(On(0, 36), On(0x0FFFFFF, 38))), "ticks per quarter" },
    };

    [Theory]
    [MemberData(nameof(Unusable))]
    public void A_file_that_cannot_be_used_gives_one_line_with_the_reason(string what, byte[] bytes, string reason)
    {
        InputException error = Assert.Throws<InputException>(() => Read(bytes));
        Assert.Contains(reason, error.Message, StringComparison.Ordinal);
        Assert.False(error.Message.Contains('\n', StringComparison.Ordinal), what);
    }

    [Fact]
    public void A_missing_file_is_named()
    {
        InputException error = Assert.Throws<InputException>(() => KitMidiFile.Read("/nowhere/take.mid"));
        Assert.Contains("/nowhere/take.mid", error.Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("12_rock_100_beat_4-4", 100, "4/4")]
    [InlineData("25_hiphop_92_beat_4-4", 92, "4/4")]
    [InlineData("4_rock_80_beat_6-8", 80, "6/8")]
    public void Takes_of_the_groove_midi_dataset_carry_their_click(string take, double bpm, string meter)
    {
        KitMidi kit = KitMidiFile.Read(Path.Combine(LayerTests.RepositoryRoot(), "tests", "data", "groove-midi", take + ".mid"));
        Assert.True(kit.HasTempo);
        Assert.Equal(meter, kit.Grid.Meter.ToString());
        // The data set's set_tempo is a quarter's; a dotted quarter lasts half as long again.
        double beatInQuarters = kit.Grid.Meter.BeatLength.ToDouble() * 4;
        Assert.Equal(bpm / beatInQuarters, kit.Grid.MeanTempo.Value, 2);
        Assert.All(kit.Hits, hit => Assert.InRange(hit.Time.TotalSeconds, 0, kit.Grid.Beats[^1].Time.TotalSeconds));
    }
}
