using System.Numerics.Tensors;
using Hindbeat.Performances;

namespace Hindbeat.Listening;

/// <summary>A stroke that shapes are learned from: its sound around its first time, and how it lies on the shapes so far.</summary>
/// <param name="Bands">The family's three bands and the onset's, <see cref="ShapeLearner.Length"/> + 2 · <see cref="ShapeMatcher.Reach"/> samples each.</param>
/// <param name="Index">Which of the passage's strokes it is.</param>
/// <param name="At">Sample of the recording of its first time.</param>
/// <param name="Sound">All it sounds, <see cref="AverageSound.Heard"/> + 2 · <see cref="ShapeMatcher.Reach"/> samples from <see cref="AverageSound.Lead"/> before its first time; empty = not asked for.</param>
internal sealed record LearnedStroke(int Index, long At, float[][] Bands, float[] Sound)
{
    /// <summary>Once learned: how it lies on the shape it belongs to; shape −1 = on none.</summary>
    public ShapeFit Fit { get; set; }

    /// <summary>Mean power of what is not the shape, in each band, around the onset; the less, the more the stroke counts in the average.</summary>
    public double[] Rest { get; } = new double[BandBank.Count];
}

/// <summary>
/// Learns what a piece's strokes look like in this recording: strokes that are alike are laid on one another and averaged, each by as much as it is
/// louder than what else sounds. What other pieces sound comes at other distances and averages out; what is left shows the stroke's first moment,
/// which in most single strokes is hidden.
/// </summary>
/// <remarks>
/// Alternates, as k-means does (S. Lloyd, 1982), between averaging and laying on; the first groups are of equal loudness. The average weighs stroke i by
/// gain / rest, the best linear estimate of a common shape in unequal noise (textbook, from memory). Strokes whose
/// waveforms are unlike, as those of hats in a real recording may be, average to nothing and are then not laid on by their shape.
/// docs/decisions/listening-shapes.md holds the measurements.
/// </remarks>
internal static class ShapeLearner
{
    private const int Rate = StrokeView.Rate;

    /// <summary>An average shows 36 ms of what lies before the stroke, to judge what is left of other sounds, ...</summary>
    public const int Before = (int)(0.036 * Rate);

    /// <summary>... and 24 ms of the stroke.</summary>
    public const int Length = Before + (int)(0.024 * Rate);

    /// <summary>A shape is the average of this many strokes or more.</summary>
    private const int Least = 6;

    /// <summary>Kinds of one piece: one for twelve strokes, four at most.</summary>
    private const int StrokesAKind = 12;
    private const int MostKinds = 4;

    private const int Rounds = 2;

    /// <summary>What is not the shape is measured from 16 ms before the onset to 4 ms after it.</summary>
    private const int RestBefore = (int)(0.016 * Rate);
    private const int RestAfter = (int)(0.004 * Rate);

    /// <summary>No stroke counts as purer than 40 dB.</summary>
    private const double Purest = 1e-4;

    /// <summary>With a threshold under −34 dB of the peak an average shows its whole beginning.</summary>
    private const double Whole = 0.02;

    /// <summary>A kind of the piece's strokes: four averaged bands, where their first times lie, and where the average shows its first moment, if it does.</summary>
    private sealed record Kind(int Number, LearnedStroke[] Strokes, float[]?[] Average, int Usual, (int Onset, double Threshold)? Shown);

    /// <remarks>
    /// Metal speaks at once and high up, where little hides it: its strokes' own times stand, and the shape only lays them on one another. Looked for on the average,
    /// hats of real recordings came 1.9 ms earlier than by themselves, 1 ms more than kicks and snares: other pieces in their microphone.
    /// </remarks>
    /// <returns>No shape when there are too few strokes.</returns>
    public static StrokeShape[] Learn(IReadOnlyList<LearnedStroke> strokes, PieceFamily family, ShapeMatcher matcher)
    {
        if (strokes.Count < Least)
            return [];
        StrokeBands bands = StrokeBands.Of(family);
        int kinds = Math.Clamp(strokes.Count / StrokesAKind, 1, MostKinds);
        float[]?[][] averages = [];
        Begin(strokes, kinds);
        for (int round = 0; ; round++)
        {
            averages = [.. Enumerable.Range(0, kinds).Select(kind => Average(strokes, kind))];
            if (round == Rounds)
                break;
            int[] kept = [.. Enumerable.Range(0, kinds).Where(kind => averages[kind].Length > 0)];
            StrokeShape[] shapes = [.. kept.Select(kind => Cut(averages[kind], 0, bands))];
            foreach (LearnedStroke stroke in strokes)
            {
                matcher.Look(stroke.Bands[0], stroke.Bands[1], stroke.Bands[2], Before + ShapeMatcher.Reach, bands);
                ShapeFit fit = round == 0 ? matcher.Fit(shapes) : matcher.FitNear(shapes, stroke.Fit.Lag);
                stroke.Fit = fit with { Shape = kept[fit.Shape] };
            }
        }

        List<Kind> found = [];
        for (int kind = 0; kind < kinds; kind++)
        {
            LearnedStroke[] alike = [.. strokes.Where(stroke => stroke.Fit.Shape == kind)];
            double[] firstTimes = [.. alike.Select(stroke => -(double)stroke.Fit.Lag).Order()];
            if (firstTimes.Length >= Least)
            {
                int usual = (int)firstTimes[firstTimes.Length / 2];
                found.Add(new Kind(kind, alike, averages[kind], usual, family is PieceFamily.Hat or PieceFamily.Cymbal ? null : ShapeOnset.Find(averages[kind][3]!, usual)));
            }
        }

        StrokeShape[] learned = [.. found.Select(kind => Cut(kind.Average, OnsetOf(kind, found, matcher, bands), bands) with { Sound = kind.Strokes[0].Sound.Length > 0 ? AverageSound.Of(kind.Strokes) : null })];
        foreach (LearnedStroke stroke in strokes)
            stroke.Fit = stroke.Fit with { Shape = found.FindIndex(kind => kind.Number == stroke.Fit.Shape) };
        return learned;
    }

