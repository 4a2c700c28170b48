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

    /// <summary>A stroke of this piece from another kit, because this one has none that can be used.</summary>
    StandIn,
}

/// <summary>Where a stroke of a recording's own kit comes from.</summary>
/// <param name="Number">Its number among the performance's hits, from 0.</param>
/// <param name="Velocity">What it was heard as.</param>
/// <param name="Alone">Free of other pieces' strokes, so fit to sound at other places than its own.</param>
public readonly record struct CutFrom(int Number, int Velocity, bool Alone);

/// <summary>
/// One stroke of one piece with its measured onset and loudness, mono (set on the stage by the mixer) or
/// stereo (where it was recorded). Immutable.
/// </summary>
public sealed class KitSample
{
    /// <summary>Silence around the samples, so that the mixer may read past both ends.</summary>
    internal const int Margin = WindowedSinc.Taps;

    private const double LoudnessSeconds = 0.1;

    /// <summary>Rates of <see cref="FurtherTake"/>.</summary>
    private const int TakeA = 69;
    private const int TakeB = 68;

    private readonly float[] _padded;
    private readonly float[]? _paddedRight;

    /// <param name="layer">1 = softest.</param>
    /// <param name="onset">Physical onset, fractional zero-based sample; may lie just before the first.</param>
    public KitSample(KitPiece piece, int layer, ReadOnlySpan<float> samples, int sampleRate, double onset, SampleOrigin origin = SampleOrigin.Recorded)
        : this(piece, layer, samples, default, sampleRate, onset, origin)
    {
    }

    /// <param name="right">The right channel, as long as <paramref name="left"/>; empty for mono.</param>
    public KitSample(KitPiece piece, int layer, ReadOnlySpan<float> left, ReadOnlySpan<float> right, int sampleRate, double onset, SampleOrigin origin = SampleOrigin.Recorded)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(left.Length, 1);
        if (!(onset > -Margin && onset < left.Length))
            throw new ArgumentOutOfRangeException(nameof(onset), onset, "A stroke's onset must lie inside its samples.");
        if (!right.IsEmpty && right.Length != left.Length)
            throw new ArgumentException($"The left channel has {left.Length} samples, the right one {right.Length}.", nameof(right));
        Piece = piece;
        Layer = layer;
        SampleRate = sampleRate;
        Onset = onset;
        Origin = origin;
        _padded = Pad(left);
        _paddedRight = right.IsEmpty ? null : Pad(right);
        LoudnessDb = Measure(left, right, sampleRate);
    }

    public KitPiece Piece { get; }
    public int Layer { get; }
    public int SampleRate { get; }
    public double Onset { get; }
    public SampleOrigin Origin { get; }

    /// <summary>Keep a mono stroke in the middle instead of on the stage: the recording it comes from is mono.</summary>
    public bool Centred { get; init; }

    /// <summary>The passage's stroke that this was cut from; null for kits that were recorded stroke by stroke.</summary>
    public CutFrom? Source { get; init; }

    /// <summary>
    /// K-weighted mean power of the first 100 ms in dB (BS.1770's scale without gates): what a stroke of a
    /// running groove weighs. Longer windows would call every cymbal louder than the stick that made it.
    /// </summary>
    public double LoudnessDb { get; }

    public bool IsStereo => _paddedRight is not null;

    /// <summary>Full scale = ±1; the left channel of a stereo stroke.</summary>
    public ReadOnlySpan<float> Samples => _padded.AsSpan(Margin, _padded.Length - (2 * Margin));

    /// <summary>The right channel; of a mono stroke the only one.</summary>
    public ReadOnlySpan<float> RightSamples => PaddedRight.Slice(Margin, _padded.Length - (2 * Margin));

    /// <summary>The samples with <see cref="Margin"/> zeros on either side.</summary>
    internal ReadOnlySpan<float> Padded => _padded;

    internal ReadOnlySpan<float> PaddedRight => _paddedRight ?? _padded;

    internal KitSample AtRate(int sampleRate) => sampleRate == SampleRate
        ? this
        : new KitSample(
            Piece, Layer, Resampler.Resample(Samples.ToArray(), SampleRate, sampleRate),
            IsStereo ? Resampler.Resample(RightSamples.ToArray(), SampleRate, sampleRate) : default, sampleRate, Onset * sampleRate / SampleRate, Origin) { Centred = Centred, Source = Source };

    /// <summary>
    /// The same stroke as if struck a little off its place: all of it 1.5 % faster, or slower (a quarter of a semitone), under
    /// what is heard as another drum. Two in a row are then never copies of one file.
    /// </summary>
    internal KitSample FurtherTake(bool isSlower)
    {
        (int from, int to) = isSlower ? (TakeB, TakeA) : (TakeA, TakeB);
        return new KitSample(
            Piece, Layer, Resampler.Resample(Samples.ToArray(), from, to),
            IsStereo ? Resampler.Resample(RightSamples.ToArray(), from, to) : default, SampleRate, Onset * to / from, SampleOrigin.Derived) { Centred = Centred };
    }

    /// <summary>The same sound standing in for a stroke that another kit lacks.</summary>
    internal KitSample AsStandIn(bool centred) =>
        new(Piece, Layer, Samples, IsStereo ? RightSamples : default, SampleRate, Onset, SampleOrigin.StandIn) { Centred = centred };

    private static float[] Pad(ReadOnlySpan<float> samples)
    {
        var padded = new float[samples.Length + (2 * Margin)];
        samples.CopyTo(padded.AsSpan(Margin));
        return padded;
    }

    private static double Measure(ReadOnlySpan<float> left, ReadOnlySpan<float> right, int sampleRate)
    {
        int window = (int)(LoudnessSeconds * sampleRate);
        int length = Math.Min(window, left.Length);
        double sum = new KWeighting(sampleRate).SumOfSquares(left[..length]);
        if (!right.IsEmpty)
            sum += new KWeighting(sampleRate).SumOfSquares(right[..length]);
        return -0.691 + (10 * Math.Log10(Math.Max(sum / window, 1e-12)));
    }
}
