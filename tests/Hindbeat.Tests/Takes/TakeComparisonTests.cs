using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Takes;
using Hindbeat.Units;

namespace Hindbeat.Tests.Takes;

/// <summary>Takes of an invented passage changed in known ways, four times round; each is drawn anew with the passage's own looseness.</summary>
public class TakeComparisonTests
{
    [Fact]
    public void A_kick_that_comes_later_is_found_named_and_held_by_its_interval()
    {
        Seconds kick = ChangedTake.Feel.LayBack.First(figure => figure.Piece == KitPiece.Kick).Milliseconds.Value is var ms ? Seconds.FromMilliseconds(ms + 12) : default;
        Dials later = Dials.AsPlayed with { Pieces = new Dictionary<KitPiece, PieceDial> { [KitPiece.Kick] = new(LayBackTo: kick) } };
        TakeComparisonResult result = Compare(ChangedTake.Play(4, 21, later));
        FeelDifference found = Assert.Single(result.Reported, one => one.Kind == FeelFigures.LayBack && one.Subject == "kick");
        Assert.InRange(12, found.Difference.Low, found.Difference.High);
        Assert.Contains("kick", result.Advice[0].Text, StringComparison.Ordinal);
        Assert.Contains("earlier", result.Advice[0].Text, StringComparison.Ordinal);
    }

    [Fact]
    public void A_swing_played_straight_is_the_first_thing_to_work_on()
    {
        TakeComparisonResult result = Compare(ChangedTake.Play(4, 22, Dials.AsPlayed with { Swing = 0 }));
        Assert.Contains(result.Reported, one => one.Kind == FeelFigures.Swing);
        Assert.StartsWith("swing", result.Advice[0].Subject, StringComparison.Ordinal);
        Assert.Contains("later", result.Advice[0].Text, StringComparison.Ordinal);
    }

    /// <summary>Off-beats that the take swings are no places to read its kick from, though the passage plays them straight.</summary>
    [Fact]
    public void A_swung_laid_back_take_of_a_straight_passage_differs_in_just_that()
    {
        Pulse pulse = ChangedTake.Passage.Pulse;
        var straight = new Performance(pulse, [.. ChangedTake.Passage.Hits.Where(hit => hit.Position is not null).Select(hit => hit with { Time = pulse.TimeAt(hit.Position!.Value) })]);
        TakeComparisonResult result = TakeComparison.Of(straight, TakeAligner.Align(straight, ChangedTake.Play(4, 26)));

        Estimate Difference(FeelFigureKind kind, string subject) => result.Differences.Single(one => one.Kind == kind && one.Subject == subject).Difference;
        Assert.InRange(18, Difference(FeelFigures.LayBack, "kick").Low, Difference(FeelFigures.LayBack, "kick").High);
        Assert.InRange(0, Difference(FeelFigures.Swing, "8ths").Low, Difference(FeelFigures.Swing, "8ths").High);
        Assert.Contains(result.Reported, one => one.Kind == FeelFigures.Swing && one.Subject == "16ths");
        Assert.DoesNotContain(result.Reported, one => one.Kind == FeelFigures.Habit);
    }

    [Fact]
    public void A_take_in_the_passages_own_feel_is_left_alone()
    {
        int reported = 0;
        for (ulong seed = 0; seed < 20; seed++)
            reported += Compare(ChangedTake.Play(4, 100 + (10 * seed))).Reported.Count > 0 ? 1 : 0;
        // One comparison in twenty may report something; three or more in twenty is a chance of 8 %, five of 0.3 % (binomial).
        Assert.InRange(reported, 0, 4);
    }

    [Fact]
    public void A_stroke_left_out_every_time_is_named_with_its_place()
    {
        List<Hit> hits = ChangedTake.Play(4, 23);
        TakeComparisonResult all = Compare(hits);
        Hit[] onTwo = [.. all.Take.Pairs.Where(pair => pair.Reference is { Piece: KitPiece.Snare, Position: { Beat: 2, Within: var within } } && within == 0).Select(pair => pair.Take)];
        hits.RemoveAll(hit => onTwo.Any(gone => gone.Time == hit.Time && gone.Piece == hit.Piece));
        TakeComparisonResult result = Compare(hits);
        Assert.Equal(onTwo.Length, result.Take.Missed.Count);
        Assert.Contains("snare is missing on beat 2", result.Advice[0].Text, StringComparison.Ordinal);
    }

