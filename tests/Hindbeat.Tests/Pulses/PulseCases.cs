using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Units;
using static Hindbeat.Tests.Pulses.Grooves;

namespace Hindbeat.Tests.Pulses;

/// <summary>Performances that fool a tracker, each with a pulse known by construction.</summary>
public class PulseCases
{
    private static PulseResult Find(IReadOnlyList<Hit> hits, PulseOptions? options = null) => PulseFinder.Find(hits, null, options ?? new PulseOptions());

    /// <summary>Gaussian jitter from a seed, seconds.</summary>
    private static Func<double> Jitter(double scatter, int seed = 5)
    {
        Random random = new(seed);
        return () => scatter * Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
    }

    private static double TimeOfOne(Pulse pulse) => pulse.Beats.First(beat => beat.Bar == 1 && beat.Number == 1).Time.TotalSeconds;

    [Theory]
    [InlineData(6)]
    [InlineData(-6)]
    public void A_slow_wave_of_the_tempo_is_followed_within_half_a_per_cent(double bpmSwing)
    {
        // bpm(t) = 100 ± 6·sin over 32 s; beats by integrating the tempo (target: issue "Pulse", 0.5 %).
        double Beats(double t) => ((100 * t) + (bpmSwing * 32 / (2 * Math.PI) * (1 - Math.Cos(2 * Math.PI * t / 32)))) / 60;
        Func<double> jitter = Jitter(0.005);
        List<Hit> hits = Play(Rock, 24, (bar, stroke) => 0.5 + Invert(Beats, (4 * bar) + stroke.Beat) + jitter());
        Pulse pulse = Find(hits).Performance.Pulse;
        Assert.Equal(Meter.FourFour, pulse.Meter);
        foreach (Beat beat in pulse.Beats.Skip(4).SkipLast(5))
        {
            double t = beat.Time.TotalSeconds - 0.5;
            double true60 = 100 + (bpmSwing * Math.Sin(2 * Math.PI * t / 32));
            double place = pulse.BeatsAt(beat.Time);
            // Over two beats: a single interval carries the jitter of the strokes.
            double found = 120 / (pulse.TimeAt(place + 1) - pulse.TimeAt(place - 1)).Value;
            Assert.InRange(found / true60, 0.995, 1.005);
        }
    }

    [Fact]
    public void A_ritardando_is_followed_to_its_end()
    {
        // 104 bpm for 8 bars, then slowing to 84 over 4 bars, straight in beats.
        double Length(double beat) => 60 / (beat < 32 ? 104 : 104 - (20 * Math.Min(1, (beat - 32) / 16)));
        double[] at = new double[49];
        for (int b = 1; b < at.Length; b++)
            at[b] = at[b - 1] + Length(b - 0.5);
        double Time(double beat) => at[(int)beat] + ((beat - (int)beat) * (at[Math.Min(48, (int)beat + 1)] - at[(int)beat]));
        Pulse pulse = Find(Play(Rock, 12, (bar, stroke) => 0.5 + Time((4 * bar) + stroke.Beat))).Performance.Pulse;
        Assert.Equal(0.5, TimeOfOne(pulse), 1);
        // Half of mir_eval's window for a beat found.
        for (int b = 0; b < 48; b++)
            Assert.InRange(pulse.TimeAt(pulse.BeatsFromFirst(new BarPosition(1 + (b / 4), 1 + (b % 4), Fraction.Zero)).ToDouble()).TotalSeconds - 0.5 - at[b], -0.035, 0.035);
    }

    [Theory]
    [InlineData(1.2)]
    [InlineData(1.5)]
    [InlineData(1.8)]
    [InlineData(2.0)]
    public void Swung_sixteenths_are_written_straight(double ratio)
    {
        double share = ratio / (1 + ratio);
        Func<double> jitter = Jitter(0.004);
        List<Hit> hits = Play(Sixteenths, 8, (bar, stroke) =>
        {
            double half = Math.Floor(stroke.Beat * 2) / 2;
            double within = stroke.Beat - half > 0.2 ? 0.5 * share : 0;
            return 0.5 + (((4 * bar) + half + within) * 60 / 92) + jitter();
        });
        // The tempo is given: what is asked here is the writing, not whether 92 or 138 is heard.
        List<Hit> written = [.. Find(hits, new PulseOptions { Tempo = Bpm.Of(92) }).Performance.Hits];
        int quarters = written.Count(hit => 4 % hit.Position!.Value.Within.Denominator == 0);
        Assert.True(quarters >= 0.98 * written.Count, $"{quarters} of {written.Count} at sixteenths");
        Assert.True(written.Count(hit => hit.Position!.Value.Within.Denominator == 4) >= 70);
    }

