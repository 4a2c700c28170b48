using System.Numerics.Tensors;
using Hindbeat.Performances;
using Hindbeat.Sound;

namespace Hindbeat.Listening;

/// <summary>
/// Which of the snare's strokes caught the rim, where the recording shows it: its loud strokes fall into two groups by how much rim (1 to 2.6 kHz) is in them beside the drum's
/// body (180 to 350 Hz), the groups stand clear of one another, and the brighter one is no softer.
/// </summary>
/// <remarks>
/// What a rimshot sounds like differs from drum to drum, so there is no limit for one stroke alone: where all loud strokes are alike, none is marked. Strokes with a tom or
/// cymbal are not judged.
/// </remarks>
internal static class RimshotFinder
{
    private static readonly (double Low, double High) Rim = (1000, 2600), Body = (180, 350);

    /// <summary>Strokes this far under the loud ones (the 80th percentile), in dB, are ghosts and plain soft strokes: not judged.</summary>
    private const double SoftBelow = 9;

    /// <summary>A group has at least this many strokes.</summary>
    private const int FewestStrokes = 3;

    /// <summary>
    /// The groups' means lie this far apart, in dB (on two kits with rimshots, training takes: 6.1 and more; without any at most 4.9), and at least this many times what strokes
    /// within a group scatter.
    /// </summary>
    private const double LeastApart = 5.5;
    private const double LeastClear = 4;

    /// <summary>The brighter group may be this much softer, in dB.</summary>
    private const double SofterBy = 2;

    /// <summary>The attack's peak lies within this many frames of the onset.</summary>
    private const int Attack = 3;

    /// <summary>So many frames before the onset is heard what rings on.</summary>
    private const int Ahead = 3;

    /// <param name="hits">All strokes heard, sorted by time.</param>
    /// <returns>Indices of rimshots.</returns>
    public static List<int> Find(BandPowers powers, IReadOnlyList<Hit> hits)
    {
        ArgumentNullException.ThrowIfNull(hits);
        List<(int Hit, double Bright, double Loud)> strokes = [];
        for (int i = 0; i < hits.Count; i++)
        {
            if (hits[i].Piece == KitPiece.Snare && !Company.Has(hits, i, family => family is PieceFamily.Tom or PieceFamily.Cymbal) && Brightness(powers, hits[i]) is { } bright)
                strokes.Add((i, bright, hits[i].Level.Dbfs));
        }

        if (strokes.Count < 2 * FewestStrokes)
            return [];
        double[] levels = [.. strokes.Select(stroke => stroke.Loud).Order()];
        double soft = levels[(int)(0.8 * (levels.Length - 1))] - SoftBelow;
        strokes = [.. strokes.Where(stroke => stroke.Loud >= soft).OrderBy(stroke => stroke.Bright)];
        return Split([.. strokes.Select(stroke => stroke.Bright)]) is { } at
            && strokes.Skip(at).Average(stroke => stroke.Loud) >= strokes.Take(at).Average(stroke => stroke.Loud) - SofterBy
            ? [.. strokes.Skip(at).Select(stroke => stroke.Hit)]
            : [];
    }

    /// <summary>Where sorted values part into two groups with least variance within them (Otsu, IEEE Transactions on Systems, Man, and Cybernetics 9:62–66, 1979); null where they do not stand clear.</summary>
    /// <returns>How many values belong to the lower group.</returns>
    internal static int? Split(double[] sorted)
    {
        int? best = null;
        double least = double.MaxValue;
        for (int at = FewestStrokes; at <= sorted.Length - FewestStrokes; at++)
        {
            double within = Squares(sorted.AsSpan(0, at)) + Squares(sorted.AsSpan(at));
            if (within < least)
                (least, best) = (within, at);
        }

        if (best is not { } split)
            return null;
        double apart = TensorPrimitives.Average<double>(sorted.AsSpan(split)) - TensorPrimitives.Average<double>(sorted.AsSpan(0, split));
        double scatter = Math.Sqrt(least / Math.Max(1, sorted.Length - 2));
        return apart >= Math.Max(LeastApart, LeastClear * scatter) ? split : null;

        static double Squares(ReadOnlySpan<double> values)
        {
            double mean = TensorPrimitives.Average(values);
            double sum = 0;
            foreach (double value in values)
                sum += (value - mean) * (value - mean);
            return sum;
        }
    }

    private static double? Brightness(BandPowers powers, Hit hit)
    {
        int onset = powers.FrameOf(hit.Time.ToSample(MonoSound.AnalysisRate));
        return onset >= Ahead && onset + Attack < powers.Frames && New(powers, onset, Rim) is { } rim && New(powers, onset, Body) is { } body ? 10 * Math.Log10(rim / body) : null;
    }

    private static double? New(BandPowers powers, int onset, (double Low, double High) hertz)
    {
        (int first, int end) = (BandPowers.BandOf(hertz.Low), BandPowers.BandOf(hertz.High) + 1);
        float before = TensorPrimitives.Sum(powers.At(onset - Ahead)[first..end]);
        float most = 0;
        for (int frame = onset; frame <= onset + Attack; frame++)
            most = Math.Max(most, TensorPrimitives.Sum(powers.At(frame)[first..end]));
        return most > 2 * before ? most - before : null;
    }
}
