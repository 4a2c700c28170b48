using CsCheck;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Tests.Feel;

/// <summary>The reference is chosen and named, and another one moves every figure as arithmetic says.</summary>
public class ReferenceTests
{
    private static readonly KitPiece[] Pieces = [KitPiece.HatClosed, KitPiece.Snare, KitPiece.Kick];

    private static Performance Groove(int seed)
    {
        var feel = new InventedFeel { Tempo = 94, Bars = 10, Swing16 = 1.5, Missing = 0.05 };
        feel.Groove();
        foreach (KitPiece piece in Pieces)
            feel.LoosenessMs[piece] = 6;
        feel.LayBackMs[KitPiece.Kick] = 12;
        return feel.Make(new Random(seed));
    }

    private static SecondTrack Track(Performance performance, double lateMs, Func<Hit, bool>? chosen = null) => new(
        new Performance(performance.Pulse, performance.Hits.Where(chosen ?? (_ => true)).Select(hit => hit with { Time = hit.Time + Seconds.FromMilliseconds(lateMs) })), "bass");

    [Fact]
    public void A_second_track_later_by_d_moves_every_lay_back_and_place_by_minus_d() =>
        Gen.Select(Gen.Int[0, 10_000], Gen.Double[-40, 40]).Sample((seed, d) =>
        {
            Performance performance = Groove(seed);
            FeelReport a = FeelAnalysis.Measure(performance, secondTrack: Track(performance, 0)), b = FeelAnalysis.Measure(performance, secondTrack: Track(performance, d));
            Assert.Equal(FeelReference.SecondTrack, a.Options.Reference);
            Assert.Equal(("bass", FeelReference.SecondTrack), (b.ReferenceName, b.Reference));
            for (int i = 0; i < a.LayBack.Count; i++)
                Moved(a.LayBack[i].Milliseconds, b.LayBack[i].Milliseconds, -d);
            for (int i = 0; i < a.Places.Count; i++)
                Moved(a.Places[i].Milliseconds, b.Places[i].Milliseconds, -d);
            for (int i = 0; i < a.Places.Count; i++)
                Moved(a.Places[i].Habit, b.Places[i].Habit, 0);
            for (int i = 0; i < a.Swing.Count; i++)
                Moved(a.Swing[i].DelayMs, b.Swing[i].DelayMs, 0);
        }, iter: 10);

    [Fact]
    public void The_passages_own_hat_as_second_track_is_the_hat_as_reference_and_the_hat_lies_at_zero()
    {
        Performance performance = Groove(3);
        FeelReport hand = FeelAnalysis.Measure(performance, new FeelOptions { Reference = FeelReference.TimekeepingHand });
        FeelReport track = FeelAnalysis.Measure(performance, secondTrack: Track(performance, 0, hit => hit.Piece == KitPiece.HatClosed));
        foreach (LayBackFigure figure in track.LayBack)
        {
            // The robust scale of the track is its own: a hair's difference.
            Assert.Equal(hand.LayBack.Single(other => other.Piece == figure.Piece).Milliseconds.Value, figure.Milliseconds.Value, 0.3);
            Assert.True(figure.Identified);
        }
    }

    [Fact]
    public void Against_a_second_track_the_whole_kit_late_is_seen_though_the_pulse_was_found_in_the_drums()
    {
        Performance performance = Groove(4);
        FeelReport late = FeelAnalysis.Measure(performance, secondTrack: Track(performance, -21));
        FeelReport with = FeelAnalysis.Measure(performance, secondTrack: Track(performance, 0));
        Assert.Equal(21, late.LayBack.Average(figure => figure.Milliseconds.Value) - with.LayBack.Average(figure => figure.Milliseconds.Value), 1e-6);
        Assert.DoesNotContain(late.LayBack, figure => figure.Doubts.OfType<IsTheReference>().Any());
    }

    [Fact]
    public void A_track_that_shares_no_bar_or_is_not_given_is_refused()
    {
        Performance performance = Groove(5);
        var elsewhere = new SecondTrack(new Performance(performance.Pulse, performance.Hits.Select(hit => hit with { Position = null })), "bass");
        Assert.Contains("same pulse", Assert.Throws<InputException>(() => FeelAnalysis.Measure(performance, secondTrack: elsewhere)).Message, StringComparison.Ordinal);
        Assert.Contains("none was given", Assert.Throws<InputException>(() => FeelAnalysis.Measure(performance, new FeelOptions { Reference = FeelReference.SecondTrack })).Message, StringComparison.Ordinal);
    }

    /// <summary>
    /// With a grid of one straight line or a parabola the residuals sum to zero, so "the whole kit is late" cannot be seen
    /// (Senn et al., forty popular drum patterns, data readme; arithmetic): the lay-backs against the whole kit, weighted by strokes, sum to zero.
    /// </summary>
    [Fact]
    public void Against_the_whole_kit_the_lay_backs_sum_to_zero() =>
        Gen.Int[0, 10_000].Sample(seed =>
        {
            FeelReport report = FeelAnalysis.Measure(Groove(seed), new FeelOptions { Reference = FeelReference.WholeKit });
            // Every stroke here has confidence 1, so strokes are weights.
            Assert.Equal(0, report.LayBack.Where(figure => figure.Identified).Sum(figure => figure.Hits * figure.Milliseconds.Value) / report.LayBack.Sum(figure => figure.Hits), 1e-6);
        }, iter: 10);

    private static void Moved(Estimate before, Estimate after, double by)
    {
        Assert.Equal(before.Value + by, after.Value, 1e-6);
        Assert.Equal(before.Low + by, after.Low, 1e-4);
        Assert.Equal(before.High + by, after.High, 1e-4);
    }
}