    [Fact]
    public void Sixteenths_swung_by_1_8_are_heard_as_such_without_a_tempo_given()
    {
        const double share = 1.8 / 2.8;
        Func<double> jitter = Jitter(0.004);
        List<Hit> hits = Play(Sixteenths, 8, (bar, stroke) =>
        {
            double half = Math.Floor(stroke.Beat * 2) / 2;
            return 0.5 + (((4 * bar) + half + (stroke.Beat - half > 0.2 ? 0.5 * share : 0)) * 60 / 92) + jitter();
        });
        Performance found = Find(hits).Performance;
        Assert.Equal(92, found.Pulse.MeanTempo.Value, 0);
        Assert.Equal(0.5, TimeOfOne(found.Pulse), 1);
    }

    [Fact]
    public void A_passage_that_starts_on_four_has_its_bar_lines_where_they_are()
    {
        List<Hit> hits = [.. Steady(Rock, 9, 104).Where(hit => hit.Time.TotalSeconds > 0.5 + (2.9 * 60 / 104))];
        Pulse pulse = Find(hits).Performance.Pulse;
        Assert.Equal(Meter.FourFour, pulse.Meter);
        Assert.Equal(0.5 + (4 * 60 / 104.0), TimeOfOne(pulse), 2);
    }

    [Theory]
    [InlineData(1.5)]
    [InlineData(2.0)]
    public void A_shuffle_is_written_as_eighths(double ratio)
    {
        double share = ratio / (1 + ratio);
        Func<double> jitter = Jitter(0.004);
        List<Hit> hits = Play(Rock, 8, (bar, stroke) => 0.5 + (((4 * bar) + Math.Floor(stroke.Beat) + (stroke.Beat % 1 > 0 ? share : 0)) * 60 / 112) + jitter());
        Performance found = Find(hits).Performance;
        Assert.Equal(112, found.Pulse.MeanTempo.Value, 0);
        Assert.All(found.Hits, hit => Assert.Equal(0, 2 % hit.Position!.Value.Within.Denominator));
    }

    // Common practice, no source: a shuffle is written in eighths; a beat in which the middle triplet is struck as well is a triplet.
    [Theory]
    [InlineData(1.7)]
    [InlineData(2.0)]
    public void In_a_shuffle_a_beat_with_the_middle_triplet_is_a_triplet_and_no_other(double ratio)
    {
        double share = ratio / (1 + ratio);
        Func<double> jitter = Jitter(0.004);
        // A ghost on the middle triplet of two beats in three.
        Stroke[] shuffle = [.. Rock, new(1 + (1 / 3.0), KitPiece.Snare, 30), new(2 + (1 / 3.0), KitPiece.Snare, 30)];
        double Sounding(double beat) => (beat % 1) switch { 0 => beat, 0.5 => Math.Floor(beat) + share, _ => beat };
        List<Hit> hits = Play(shuffle, 8, (bar, stroke) => 0.5 + (((4 * bar) + Sounding(stroke.Beat)) * 60 / 112) + jitter());
        Performance found = Find(hits).Performance;
        Assert.Equal(112, found.Pulse.MeanTempo.Value, 0);
        Assert.All(found.Hits, hit =>
        {
            BarPosition place = hit.Position!.Value;
            Assert.Equal(0, (place.Beat is 2 or 3 ? 3 : 2) % place.Within.Denominator);
        });
        Assert.Equal(16, found.Hits.Count(hit => hit.Position!.Value.Within == new Fraction(1, 3)));
    }

