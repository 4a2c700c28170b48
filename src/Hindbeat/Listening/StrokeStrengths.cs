using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Listening;

/// <summary>Level and velocity of every stroke of a passage: measured in bands, parted from what was struck with it, weighed by what was learned; velocities equal where strokes are.</summary>
/// <remarks>docs/decisions/listening-loudness.md and listening-equal-strokes.md hold the measurements.</remarks>
internal static class StrokeStrengths
{
    /// <summary>Velocities go by quarter decibels: where <see cref="EqualStrokes"/> is in doubt, finer steps would rank equal strokes by what is left of error.</summary>
    private const double StepDb = 0.25;

    /// <param name="strokes">In order of time.</param>
    /// <param name="samples">Their onsets, samples of the recording.</param>
    /// <param name="metalHertz">As for <see cref="StrokeView"/>.</param>
    public static (Level Level, int Velocity)[] Of(MonoSound sound, IReadOnlyList<CurveStroke> strokes, double[] samples, double metalHertz, LoudnessModel model, CancellationToken cancel)
    {
        LoudnessFeatures features = Features(sound, strokes, samples, metalHertz, cancel);
        double[] loudness = new double[strokes.Count];
        Span<float> scratch = new float[model.Scratch];
        for (int i = 0; i < strokes.Count; i++)
        {
            cancel.ThrowIfCancellationRequested();
            loudness[i] = model.Loudness(strokes[i].Family, features.KnownOf(i), features.EstimatesOf(i), scratch);
        }

        (Level, int)[] strengths = new (Level, int)[strokes.Count];
        foreach (IGrouping<KitPiece, int> piece in Enumerable.Range(0, strokes.Count).GroupBy(i => strokes[i].Piece))
        {
            double[] drawn = [.. piece.Select(i => loudness[i])];
            double usual = LoudnessFeatures.Median(drawn);
            EqualStrokes.Draw(drawn);
            foreach ((int i, double struck) in piece.Zip(drawn))
            {
                double velocity = 127 * Math.Pow(10, StepDb * Math.Round(struck / StepDb) / StrokeLevels.DecibelsPerDecade);
                strengths[i] = (Level.FromDbfs(features.UsualLevel[i] + loudness[i] - usual), Math.Clamp((int)Math.Round(velocity), 1, 127));
            }
        }

        return strengths;
    }

    /// <summary>What the model decides from.</summary>
    internal static LoudnessFeatures Features(MonoSound sound, IReadOnlyList<CurveStroke> strokes, double[] samples, double metalHertz, CancellationToken cancel)
    {
        StrokePowers measure = new(metalHertz);
        double[] powers = new double[strokes.Count * StrokePowers.Values];
        for (int i = 0; i < strokes.Count; i++)
        {
            cancel.ThrowIfCancellationRequested();
            measure.Measure(sound, (long)Math.Round(samples[i]), powers.AsSpan(i * StrokePowers.Values, StrokePowers.Values));
        }

        return new LoudnessFeatures(strokes, samples, powers);
    }
}
