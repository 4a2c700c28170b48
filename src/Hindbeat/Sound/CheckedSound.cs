using System.Globalization;
using System.Numerics.Tensors;
using Hindbeat.Units;

namespace Hindbeat.Sound;

/// <summary>
/// Lets only usable samples through: one NaN would spread through every filter behind it and end as
/// figures that look measured.
/// </summary>
internal sealed class CheckedSound(DecodedSound inner, string name) : DecodedSound
{
    /// <summary>60 dB over full scale: no converter or mix gets there, integers written as floats do.</summary>
    private const float Largest = 1000f;

    private long _frame;

    public override int SampleRate => inner.SampleRate;
    public override int Channels => inner.Channels;
    public override string Format => inner.Format;
    public override double Progress => inner.Progress;
    public override IReadOnlyList<Performances.Doubt> Doubts => inner.Doubts;

    public override int Read(Span<float> interleaved)
    {
        int got = inner.Read(interleaved);
        ReadOnlySpan<float> samples = interleaved[..got];
        // The largest magnitude of a span with a NaN is NaN, which fails the comparison too.
        if (got > 0 && !(Math.Abs(TensorPrimitives.MaxMagnitude(samples)) <= Largest))
            throw Broken(samples);
        _frame += got / Channels;
        return got;
    }

    public override long Skip(long frames)
    {
        long skipped = inner.Skip(frames);
        _frame += skipped;
        return skipped;
    }

    protected override void Dispose(bool disposing)
    {
        if (disposing)
            inner.Dispose();
    }

    private InputException Broken(ReadOnlySpan<float> samples)
    {
        int at = 0;
        while (Math.Abs(samples[at]) <= Largest)
            at++;
        long frame = _frame + (at / Channels);
        string place = string.Create(CultureInfo.InvariantCulture, $"Sample {frame} of channel {(at % Channels) + 1} ({(double)frame / SampleRate:0.000} s) in {name}");
        return new InputException(float.IsFinite(samples[at])
            ? string.Create(CultureInfo.InvariantCulture, $"{place} is {Math.Abs(samples[at]):0} times full scale; were whole numbers exported as floats? Export it again as 24 bit.")
            : $"{place} is not a number; the float export is broken. Export it again as 24 bit.");
    }
}
