using Hindbeat.Performances;
using Hindbeat.Sound;

namespace Hindbeat.Rebuilding;

/// <summary>How a kit's sound came about.</summary>
public enum SampleOrigin
{
    /// <summary>A recorded stroke of this piece.</summary>
    Recorded,

    /// <summary>Made from a recorded stroke of another piece.</summary>
    Derived,
}

/// <summary>One stroke of one piece, mono, with its measured onset and loudness. Immutable.</summary>
public sealed class KitSample
{
    /// <summary>Silence around the samples, so that the mixer may read past both ends.</summary>
    internal const int Margin = WindowedSinc.Taps;

    private const double LoudnessSeconds = 0.1;

    private readonly float[] _padded;

    /// <param name="layer">1 = softest.</param>
    /// <param name="onset">Physical onset, fractional zero-based sample; may lie just before the first.</param>
    public KitSample(KitPiece piece, int layer, ReadOnlySpan<float> samples, int sampleRate, double onset, SampleOrigin origin = SampleOrigin.Recorded)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(samples.Length, 1);
        if (!(onset > -Margin && onset < samples.Length))
            throw new ArgumentOutOfRangeException(nameof(onset), onset, "A stroke's onset must lie inside its samples.");
        Piece = piece;
        Layer = layer;
        SampleRate = sampleRate;
        Onset = onset;
        Origin = origin;
        _padded = new float[samples.Length + (2 * Margin)];
        samples.CopyTo(_padded.AsSpan(Margin));
        LoudnessDb = Measure(samples, sampleRate);
    }

    public KitPiece Piece { get; }
    public int Layer { get; }
    public int SampleRate { get; }
    public double Onset { get; }
    public SampleOrigin Origin { get; }

    /// <summary>
    /// K-weighted mean power of the first 100 ms in dB (BS.1770's scale without gates): what a stroke of a
    /// running groove weighs. Longer windows would call every cymbal louder than the stick that made it.
    /// </summary>
    public double LoudnessDb { get; }

    /// <summary>Full scale = ±1.</summary>
    public ReadOnlySpan<float> Samples => _padded.AsSpan(Margin, _padded.Length - (2 * Margin));

    /// <summary>The samples with <see cref="Margin"/> zeros on either side.</summary>
    internal ReadOnlySpan<float> Padded => _padded;

    internal KitSample AtRate(int sampleRate) => sampleRate == SampleRate
        ? this
        : new KitSample(Piece, Layer, Resampler.Resample(Samples.ToArray(), SampleRate, sampleRate), sampleRate, Onset * sampleRate / SampleRate, Origin);

    private static double Measure(ReadOnlySpan<float> samples, int sampleRate)
    {
        int window = (int)(LoudnessSeconds * sampleRate);
        double sum = new KWeighting(sampleRate).SumOfSquares(samples[..Math.Min(window, samples.Length)]);
        return -0.691 + (10 * Math.Log10(Math.Max(sum / window, 1e-12)));
    }
}
