using CsCheck;
using Hindbeat.Charting;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;
using static Hindbeat.Tests.Charting.WrittenPassages;

namespace Hindbeat.Tests.Charting;

/// <summary>The written values of simple known bars, and what must hold for any passage.</summary>
public class ChartMakerTests
{
    [Fact]
    public void Every_placed_stroke_is_on_the_page_exactly_once() => Any.Sample(performance =>
    {
        Chart chart = ChartMaker.Make(performance, null, Plain);
        int[] written = [.. chart.Notes().SelectMany(note => note.Graces.Where(grace => grace.Hit is not null).Select(grace => grace.Hit!.Value).Append(note.Hit)).Order()];
        int[] placed = [.. performance.Hits.Select((hit, i) => (hit, i)).Where(pair => pair.hit.Position is not null).Select(pair => pair.i)];
        Assert.Equal(placed, written);
        foreach (ChartNote note in chart.Notes())
            Assert.Equal(performance.Hits[note.Hit].Piece, note.Piece);
    }, iter: 1000);

    [Fact]
    public void The_voices_of_every_bar_add_up_to_the_bar_without_gap_or_overlap() => Any.Sample(performance =>
    {
        Chart chart = ChartMaker.Make(performance, null, Plain);
        foreach (ChartBar bar in chart.Bars)
        {
            Assert.Equal(new Fraction(chart.Meter.Numerator, chart.Meter.Denominator), bar.Start + bar.Length);
            foreach (ChartVoice voice in bar.Voices)
            {
                Fraction at = bar.Start;
                foreach (ChartEvent happening in voice.Events)
                {
                    Assert.Equal(at, happening.At);
                    Assert.True(happening.Length > 0);
                    at = happening.End;
                }

                Assert.Equal(bar.Start + bar.Length, at);
            }
        }
    }, iter: 1000);

    [Fact]
    public void Printed_values_times_their_tuplet_give_the_sounding_length() => Any.Sample(performance =>
    {
        foreach (ChartVoice voice in ChartMaker.Make(performance, null, Plain).Bars.SelectMany(bar => bar.Voices))
        {
            for (int i = 0; i < voice.Events.Count; i++)
            {
                ChartEvent happening = voice.Events[i];
                if (happening.FillsBar)
                    continue;
                Tuplet? tuplet = voice.Tuplets.SingleOrDefault(candidate => candidate.First <= i && i <= candidate.Last);
                Fraction shrink = tuplet is null ? 1 : new Fraction(tuplet.Normal, tuplet.Actual);
                Assert.Equal(happening.Value.Length * shrink, happening.Length);
            }
        }
    }, iter: 1000);

    [Fact]
    public void Strokes_on_ordinary_grids_keep_their_exact_place() => Any.Sample(performance =>
    {
        Chart chart = ChartMaker.Make(performance, null, Plain);
        if (chart.Doubts.OfType<FinerThanNotation>().Any())
            return;
        foreach (ChartBar bar in chart.Bars)
        {
            foreach (ChartEvent happening in bar.Voices.SelectMany(voice => voice.Events))
            {
                foreach (ChartNote note in happening.Notes)
                {
                    BarPosition position = performance.Hits[note.Hit].Position!.Value;
                    Assert.Equal(bar.Number, position.Bar);
                    Assert.Equal((new Fraction(position.Beat - 1) + position.Within) * chart.Meter.BeatLength, happening.At);
                }
            }
        }
    }, iter: 1000);

    [Theory]
    [InlineData("0 1 2 3", "q q q q")]
    [InlineData("0 1/2 1 3/2 2 5/2 3 7/2", "8 8 8 8 8 8 8 8")]
    [InlineData("0 3/4 1 5/4 3/2 7/4 2 3", "8. 16 16 16 16 16 q q")]
    [InlineData("0 1/4 3/4 1 2 3", "16 8 16 q q q")]
    [InlineData("0", "q rq rh")]
    [InlineData("2", "rh q rq")]
    [InlineData("1 3", "rq q rq q")]
    [InlineData("3/4 1 2 3", "r8. 16 q q q")]
    [InlineData("1/4 1 2 3", "r16 8. q q q")]
    [InlineData("1/2 5/2", "r8 8 rq r8 8 rq")]
    [InlineData("0 1/3 2/3 1 5/3 2 3", "8 8 8 q 8 q q")]
    [InlineData("0 1/6 1/3 1/2 1 2 3", "16 16 16 8 q q q")]
    [InlineData("0 1/8 1/4 3/8 1/2 5/8 3/4 7/8 1 2 3", "32 32 32 32 32 32 32 32 q q q")]
    public void Simple_bars_of_four_four_read_as_drummers_write_them(string places, string written)
    {
        // Common practice, no source: no rest after a stroke, one rest before a late one, half rests only for beats 1-2 and 3-4.
        Chart chart = ChartMaker.Make(Typed("4/4", 100, 1, ("snare", places)), null, Plain);
        Assert.Equal(written, Spell(chart.Bars[0].Hands));
    }

