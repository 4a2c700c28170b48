using Hindbeat.Performances;

namespace Hindbeat.Listening;

/// <summary>A stroke as the networks have it.</summary>
/// <param name="Sample">Sample of the recording, right to a few milliseconds.</param>
/// <param name="Certainty">Probability of a stroke of the family, 0 to 1.</param>
/// <param name="Velocity">0 to 1.</param>
/// <param name="Column">The column of the peak.</param>
internal readonly record struct CurveStroke(KitPiece Piece, double Sample, float Certainty, float Velocity, int Column)
{
    public PieceFamily Family => Piece.Family();
}

/// <summary>From the network's curves to strokes: peaks of each family's curve, weighed by the comparer, named by the piece that is surest there.</summary>
internal static class CurveStrokes
{
    /// <summary>Whatever the threshold: under this a peak is noise.</summary>
    private const float Least = 0.03f;

    /// <summary>
    /// One limb does not strike a kick, a hat or a cymbal twice within this many samples (50 ms); drums are struck by two
    /// hands, so a snare or tom may (flams). Order of the families.
    /// </summary>
    private static readonly double[] Apart = [2205, 0, 2205, 2205, 0];

    /// <summary>A hat may be this much under the threshold where it fills an even gap: at a snare the drum hides it, the time it keeps does not.</summary>
    private const float HatBelow = 0.08f;

    /// <summary>The same for the comparer's word. Of such hats 59 % were there (room view, train takes).</summary>
    private const float ComparedHatBelow = 0.15f;

    /// <summary>The longest gap that is filled: half a bar of a slow four, in columns.</summary>
    private const int LongestGap = 120;

    /// <summary>A hat in the middle of its gap is off the middle by at most this share of the gap.</summary>
    private const double OffMiddle = 0.06;

    /// <summary>The comparer learned to say a half where a stroke is as likely as not.</summary>
    private const float AsLikelyAsNot = 0.5f;

    private static readonly int[][] Members = [.. Enumerable.Range(0, ListenerModel.Families).Select(family =>
        Enumerable.Range(0, ListenerModel.Pieces).Where(piece => (int)((KitPiece)piece).Family() == family).ToArray())];

    /// <summary>Kicks and snares keep the first network's own place, from which the waveform finds more of them to the millisecond (room view, train takes).</summary>
    private static bool PlacedByComparer(int family) => family is not ((int)PieceFamily.Kick or (int)PieceFamily.Snare);

    /// <summary>Strokes in the light of all others of the passage.</summary>
    /// <returns>Sorted by time.</returns>
    public static List<CurveStroke> Find(ListenerCurves curves, ComparedMoments compared)
    {
        List<CurveStroke> strokes = [];
        for (int family = 0; family < ListenerModel.Families; family++)
        {
            List<(int Column, float Certainty)> peaks = [.. Peaks(curves, family, MomentViews.Least).Select(column =>
                (column, compared.At(column) is int moment ? compared.Onset(moment, family) : curves.Onset(column, family)))];
            foreach ((int column, float certainty) in Sure(curves, peaks, family, AsLikelyAsNot, ComparedHatBelow))
            {
                if (compared.At(column) is not int moment)
                {
                    strokes.Add(ByCurves(curves, family, column));
                    continue;
                }

                int channel = Members[family].MaxBy(piece => compared.Onset(moment, ListenerModel.Families + piece)) + ListenerModel.Families;
                double sample = PlacedByComparer(family)
                    ? curves.From + ((compared.Column(moment) + compared.Place(moment, family)) * ListenerPictures.Hop)
                    : curves.Sample(column, family);
                strokes.Add(new CurveStroke((KitPiece)(channel - ListenerModel.Families), sample, certainty, compared.Velocity(moment, channel), column));
            }
        }

        return InOrder(strokes);
    }

    /// <summary>Strokes as the first network alone has them, to measure what the comparer adds.</summary>
    /// <param name="thresholds">Least onset value of each family.</param>
    /// <returns>Sorted by time.</returns>
    public static List<CurveStroke> Find(ListenerCurves curves, ReadOnlySpan<float> thresholds)
    {
        List<CurveStroke> strokes = [];
        for (int family = 0; family < ListenerModel.Families; family++)
        {
            float sure = Math.Max(thresholds[family], Least);
            List<(int Column, float Certainty)> peaks = [.. Peaks(curves, family, sure - HatBelow).Select(column => (column, curves.Onset(column, family)))];
            foreach ((int column, _) in Sure(curves, peaks, family, sure, HatBelow))
                strokes.Add(ByCurves(curves, family, column));
        }

        return InOrder(strokes);
    }

