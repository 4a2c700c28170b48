using System.Numerics.Tensors;

namespace Hindbeat.Listening;

/// <summary>What each stroke of a passage sounds like by itself, as far as its piece's average tells: taken off, it leaves what else sounds.</summary>
/// <remarks>One writer; allocates nothing after it is made.</remarks>
/// <param name="strokes">In order of time.</param>
internal sealed class StrokeSounds(IReadOnlyList<CurveStroke> strokes)
{
    /// <summary>A stroke's sound begins this far from where the network has the stroke, at most.</summary>
    private const int Around = (int)(0.020 * StrokeView.Rate);

    private readonly (float[]? Sound, long Start, float Gain)[] _sounds = new (float[]?, long, float)[strokes.Count];

    /// <param name="sound">An <see cref="AverageSound"/>.</param>
    /// <param name="start">Sample of the recording that it begins with.</param>
    /// <param name="gain">How many times it.</param>
    public void Set(int index, float[] sound, long start, double gain) => _sounds[index] = (sound, start, (float)gain);

    /// <summary>Takes off all strokes but one.</summary>
    /// <param name="index">The one that stays.</param>
    /// <param name="start">Sample of the recording that <paramref name="samples"/> begin with.</param>
    public void TakeOffOthers(int index, long start, Span<float> samples)
    {
        double from = start - AverageSound.Length - Around, to = start + samples.Length + Around;
        for (int i = index - 1; i >= 0 && strokes[i].Sample > from; i--)
            TakeOff(_sounds[i], start, samples);
        for (int i = index + 1; i < strokes.Count && strokes[i].Sample < to; i++)
            TakeOff(_sounds[i], start, samples);
    }

    private static void TakeOff((float[]? Sound, long Start, float Gain) stroke, long start, Span<float> samples)
    {
        if (stroke.Sound is null)
            return;
        long first = Math.Max(start, stroke.Start), end = Math.Min(start + samples.Length, stroke.Start + stroke.Sound.Length);
        if (end <= first)
            return;
        Span<float> covered = samples.Slice((int)(first - start), (int)(end - first));
        TensorPrimitives.MultiplyAdd(stroke.Sound.AsSpan((int)(first - stroke.Start), covered.Length), -stroke.Gain, covered, covered);
    }
}
