using System.Numerics.Tensors;
using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Listening;

/// <summary>How long the hat rings after a stroke of the stick: what tells closed, half-open and open cymbals apart, in milliseconds instead of names.</summary>
/// <remarks>
/// The time in which the sound above 6 kHz falls by 20 dB from its attack. Where the next stroke comes before that, the straight line (in decibels) through what is
/// heard until then is followed on. Nothing is said of a stroke under a snare, tom or cymbal, of one in what still rings on, and of one that is left alone for too short a time.
/// </remarks>
internal static class HatRing
{
    /// <summary>Fall that ends a ring, in dB.</summary>
    private const double Fall = 20;

    private const double FromHertz = 6000;

    /// <summary>A ring is not followed beyond this.</summary>
    public static readonly Seconds Longest = Seconds.FromMilliseconds(1500);

    /// <summary>What sounded before must lie this far under the attack, in dB.</summary>
    private const double ClearBefore = 12;

    /// <summary>The attack lasts no longer than this, in frames of the powers.</summary>
    private const int Attack = 4;

    /// <summary>The line starts this long after the attack's peak: its first part falls more steeply.</summary>
    private const int LineFrom = 3;

    /// <summary>A line needs this many frames (58 ms).</summary>
    private const int FewestFrames = 10;

    /// <summary>Half a window of the powers and one frame: so long before a stroke its sound shows.</summary>
    private const int Ahead = (BandPowers.Window / 2 / BandPowers.Hop) + 1;

    /// <param name="hits">All strokes heard, sorted by time.</param>
    /// <param name="metalHertz">As <see cref="OnsetRefiner.MetalBand"/>: where the recording holds nothing above 6 kHz, what is lower counts.</param>
    /// <returns>One a hit; null where the piece is no closed or open hat, or the ring cannot be told.</returns>
    public static Seconds?[] Measure(BandPowers powers, IReadOnlyList<Hit> hits, double metalHertz)
    {
        ArgumentNullException.ThrowIfNull(hits);
        int firstBand = BandPowers.BandOf(Math.Min(FromHertz, metalHertz));
        var rings = new Seconds?[hits.Count];
        for (int i = 0; i < hits.Count; i++)
        {
            if (hits[i].Piece is KitPiece.HatClosed or KitPiece.HatOpen && !Company.Has(hits, i, family => family != PieceFamily.Kick))
                rings[i] = Ring(powers, firstBand, powers.FrameOf(hits[i].Time.ToSample(MonoSound.AnalysisRate)), NextFrame(powers, hits, i));
        }

        return rings;
    }

    private static int NextFrame(BandPowers powers, IReadOnlyList<Hit> hits, int i)
    {
        for (int j = i + 1; j < hits.Count; j++)
        {
            if (hits[j].Time - hits[i].Time > Company.Together)
                return powers.FrameOf(hits[j].Time.ToSample(MonoSound.AnalysisRate)) - Ahead;
        }

        return powers.Frames;
    }

    private static Seconds? Ring(BandPowers powers, int firstBand, int onset, int next)
    {
        int first = Math.Max(0, onset - Ahead);
        int end = Math.Min(Math.Min(next, powers.Frames), onset + (int)(Longest.Value * BandPowers.FrameRate));
        if (onset < 0 || end - onset <= Attack)
            return null;
        float before = Power(first);
        int peak = onset;
        for (int frame = onset; frame <= onset + Attack; frame++)
            peak = Power(frame) > Power(peak) ? frame : peak;
        double attack = Power(peak) - before;
        if (attack <= 0 || 10 * Math.Log10(before / attack) > -ClearBefore)
            return null;

        double last = 0;
        int count = 0;
        double sumX = 0, sumY = 0, sumXx = 0, sumXy = 0;
        for (int frame = peak + 1; frame < end; frame++)
        {
            double level = 10 * Math.Log10(Math.Max(Power(frame) - before, 1e-3 * attack) / attack);
            if (level <= -Fall)
                return Time(frame - peak - ((-Fall - level) / (last - level)));
            last = level;
            if (frame < peak + LineFrom)
                continue;
            double x = frame - peak;
            count++;
            sumX += x;
            sumY += level;
            sumXx += x * x;
            sumXy += x * level;
        }

        if (count < FewestFrames)
            return null;
        double slope = ((count * sumXy) - (sumX * sumY)) / ((count * sumXx) - (sumX * sumX));
        double start = (sumY - (slope * sumX)) / count;
        return slope < 0 ? Time((-Fall - start) / slope) : Longest;

        float Power(int frame) => TensorPrimitives.Sum(powers.At(frame)[firstBand..]);

        static Seconds Time(double frames) => Seconds.FromMilliseconds(Math.Clamp(1000 * frames / BandPowers.FrameRate, 0, Longest.Milliseconds));
    }
}