    [Fact]
    public void Lay_back_does_not_bend_the_pulse()
    {
        // Kick +18 ms, snare +6 ms against a hat on time: the beats stay with the hat.
        Func<double> jitter = Jitter(0.003);
        List<Hit> hits = Play(Sixteenths, 8, (bar, stroke) => 0.5 + (((4 * bar) + stroke.Beat) * 60 / 92)
            + (stroke.Piece == KitPiece.Kick ? 0.018 : stroke.Piece == KitPiece.Snare ? 0.006 : 0) + jitter(), crashOnOne: false);
        Performance found = Find(hits).Performance;
        double Mean(KitPiece piece) => found.PlacedHits().Where(placed => placed.Hit.Piece == piece).Average(placed => placed.Deviation.Milliseconds);
        Assert.InRange(Mean(KitPiece.HatClosed), -1, 1);
        Assert.InRange(Mean(KitPiece.Kick) - Mean(KitPiece.HatClosed), 16.5, 19.5);
        Assert.InRange(Mean(KitPiece.Snare) - Mean(KitPiece.HatClosed), 4.5, 7.5);
    }

    [Fact]
    public void Half_time_keeps_the_hats_beat()
    {
        Stroke[] halfTime = [new(0, KitPiece.Kick, 112), new(1.5, KitPiece.Kick, 95), new(2, KitPiece.Snare, 114), new(3.5, KitPiece.Kick, 90),
            .. Enumerable.Range(0, 8).Select(i => new Stroke(i / 2.0, KitPiece.HatClosed, i % 2 == 0 ? 85 : 60))];
        Pulse pulse = Find(Steady(halfTime, 8, 132)).Performance.Pulse;
        // 132 and 66 are both honest readings of half-time; three against two is not.
        Assert.Contains((int)Math.Round(pulse.MeanTempo.Value), (int[])[132, 66]);
    }

    [Fact]
    public void Three_four_is_found()
    {
        Stroke[] waltz = [new(0, KitPiece.Kick, 112), new(1, KitPiece.Snare, 90), new(2, KitPiece.Snare, 92), new(2.5, KitPiece.Kick, 70),
            .. Enumerable.Range(0, 6).Select(i => new Stroke(i / 2.0, KitPiece.Ride, i == 0 ? 90 : 65))];
        Pulse pulse = Find(Steady(waltz, 12, 126, beatsPerBar: 3)).Performance.Pulse;
        Assert.Equal(new Meter(3, 4), pulse.Meter);
        Assert.Equal(0.5, TimeOfOne(pulse), 2);
    }

    [Fact]
    public void Six_eight_given_is_counted_in_dotted_quarters()
    {
        Stroke[] six = [new(0, KitPiece.Kick, 112), new(1, KitPiece.Snare, 110), new(5 / 3.0, KitPiece.Kick, 85),
            .. Enumerable.Range(0, 6).Select(i => new Stroke(i / 3.0, KitPiece.HatClosed, i % 3 == 0 ? 85 : 60))];
        Performance found = Find(Steady(six, 12, 62, beatsPerBar: 2), new PulseOptions { Meter = new Meter(6, 8) }).Performance;
        Assert.Equal(62, found.Pulse.MeanTempo.Value, 0);
        Assert.Contains(found.Hits, hit => hit.Piece == KitPiece.Kick && hit.Position == new BarPosition(2, 2, new Fraction(2, 3)));
    }

    [Fact]
    public void A_pickup_lies_before_bar_one()
    {
        List<Hit> hits = Steady(Rock, 8, 100, start: 2);
        hits.AddRange([Of(2 - 0.6, KitPiece.Snare, 80), Of(2 - 0.3, KitPiece.TomLow, 95)]);
        Performance found = Find(hits).Performance;
        Assert.Equal(2, TimeOfOne(found.Pulse), 2);
        Assert.Equal(new BarPosition(0, 4, Fraction.Zero), found.Hits[0].Position);
        Assert.Equal(new BarPosition(0, 4, new Fraction(1, 2)), found.Hits[1].Position);
    }

