using System.Numerics.Tensors;
using System.Runtime.InteropServices;
using System.Runtime.Intrinsics;
using Hindbeat.Sound;

namespace Hindbeat.Listening;

/// <summary>
/// Columns of a logarithmic mel picture, eight at a time: a window of samples in, a value of 0 or more for each band out.
/// </summary>
/// <remarks>
/// The learned listener saw its training sounds through exactly this (training/features.py, moments.py): periodic Hann window, magnitude
/// scaled so that a full-scale sine reads 1, joined by a floor as white noise would leave it, √(m² + 6 s² / N), triangles on
/// mel(f) = 2595 log₁₀(1 + f/700) whose flanks reach one bin at least, value = ¼ ln(1 + 10⁴ m). A change here without new training makes it deaf.
/// One instance a thread; allocates nothing after it is made.
/// </remarks>
internal sealed class MelPicture
{
    /// <summary>Samples that a column of the listener's two pictures sees.</summary>
    public const int Window = 1024;

    /// <summary>Bands of the listener's two pictures.</summary>
    public const int Bands = 84;

    private readonly int _bands;
    private readonly RealFft _fft;
    private readonly float[] _taper;
    private readonly float[] _magnitudes;
    private readonly float[] _mel;
    private readonly float _floor;
    private readonly int[] _firstBin;
    private readonly float[][] _weights;

    /// <param name="rate">Samples a second, hertz.</param>
    /// <param name="lowestHertz">Lower end of the picture.</param>
    /// <param name="highestHertz">Upper end.</param>
    /// <param name="floor">Mean square s² of the white noise that the floor stands for.</param>
    /// <param name="window">Samples N of a column: a power of two.</param>
    /// <param name="bands">Values of a column.</param>
    public MelPicture(double rate, double lowestHertz, double highestHertz, double floor, int window = Window, int bands = Bands)
    {
        _bands = bands;
        _fft = new RealFft(window);
        _taper = new float[window];
        _mel = new float[bands * RealFft.Lanes];
        _firstBin = new int[bands];
        _weights = new float[bands][];

        // Noise of power s² leaves s² Σw² in a bin; with Σw² = 3N/8 and the scale of (4 / N)² that is 6 s² / N.
        _floor = (float)(6 * floor / window);

        // The window sums to N/2, so 2 / sum = 4 / N makes a full-scale sine read 1.
        for (int i = 0; i < window; i++)
            _taper[i] = (float)((0.5 - (0.5 * Math.Cos(2 * Math.PI * i / window))) * 4 / window);
        _magnitudes = new float[_fft.Bins * RealFft.Lanes];

        double low = Mel(lowestHertz);
        double high = Mel(highestHertz);
        double bin = rate / window;
        for (int band = 0; band < bands; band++)
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

        double Point(int i) => 700 * (Math.Pow(10, (low + ((high - low) * i / (bands + 1))) / 2595) - 1);
    }

    /// <summary>Eight columns, <paramref name="hop"/> samples apart.</summary>
    /// <param name="samples">From the first sample of the first column's window on; 7·hop and a window of them.</param>
    /// <param name="columns">Columns to write, one after the other: as many of the eight as it has room for.</param>
    public void Measure(ReadOnlySpan<float> samples, int hop, Span<float> columns)
    {
        _fft.Powers(samples, hop, _taper, _magnitudes);
        TensorPrimitives.Add(_magnitudes, _floor, _magnitudes);
        TensorPrimitives.Sqrt(_magnitudes, _magnitudes);
        ReadOnlySpan<Vector256<float>> magnitudes = MemoryMarshal.Cast<float, Vector256<float>>(_magnitudes);
        Span<Vector256<float>> mel = MemoryMarshal.Cast<float, Vector256<float>>(_mel.AsSpan());
        for (int band = 0; band < _bands; band++)
        {
            float[] weights = _weights[band];
            ReadOnlySpan<Vector256<float>> bins = magnitudes.Slice(_firstBin[band], weights.Length);
            Vector256<float> sum = Vector256<float>.Zero;
            for (int k = 0; k < weights.Length; k++)
                sum = Vector256.MultiplyAddEstimate(bins[k], Vector256.Create(weights[k]), sum);
            mel[band] = sum * 10000f;
        }

        TensorPrimitives.LogP1(_mel, _mel);
        TensorPrimitives.Multiply(_mel, 0.25f, _mel);
        int count = Math.Min(RealFft.Lanes, columns.Length / _bands);
        for (int lane = 0; lane < count; lane++)
        {
            Span<float> column = columns.Slice(lane * _bands, _bands);
            for (int band = 0; band < _bands; band++)
                column[band] = _mel[(band * RealFft.Lanes) + lane];
        }
    }

    private static double Mel(double hertz) => 2595 * Math.Log10(1 + (hertz / 700));
}
