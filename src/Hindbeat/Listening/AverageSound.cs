using System.Numerics.Tensors;

namespace Hindbeat.Listening;

/// <summary>What one kind of a piece's strokes sounds like in this recording, in all bands at once, from 5 ms before to 60 ms after the point that strokes are laid on.</summary>
/// <remarks>
/// Weighed as the shapes are. What of other sounds is left in the average would be taken off at every stroke of the kind, and so be put into all that is learned next; therefore each of four
/// parts of the spectrum is kept by 1 − (power before the stroke) / (power in it), as a Wiener filter does (textbook, from memory).
/// </remarks>
internal static class AverageSound
{
    private const int Rate = StrokeView.Rate;

    /// <summary>What is left of other sounds is heard this long before the point that strokes are laid on.</summary>
    public const int Lead = (int)(0.025 * Rate);

    /// <summary>The sound begins this long before that point.</summary>
    public const int Before = (int)(0.005 * Rate);

    public const int Length = (int)(0.065 * Rate);

    /// <summary>Samples that are averaged.</summary>
    public const int Heard = Lead - Before + Length;

    /// <summary>The power of the stroke is heard over this long.</summary>
    private const int Stroke = (int)(0.025 * Rate);

    private const int FadeIn = (int)(0.002 * Rate);
    private const int FadeOut = (int)(0.010 * Rate);

    /// <summary>Widths of the bells that part the spectrum, seconds: at some 330, 1,700 and 6,700 Hz they let half through.</summary>
    private static readonly float[][] Bells = [Bell(0.006), Bell(0.0012), Bell(0.0003)];

    /// <param name="strokes">Of one kind, laid on one another; one or more.</param>
    public static float[] Of(IReadOnlyCollection<LearnedStroke> strokes)
    {
        float[] heard = new float[Heard];
        double sum = 0;
        foreach (LearnedStroke stroke in strokes)
        {
            double gain = stroke.Fit.Gain, rest = stroke.Rest.Take(3).Max();
            sum += gain * gain / rest;
            TensorPrimitives.MultiplyAdd(stroke.Sound.AsSpan(ShapeMatcher.Reach + stroke.Fit.Lag, Heard), (float)(gain / rest), heard, heard);
        }

        TensorPrimitives.Multiply(heard, (float)(1 / sum), heard);
        float[] sound = new float[Length];
        foreach (float[] bell in Bells)
        {
            float[] part = Through(bell, heard);
            TensorPrimitives.Subtract(heard, part, heard);
            Keep(part, sound);
        }

        Keep(heard, sound);
        for (int i = 0; i < FadeIn; i++)
            sound[i] *= (float)i / FadeIn;
        for (int i = 0; i < FadeOut; i++)
            sound[^(i + 1)] *= (float)i / FadeOut;
        return sound;
    }

    private static void Keep(ReadOnlySpan<float> part, Span<float> sound)
    {
        const int From = Lead - Before;
        double left = TensorPrimitives.SumOfSquares(part[..From]) / From;
        double power = (TensorPrimitives.SumOfSquares(part.Slice(From, Stroke)) / Stroke) + 1e-20;
        TensorPrimitives.MultiplyAdd(part.Slice(From, Length), (float)Math.Max(0, 1 - (left / power)), sound, sound);
    }

    private static float[] Through(float[] bell, float[] samples)
    {
        float[] padded = new float[samples.Length + bell.Length - 1];
        samples.CopyTo(padded, bell.Length / 2);
        return [.. Enumerable.Range(0, samples.Length).Select(i => TensorPrimitives.Dot<float>(padded.AsSpan(i, bell.Length), bell))];
    }

    private static float[] Bell(double seconds)
    {
        int half = (int)(seconds * Rate / 2);
        double[] bell = [.. Enumerable.Range(-half, (2 * half) + 1).Select(i => 0.5 + (0.5 * Math.Cos(Math.PI * i / (half + 1))))];
        return [.. bell.Select(value => (float)(value / bell.Sum()))];
    }
}