    /// <summary>
    /// Where its own average shows it. Where that hides it (soft strokes under what else sounds), where the piece's clearest kind has it once the two averages are laid on one
    /// another; where they are not alike, the strokes' own first times. Where it shows it, but not all of it, the earlier of the two: what hides a beginning can only make it late.
    /// </summary>
    private static int OnsetOf(Kind kind, List<Kind> found, ShapeMatcher matcher, StrokeBands bands)
    {
        int own = kind.Shown?.Onset ?? kind.Usual;
        if (kind.Shown is { Threshold: < Whole } || found.Where(other => other.Shown is not null).MinBy(other => other.Shown!.Value.Threshold) is not { Shown: { } clearest } clear || clear == kind)
            return own;
        matcher.Look(kind.Average[0], kind.Average[1], kind.Average[2], Before, bands);
        ShapeFit fit = matcher.Fit([Cut(clear.Average, 0, bands)]);
        if (fit.Score < ShapeMatcher.Alike)
            return own;
        return kind.Shown is null ? fit.Lag + clearest.Onset : Math.Min(own, fit.Lag + clearest.Onset);
    }

    /// <summary>Groups of equal loudness, each stroke as it lies.</summary>
    private static void Begin(IReadOnlyList<LearnedStroke> strokes, int kinds)
    {
        const int At = Before + ShapeMatcher.Reach - StrokeShape.Before;
        double[] size = [.. strokes.Select(stroke => Math.Sqrt(stroke.Bands.Take(3).Max(band => (double)TensorPrimitives.SumOfSquares<float>(band.AsSpan(At, StrokeShape.Length))) + 1e-20))];
        int[] order = [.. Enumerable.Range(0, strokes.Count).OrderBy(i => size[i])];
        for (int i = 0; i < order.Length; i++)
        {
            LearnedStroke stroke = strokes[order[i]];
            stroke.Fit = new ShapeFit(i * kinds / order.Length, 0, size[order[i]], 0);
            for (int band = 0; band < BandBank.Count; band++)
            {
                ReadOnlySpan<float> before = stroke.Bands[band].AsSpan(ShapeMatcher.Reach + Before - RestBefore, RestBefore - RestAfter);
                stroke.Rest[band] = (TensorPrimitives.SumOfSquares(before) / before.Length) + 1e-9;
            }
        }
    }

    /// <summary>Four bands of one kind; nothing when it has no strokes.</summary>
    private static float[]?[] Average(IReadOnlyList<LearnedStroke> strokes, int kind)
    {
        LearnedStroke[] alike = [.. strokes.Where(stroke => stroke.Fit.Shape == kind)];
        if (alike.Length == 0)
            return [];
        float[][] averages = new float[BandBank.Count][];
        for (int band = 0; band < BandBank.Count; band++)
        {
            float[] average = averages[band] = new float[Length];
            double sum = 0;
            foreach (LearnedStroke stroke in alike)
            {
                double gain = stroke.Fit.Gain;
                sum += gain * gain / stroke.Rest[band];
                TensorPrimitives.MultiplyAdd(stroke.Bands[band].AsSpan(ShapeMatcher.Reach + stroke.Fit.Lag, Length), (float)(gain / stroke.Rest[band]), average, average);
            }

            TensorPrimitives.Multiply(average, (float)(1 / sum), average);
            foreach (LearnedStroke stroke in alike)
                stroke.Rest[band] = RestOf(stroke.Bands[band].AsSpan(ShapeMatcher.Reach + stroke.Fit.Lag, Length), average, stroke.Fit.Gain);
        }

        return averages;
    }

    private static double RestOf(ReadOnlySpan<float> stroke, ReadOnlySpan<float> average, double gain)
    {
        const int From = Before - RestBefore;
        const int Count = RestBefore + RestAfter;
        Span<float> rest = stackalloc float[Count];
        TensorPrimitives.MultiplyAdd(average.Slice(From, Count), (float)-gain, stroke.Slice(From, Count), rest);
        double sum = TensorPrimitives.SumOfSquares<float>(rest);
        double peak = gain * TensorPrimitives.MaxMagnitude(average.Slice(Before, RestAfter));
        return (sum / (RestBefore + RestAfter)) + (Purest * peak * peak) + 1e-9;
    }

    private static StrokeShape Cut(float[]?[] averages, int onset, StrokeBands bands) =>
        new([.. averages.Take(3).Select(band => band![(Before - StrokeShape.Before)..(Before - StrokeShape.Before + StrokeShape.Length)])], onset, bands.Coarse.Step);
}