    private static CurveStroke ByCurves(ListenerCurves curves, int family, int column)
    {
        int piece = Likeliest(curves, family, column);
        return new CurveStroke((KitPiece)piece, curves.Sample(column, family), curves.Onset(column, family), curves.Velocity(column, ListenerModel.Families + piece), column);
    }

    private static List<CurveStroke> InOrder(List<CurveStroke> strokes)
    {
        strokes.Sort((a, b) => a.Sample != b.Sample ? a.Sample.CompareTo(b.Sample) : a.Piece.CompareTo(b.Piece));
        return strokes;
    }

    /// <summary>The peaks that are strokes: sure ones, of those that one limb cannot have struck the surest, and hats that fill an even gap.</summary>
    private static List<(int Column, float Certainty)> Sure(ListenerCurves curves, List<(int Column, float Certainty)> peaks, int family, float sure, float below)
    {
        bool isHat = family == (int)PieceFamily.Hat;
        if (Apart[family] > 0)
            peaks = Surest(curves, family, peaks);
        peaks.RemoveAll(peak => peak.Certainty < (isHat ? sure - below : sure));
        return isHat ? SureOrEven(peaks, sure) : peaks;
    }

    private static List<int> Peaks(ListenerCurves curves, int family, float least)
    {
        List<int> peaks = [];
        for (int t = 0; t < curves.Columns; t++)
        {
            float here = curves.Onset(t, family);
            if (here >= least
                && (t == 0 || here >= curves.Onset(t - 1, family))
                && (t == curves.Columns - 1 || here > curves.Onset(t + 1, family)))
                peaks.Add(t);
        }

        return peaks;
    }

    private static List<(int Column, float Certainty)> Surest(ListenerCurves curves, int family, List<(int Column, float Certainty)> peaks)
    {
        // Peaks are in order of time and their samples almost so; looking a few back and on is enough.
        bool[] gone = new bool[peaks.Count];
        foreach (int i in Enumerable.Range(0, peaks.Count).OrderByDescending(i => curves.Onset(peaks[i].Column, family)))
        {
            if (gone[i])
                continue;
            for (int j = Math.Max(0, i - 8); j <= Math.Min(peaks.Count - 1, i + 8); j++)
            {
                if (j != i && Math.Abs(curves.Sample(peaks[j].Column, family) - curves.Sample(peaks[i].Column, family)) < Apart[family])
                    gone[j] = true;
            }
        }

        return [.. peaks.Where((_, i) => !gone[i])];
    }

    /// <summary>The sure peaks, and of the others those midway between two sure ones.</summary>
    private static List<(int Column, float Certainty)> SureOrEven(List<(int Column, float Certainty)> peaks, float sure)
    {
        List<(int Column, float Certainty)> kept = [];
        for (int i = 0; i < peaks.Count; i++)
        {
            if (peaks[i].Certainty >= sure || (IsSure(i - 1) && IsSure(i + 1) && IsMiddle(peaks[i - 1].Column, peaks[i].Column, peaks[i + 1].Column)))
                kept.Add(peaks[i]);
        }

        return kept;

        bool IsSure(int i) => i >= 0 && i < peaks.Count && peaks[i].Certainty >= sure;

        static bool IsMiddle(int before, int here, int after) =>
            after - before <= LongestGap && Math.Abs(((before + after) / 2.0) - here) <= OffMiddle * (after - before);
    }

    private static int Likeliest(ListenerCurves curves, int family, int column)
    {
        int best = Members[family][0];
        float most = -1;
        foreach (int piece in Members[family])
        {
            for (int t = Math.Max(0, column - 1); t <= Math.Min(curves.Columns - 1, column + 1); t++)
            {
                float value = curves.Onset(t, ListenerModel.Families + piece);
                if (value > most)
                    (most, best) = (value, piece);
            }
        }

        return best;
    }
}
