using Hindbeat.Feel;
using Hindbeat.Performances;

namespace Hindbeat.Tests.Feel;

/// <summary>Two passages side by side, and the distance between feels.</summary>
public class FeelComparisonTests
{
    private static FeelReport Report(int seed, double swing = 1.5, double kick = 10, double gain = 0, double tempo = 94, int bars = 12)
    {
        var feel = new InventedFeel { Tempo = tempo, Bars = bars, Swing16 = swing };
        feel.Groove();
        for (int i = 0; i < feel.Pattern.Count; i++)
            feel.Pattern[i] = feel.Pattern[i] with { Level = feel.Pattern[i].Level + gain };
        foreach (KitPiece piece in new[] { KitPiece.HatClosed, KitPiece.Snare, KitPiece.Kick })
            feel.LoosenessMs[piece] = 5;
        feel.LayBackMs[KitPiece.Kick] = kick;
        return FeelAnalysis.Measure(feel.Make(new Random(seed)));
    }

    /// <summary>Even intervals add as roots of squares: ±3 and ±4 give ±5 (textbook); uneven ones end by end (Zou and Donner 2008).</summary>
    [Fact]
    public void Intervals_of_a_difference_by_hand()
    {
        Estimate even = FeelComparison.Minus(new Estimate(10, 7, 13), new Estimate(4, 0, 8));
        Assert.Equal((6.0, 1.0, 11.0), (even.Value, even.Low, even.High));
        Estimate uneven = FeelComparison.Minus(new Estimate(10, 7, 22), new Estimate(4, -1, 8));
        Assert.Equal((6.0, 1.0, 19.0), (uneven.Value, uneven.Low, uneven.High));
    }

    [Fact]
    public void A_kick_20_ms_later_and_a_harder_swing_are_found_and_worded_with_audibility()
    {
        FeelComparisonResult result = FeelComparison.Between(Report(1), Report(2, swing: 1.8, kick: 30));

        FeelDifference kick = result.Differences.Single(difference => difference.Kind == FeelFigures.LayBack && difference.Subject == "kick");
        Assert.True(kick.IsSure);
        Assert.Equal(20, kick.Difference.Value, 1.5 * kick.Difference.HalfWidth);
        FeelDifference swing = result.Differences.Single(difference => difference.Kind == FeelFigures.Swing && difference.Subject == "16ths");
        Assert.Equal(0.3, swing.Difference.Value, 1.5 * swing.Difference.HalfWidth);
        Assert.StartsWith("The 16ths swing more in the second", swing.Text, StringComparison.Ordinal);
        Assert.Contains("below the 24 ms that listeners in one study could tell", swing.Text, StringComparison.Ordinal);
        Assert.Empty(result.Doubts);
    }

    [Fact]
    public void A_passage_against_itself_differs_in_nothing_and_lies_at_distance_zero()
    {
        FeelReport report = Report(3);
        Assert.All(FeelComparison.Between(report, report).Differences, difference =>
        {
            Assert.Equal(0, difference.Difference.Value, 1e-12);
            Assert.False(difference.IsSure);
        });
        Assert.Equal(0, FeelDistance.Between(report, report)!.Value, 1e-12);
    }

    [Fact]
    public void Different_references_are_a_doubt_and_lay_backs_are_left_out()
    {
        FeelReport report = Report(4);
        FeelComparisonResult result = FeelComparison.Between(report, report with { Reference = FeelReference.Snare, ReferenceName = "snare" });
        Assert.IsType<DifferentReferences>(Assert.Single(result.Doubts));
        Assert.DoesNotContain(result.Differences, difference => difference.Kind == FeelFigures.LayBack || difference.Kind == FeelFigures.Place);
    }

    [Fact]
    public void The_same_feel_louder_and_slower_is_nearer_than_another_feel_and_distance_is_symmetric()
    {
        FeelReport one = Report(5), alike = Report(6, gain: -15, tempo: 90), other = Report(7, swing: 1.1, kick: 35);
        double near = FeelDistance.Between(one, alike)!.Value, far = FeelDistance.Between(one, other)!.Value;
        Assert.True(near < 0.6 * far, $"alike {near:0.00}, other {far:0.00}");
        Assert.Equal(far, FeelDistance.Between(other, one)!.Value, 1e-12);
    }

    [Fact]
    public void Two_passages_with_nothing_in_common_have_no_distance()
    {
        FeelReport kick = FeelAnalysis.Measure(new Typed(100, 8).EveryBar(KitPiece.Kick, 1, 0, 0).Make());
        FeelReport ride = FeelAnalysis.Measure(new Typed(100, 8).EveryBar(KitPiece.Ride, 2, 0, 0).Make());
        Assert.Null(FeelDistance.Between(kick, ride));
    }
}