    [Fact]
    public void Two_bars_are_enough_but_doubted()
    {
        PulseResult result = Find(Steady(Sixteenths, 2, 92));
        Assert.Equal(92, result.Performance.Pulse.MeanTempo.Value, 0);
        Assert.Equal(0.5, TimeOfOne(result.Performance.Pulse), 2);
        Assert.Contains(result.Doubts, doubt => doubt is FewBars);
    }

    [Fact]
    public void Flams_take_the_place_of_their_main_stroke()
    {
        List<Hit> hits = Steady(Rock, 8, 100);
        foreach (double beat in (double[])[3, 11, 19])
            hits.Add(Of(0.5 + (beat * 0.6) - 0.028, KitPiece.Snare, 45));
        Performance found = Find(hits).Performance;
        foreach (Hit grace in found.Hits.Where(hit => hit.Velocity == 45))
            Assert.Equal((4, Fraction.Zero), (grace.Position!.Value.Beat, grace.Position!.Value.Within));
    }

    [Fact]
    public void One_loose_stroke_stays_a_sixteenth()
    {
        List<Hit> hits = Steady(Sixteenths, 8, 92);
        int loose = hits.FindIndex(hit => hit.Piece == KitPiece.Kick && hit.Time.TotalSeconds > 8 && Math.Abs((hit.Time.TotalSeconds - 0.5) * 92 / 60 % 4 - 0.75) < 0.01);
        // From 3/4 of the beat to 0.70, nearer to 2/3.
        hits[loose] = hits[loose] with { Time = hits[loose].Time - Seconds.Of(0.05 * 60 / 92) };
        Hit written = Find(hits).Performance.Hits.Single(hit => hit.Time == hits[loose].Time && hit.Piece == KitPiece.Kick);
        Assert.Equal(new Fraction(3, 4), written.Position!.Value.Within);
    }

    [Fact]
    public void Half_an_hour_is_read_in_one_go()
    {
        // 900 bars at 120 bpm. What counts is that beats are neither lost nor added on the way; no time is asserted.
        Func<double> jitter = Jitter(0.006);
        List<Hit> hits = Play(Rock, 900, (bar, stroke) => 0.5 + (((4 * bar) + stroke.Beat) * 0.5) + jitter());
        foreach (PulseOptions options in (PulseOptions[])[new() { Tempo = Bpm.Of(120) }, new()])
        {
            Pulse pulse = Find(hits, options).Performance.Pulse;
            Assert.InRange(pulse.LastBar, 900, 901);
            Assert.Equal(0.5, TimeOfOne(pulse), 2);
        }
    }

    [Fact]
    public void Seven_eight_is_found()
    {
        // Two, two and three: kick on the first and third group, backbeat on the others (common practice, no source).
        Stroke[] seven = [new(0, KitPiece.Kick, 112), new(2, KitPiece.Snare, 110), new(4, KitPiece.Kick, 106), new(6, KitPiece.Snare, 108),
            .. Enumerable.Range(0, 7).Select(i => new Stroke(i, KitPiece.HatClosed, i is 0 or 2 or 4 or 6 ? 85 : 62))];
        Pulse pulse = Find(Steady(seven, 12, 232, beatsPerBar: 7)).Performance.Pulse;
        Assert.Equal(new Meter(7, 8), pulse.Meter);
        Assert.Equal(0.5, TimeOfOne(pulse), 2);
    }

    [Fact]
    public void A_stated_tempo_is_believed_before_one_near_it()
    {
        // A pattern of 17 against 16: strokes every 17/16 beat beside the beat's own would pull the tempo to 94.
        List<Hit> hits = Steady(Rock, 8, 100);
        for (int k = 0; k < 30; k++)
            hits.Add(Of(0.5 + (k * 0.6 * 17 / 16), KitPiece.TomLow, 90));
        Assert.Equal(100, Find(hits, new PulseOptions { Tempo = Bpm.Of(100) }).Performance.Pulse.MeanTempo.Value, 0);
    }

    private static double Invert(Func<double, double> rising, double value)
    {
        double low = 0;
        double high = 1000;
        for (int i = 0; i < 80; i++)
        {
            double middle = (low + high) / 2;
            if (rising(middle) < value)
                low = middle;
            else
                high = middle;
        }

        return low;
    }
}
