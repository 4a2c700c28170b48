namespace Hindbeat.Sound;

/// <summary>
/// The K-weighting of ITU-R BS.1770: a shelf for the head's effect (about +4 dB above 2 kHz) and a
/// high-pass near 38 Hz, as two biquads in series. One instance holds the state of one channel.
/// </summary>
/// <remarks>
/// The recommendation prints the coefficients at 48 kHz only. Other rates use the analogue prototype
/// that gives exactly those numbers at 48 kHz through the bilinear transform; a test holds the table.
/// </remarks>
public sealed class KWeighting
{
    // The prototype behind the printed table: centre in hertz, Q, and the shelf's gain in dB.
    private const double ShelfHertz = 1681.974450955533;
    private const double ShelfQ = 0.7071752369554196;
    private const double ShelfGainDb = 3.999843853973347;
    private const double HighPassHertz = 38.13547087602444;
    private const double HighPassQ = 0.5003270373238773;

    private readonly Biquad _shelf;
    private readonly Biquad _highPass;
    private double _s1, _s2, _h1, _h2;

    /// <param name="sampleRate">Hertz; at least 8000, below which the shelf would not fit under half the rate.</param>
    public KWeighting(int sampleRate)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(sampleRate, 8000);
        _shelf = Shelf(sampleRate);
        _highPass = HighPass(sampleRate);
    }

    /// <summary>b0 b1 b2 a1 a2 of the shelf, a0 = 1.</summary>
    internal Biquad ShelfCoefficients => _shelf;

    /// <summary>b0 b1 b2 a1 a2 of the high-pass, a0 = 1.</summary>
    internal Biquad HighPassCoefficients => _highPass;

    /// <summary>Filters the samples and returns the sum of their squares. Allocates nothing.</summary>
    public double SumOfSquares(ReadOnlySpan<float> samples)
    {
        Biquad s = _shelf;
        Biquad h = _highPass;
        double s1 = _s1, s2 = _s2, h1 = _h1, h2 = _h2, sum = 0;
        foreach (float x in samples)
        {
            double y = (s.B0 * x) + s1;
            s1 = (s.B1 * x) - (s.A1 * y) + s2;
            s2 = (s.B2 * x) - (s.A2 * y);
            double z = (h.B0 * y) + h1;
            h1 = (h.B1 * y) - (h.A1 * z) + h2;
            h2 = (h.B2 * y) - (h.A2 * z);
            sum += z * z;
        }

        // A decaying filter reaches denormal numbers, which cost a hundred times a normal one.
        const double Floor = 1e-30;
        (_s1, _s2) = (Math.Abs(s1) < Floor ? 0 : s1, Math.Abs(s2) < Floor ? 0 : s2);
        (_h1, _h2) = (Math.Abs(h1) < Floor ? 0 : h1, Math.Abs(h2) < Floor ? 0 : h2);
        return sum;
    }

    private static Biquad Shelf(int sampleRate)
    {
        double k = Math.Tan(Math.PI * ShelfHertz / sampleRate);
        double high = Math.Pow(10, ShelfGainDb / 20);
        // The exponent makes the transition band of the printed table; 0.5 would be the textbook shelf.
        double band = Math.Pow(high, 0.4996667741545416);
        double a0 = 1 + (k / ShelfQ) + (k * k);
        return new Biquad(
            (high + (band * k / ShelfQ) + (k * k)) / a0,
            2 * ((k * k) - high) / a0,
            (high - (band * k / ShelfQ) + (k * k)) / a0,
            2 * ((k * k) - 1) / a0,
            (1 - (k / ShelfQ) + (k * k)) / a0);
    }

    private static Biquad HighPass(int sampleRate)
    {
        double k = Math.Tan(Math.PI * HighPassHertz / sampleRate);
        double a0 = 1 + (k / HighPassQ) + (k * k);
        return new Biquad(1, -2, 1, 2 * ((k * k) - 1) / a0, (1 - (k / HighPassQ) + (k * k)) / a0);
    }

    internal readonly record struct Biquad(double B0, double B1, double B2, double A1, double A2);
}
