using System.Numerics.Tensors;

namespace Hindbeat.Listening;

/// <summary>
/// One column of a logarithmic mel picture: <see cref="Window"/> samples in, <see cref="Bands"/> values of 0 or more out.
/// </summary>
/// <remarks>
/// The learned listener saw its training sounds through exactly this (training/features.py): periodic Hann window, magnitude
/// scaled so that a full-scale sine reads 1, triangles on mel(f) = 2595 log₁₀(1 + f/700) whose flanks reach one bin at
/// least, value = ¼ ln(1 + 10⁴ m). A change here without new training makes it deaf.
/// One instance a thread; allocates nothing after it is made.
/// </remarks>
internal sealed class MelPicture
{
    public const int Window = 1024;
    public const int Bands = 84;

    private const double LowestHertz = 30;

    private readonly RealFft _fft = new(Window);
    private readonly float[] _taper = new float[Window];
    private readonly float[] _tapered = new float[Window];
    private readonly float[] _real;
    private readonly float[] _imaginary;
    private readonly int[] _firstBin = new int[Bands];
    private readonly float[][] _weights = new float[Bands][];

    /// <param name="rate">Samples a second, hertz.</param>
    /// <param name="highestHertz">Upper end of the picture.</param>
    public MelPicture(double rate, double highestHertz)
    {
        // The window sums to N/2, so 2 / sum = 4 / N makes a full-scale sine read 1.
        for (int i = 0; i < Window; i++)
            _taper[i] = (float)((0.5 - (0.5 * Math.Cos(2 * Math.PI * i / Window))) * 4 / Window);
        _real = new float[_fft.Bins];
        _imaginary = new float[_fft.Bins];

        double low = Mel(LowestHertz);
        double high = Mel(highestHertz);
        double bin = rate / Window;
        for (int band = 0; band < Bands; band++)
        {
            double centre = Point(band + 1);
            double left = Math.Min(Point(band), centre - bin);
            double right = Math.Max(Point(band + 2), centre + bin);
            double[] flanks = [.. Enumerable.Range(0, _fft.Bins).Select(k => Math.Max(0, Math.Min(((k * bin) - left) / (centre - left), (right - (k * bin)) / (right - centre))))];
            int first = Array.FindIndex(flanks, weight => weight > 0);
            int last = Array.FindLastIndex(flanks, weight => weight > 0);
            double sum = flanks.Sum();
            _firstBin[band] = first;
            _weights[band] = [.. flanks[first..(last + 1)].Select(weight => (float)(weight / sum))];
        }

        double Point(int i) => 700 * (Math.Pow(10, (low + ((high - low) * i / (Bands + 1))) / 2595) - 1);
    }

    public void Measure(ReadOnlySpan<float> samples, Span<float> column)
    {
        TensorPrimitives.Multiply(samples, _taper, _tapered);
        _fft.Transform(_tapered, _real, _imaginary);
        TensorPrimitives.Multiply(_real, _real, _real);
        TensorPrimitives.MultiplyAdd(_imaginary, _imaginary, _real, _real);
        TensorPrimitives.Sqrt(_real, _real);
        ReadOnlySpan<float> magnitude = _real;
        for (int band = 0; band < Bands; band++)
        {
            float[] weights = _weights[band];
            column[band] = 10000 * TensorPrimitives.Dot(magnitude.Slice(_firstBin[band], weights.Length), weights);
        }

        TensorPrimitives.LogP1(column[..Bands], column);
        TensorPrimitives.Multiply(column[..Bands], 0.25f, column);
    }

    private static double Mel(double hertz) => 2595 * Math.Log10(1 + (hertz / 700));
}
