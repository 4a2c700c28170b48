using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Units;

namespace Hindbeat.Tests.Rebuilding;

public class InventedPassageTests
{
    [Fact]
    public void A_seed_gives_the_same_passage_and_another_seed_another()
    {
        Assert.Equal(InventedPassage.Make(4).Performance.Hits, InventedPassage.Make(4).Performance.Hits);
        Assert.NotEqual(InventedPassage.Make(4).Performance.Hits, InventedPassage.Make(5).Performance.Hits);
    }

    [Fact]
    public void Gaussians_have_mean_0_and_deviation_1()
    {
        var dice = new SplitMix64(9);
        double[] drawn = [.. Enumerable.Range(0, 20000).Select(_ => dice.Gaussian())];
        Assert.Equal(0, drawn.Average(), 0.03);
        Assert.Equal(1, Math.Sqrt(drawn.Average(x => x * x)), 0.02);
    }

    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(99)]
    public void The_strokes_hold_the_figures_that_were_put_in(ulong seed)
    {
        InventedPassage passage = InventedPassage.Make(seed);
        Pulse pulse = passage.Performance.Pulse;
        Assert.Equal(8, pulse.LastBar);
        Assert.Equal(92, passage.Truth.Tempo.Value, 0.1);
        foreach ((KitPiece piece, double ms) in new[] { (KitPiece.HatClosed, 0.0), (KitPiece.Kick, 18.0), (KitPiece.Snare, 6.0) })
        {
            double[] straight = [.. passage.Performance.PlacedHits().Where(hit => hit.Hit.Piece == piece && hit.Position.Within.Denominator < 4).Select(hit => hit.Deviation.Milliseconds)];
            Assert.True(straight.Length >= 8);
            Assert.Equal(ms, straight.Average(), 1e-6);
            Assert.Equal(ms, passage.Truth.LayBack[piece].Milliseconds, 1e-9);
        }

        // Swing as a share of the beat: a stroke's place on the pulse, less its written place, over a pair of half a beat.
        double share = passage.Performance.PlacedHits()
            .Where(hit => hit.Hit.Piece == KitPiece.HatClosed && hit.Position.Within.Denominator == 4)
            .Average(hit => (pulse.BeatsAt(hit.Hit.Time) - pulse.BeatsFromFirst(hit.Position).ToDouble() + 0.25) / 0.5);
        Assert.Equal(1.62, share / (1 - share), 0.002);
    }

    [Fact]
    public void It_holds_ghosts_an_open_hat_and_toms()
    {
        IReadOnlyList<Hit> hits = InventedPassage.Make(1).Performance.Hits;
        Assert.True(hits.Count(hit => hit.Marks == HitMarks.Ghost && hit.Velocity < 50) >= 12);
        Assert.True(hits.Count(hit => hit.Piece == KitPiece.HatOpen) >= 3);
        Assert.Contains(hits, hit => hit.Piece == KitPiece.TomLow);
        Assert.Equal(hits.Count, hits.Select(hit => (hit.Piece, hit.Position)).Distinct().Count());
    }
}