    [Theory]
    [InlineData("6/8", "0 1", "q. q.")]
    [InlineData("6/8", "0 1/3 2/3 1 5/3", "8 8 8 q 8")]
    [InlineData("6/8", "1", "rq. q.")]
    [InlineData("12/8", "0 1/2 1 2 3", "8. 8. q. q. q.")]
    [InlineData("7/8", "0 1 2 3 4 5 6", "8 8 8 8 8 8 8")]
    [InlineData("7/8", "0 2 4", "q q q.")]
    [InlineData("3/4", "0", "q rq rq")]
    [InlineData("5/4", "0 3", "q rq rq q rq")]
    [InlineData("2/2", "0 1/2 1", "q q h")]
    public void Other_meters_read_as_drummers_write_them(string meter, string places, string written)
    {
        Chart chart = ChartMaker.Make(Typed(meter, 100, 1, ("snare", places)), null, Plain);
        Assert.Equal(written, Spell(chart.Bars[0].Hands));
    }

    [Fact]
    public void Triplets_are_three_in_the_time_of_two()
    {
        ChartVoice hands = ChartMaker.Make(Typed("4/4", 100, 1, ("ride", "0 2/3 1 2 3")), null, Plain).Bars[0].Hands;
        Tuplet tuplet = Assert.Single(hands.Tuplets);
        Assert.Equal((0, 1, 3, 2, new NoteValue(3)), (tuplet.First, tuplet.Last, tuplet.Actual, tuplet.Normal, tuplet.Unit));
    }

    [Fact]
    public void Seven_eight_is_beamed_in_twos_with_a_last_three()
    {
        ChartVoice hands = ChartMaker.Make(Typed("7/8", 200, 1, ("ride", "0 1 2 3 4 5 6")), null, Plain).Bars[0].Hands;
        Assert.Equal([new BeamRun(0, 1), new BeamRun(2, 3), new BeamRun(4, 6)], hands.Beams);
    }

    [Fact]
    public void Hands_and_feet_are_two_voices_and_a_silent_one_is_hidden()
    {
        ChartBar bar = ChartMaker.Make(Typed("4/4", 100, 1, ("hat-closed", "0 1 2 3"), ("kick", "0 2"), ("hat-pedal", "1 3")), null, Plain).Bars[0];
        Assert.Equal([KitPiece.Kick, KitPiece.HatPedal, KitPiece.Kick, KitPiece.HatPedal], bar.Feet.Events.SelectMany(e => e.Notes).Select(n => n.Piece));
        ChartBar handsOnly = ChartMaker.Make(Typed("4/4", 100, 1, ("hat-closed", "0 1 2 3")), null, Plain).Bars[0];
        Assert.True(Assert.Single(handsOnly.Feet.Events).Hidden);
    }

    [Fact]
    public void A_passage_that_begins_before_bar_one_has_a_short_first_bar()
    {
        Performance performance = Typed("4/4", 100, 2, 0, ("snare", "3 7/2", HitMarks.None));
        ChartBar pickup = ChartMaker.Make(performance, null, Plain).Bars[0];
        Assert.True(pickup.IsPickup);
        Assert.Equal((0, new Fraction(3, 4), new Fraction(1, 4)), (pickup.Number, pickup.Start, pickup.Length));
    }

    [Fact]
    public void Two_strokes_of_one_piece_at_one_place_are_a_flam_whose_last_stroke_is_the_note()
    {
        Performance plain = Typed("4/4", 100, 1, ("snare", "0 1"));
        Hit early = plain.Hits[1] with { Time = plain.Hits[1].Time - Seconds.FromMilliseconds(25), Velocity = 30 };
        ChartEvent second = ChartMaker.Make(new Performance(plain.Pulse, [.. plain.Hits, early]), null, Plain).Bars[0].Hands.Events[1];
        ChartNote note = Assert.Single(second.Notes);
        Assert.Equal(2, note.Hit);
        Assert.Equal(1, Assert.Single(note.Graces).Hit);
    }

    [Fact]
    public void A_swung_passage_placed_on_triplets_is_written_straight_with_a_direction()
    {
        Performance performance = Typed("4/4", 100, 2, ("ride", "0 2/3 1 5/3 2 8/3 3 11/3"), ("snare", "1 4/3 5/3"));
        Chart chart = ChartMaker.Make(performance, Swung(SwingLevel.Eighth, 1.8), Plain);
        Assert.Equal("swung 8ths (1.80 : 1)", chart.Swing!.ToString());

        // Beat 2 has a real triplet and stays one; the others become plain eighths.
        Assert.Equal("8 8 8 8 8 8 8 8 8", Spell(chart.Bars[0].Hands));
        Assert.Single(chart.Bars[0].Hands.Tuplets);
        Assert.Null(ChartMaker.Make(performance, Swung(SwingLevel.Eighth, 1.8), Plain with { SwingWriting = SwingWriting.AsPlaced }).Swing);
    }

    [Fact]
    public void A_performance_without_places_is_refused_in_one_line()
    {
        Performance placed = Typed("4/4", 100, 1, ("snare", "0"));
        var bare = new Performance(placed.Pulse, placed.Hits.Select(hit => hit with { Position = null }));
        Assert.DoesNotContain("\n", Assert.Throws<InputException>(() => ChartMaker.Make(bare, null, Plain)).Message, StringComparison.Ordinal);
    }

    /// <summary>"8. 16 rq": r = rest, w h q 8 16 32 … with dots.</summary>
    private static string Spell(ChartVoice voice) => string.Join(' ', voice.Events.Select(happening =>
        (happening.IsRest ? "r" : "")
        + (happening.Value.Halvings switch { 0 => "w", 1 => "h", 2 => "q", var halvings => (1 << halvings).ToString(System.Globalization.CultureInfo.InvariantCulture) })
        + new string('.', happening.Value.Dots)));
}