    /// <summary>A backbeat that is as loud as the passage's is no louder because ghost strokes stand beside it.</summary>
    [Fact]
    public void Ghost_strokes_that_are_added_do_not_make_the_backbeat_louder()
    {
        List<Hit> hits = ChangedTake.Play(4, 31);
        Pulse pulse = ChangedTake.Passage.Pulse;
        double sixteenth = pulse.MeanTempo.Beat.Value / 4;
        Hit[] backbeats = [.. hits.Where(hit => hit.Piece == KitPiece.Snare && hit.Velocity > 90)];
        foreach (Hit hit in backbeats)
            hits.Add(hit with { Time = hit.Time + Seconds.Of(3 * sixteenth), Velocity = 20, Level = Level.FromDbfs(hit.Level.Dbfs - 25) });
        TakeComparisonResult result = Compare(hits);
        Assert.True(result.Take.Extra.Count >= backbeats.Length / 2);
        Assert.DoesNotContain(result.Reported, one => one.Kind == FeelFigures.Accent && one.Subject.StartsWith("snare", StringComparison.Ordinal));
        Assert.Contains(result.Advice, advice => advice.Text.StartsWith("The snare is added on ", StringComparison.Ordinal));
    }

    [Fact]
    public void What_is_wrong_in_every_bar_comes_before_what_is_wrong_once_in_a_phrase()
    {
        List<Hit> hits = ChangedTake.Play(4, 33);
        TakeComparisonResult all = Compare(hits);
        // A crash that the passage has once in eight bars, and the snare on 4 of every bar.
        bool IsLost(PairedStroke pair) => pair.Reference.Piece == KitPiece.Crash || pair.Reference is { Piece: KitPiece.Snare, Position: { Beat: 4, Within: var within } } && within == 0;
        Hit[] lost = [.. all.Take.Pairs.Where(IsLost).Select(pair => pair.Take)];
        hits.RemoveAll(hit => lost.Any(gone => gone.Time == hit.Time && gone.Piece == hit.Piece));
        TakeAdvice[] advice = [.. Compare(hits).Advice];
        Assert.StartsWith("The snare is missing on beat 4 (all ", advice[0].Text, StringComparison.Ordinal);
        Assert.True(advice[0].IsTelling);
    }

    [Theory]
    [InlineData(null, "")]
    [InlineData(1.2, "can be heard")]
    [InlineData(0.6, "hard to hear")]
    [InlineData(0.2, "few would hear it")]
    public void A_difference_says_whether_anyone_could_hear_it(double? times, string words) => Assert.Equal(words, TakeAdvice.Heard(times));

    [Fact]
    public void Against_the_click_only_what_the_recording_delay_leaves_is_told()
    {
        Pulse click = Pulse.Steady(Meter.FourFour, ChangedTake.Passage.Pulse.MeanTempo, AudioTime.FromSeconds(2), 32);
        Dials steady = Dials.AsWritten with { Looseness = 1 };
        AlignedTake take = TakeAligner.Align(ChangedTake.Passage, ChangedTake.Play(2, 24, steady, startMs: 2055), click);
        Assert.Null(TakeComparison.Of(ChangedTake.Passage, take).AgainstClick);
        Assert.Contains(TakeComparison.Of(ChangedTake.Passage, take).Doubts, doubt => doubt is LatencyUnknown);
        var latency = new Latency(Seconds.Of(0.04), Seconds.Of(0.001), Seconds.Of(0.001), 20, []);
        Estimate late = TakeComparison.Of(ChangedTake.Passage, take, latency: latency).AgainstClick!.Late;
        Assert.InRange(15, late.Low, late.High);
        Assert.True(late.HalfWidth >= 1);
    }

    [Fact]
    public void Of_many_figures_without_a_difference_one_comparison_in_twenty_reports_any()
    {
        // Twenty independent figures a comparison, each a fair draw: Holm (1979) keeps the chance of any at 5 %.
        var dice = new Random(7);
        int reported = 0;
        for (int comparison = 0; comparison < 2000; comparison++)
        {
            FeelDifference[] all = [.. Enumerable.Range(0, 20).Select(i =>
            {
                double d = Math.Sqrt(-2 * Math.Log(1 - dice.NextDouble())) * Math.Cos(2 * Math.PI * dice.NextDouble());
                var estimate = new Estimate(d, d - 1.96, d + 1.96);
                return new FeelDifference(i < 10 ? FeelFigures.LayBack : FeelFigures.Habit, "x", estimate, estimate, estimate, null, "");
            })];
            reported += TakeComparison.Sure(all, 1e6).Count > 0 ? 1 : 0;
        }

        Assert.InRange(reported, 70, 130);
    }

    private static TakeComparisonResult Compare(IReadOnlyList<Hit> hits) =>
        TakeComparison.Of(ChangedTake.Passage, TakeAligner.Align(ChangedTake.Passage, hits));
}
