using System.Numerics.Tensors;

namespace Hindbeat.Sound;

/// <summary>
/// A sound's energy over time and pitch, for looking at: what a stroke is made of, and what hides under another. Nothing is measured from it.
/// </summary>
/// <remarks>
/// Hann-tapered frames of 1024 samples (23 ms at 44.1 kHz): short enough that two strokes 30 ms apart stand apart, long enough to tell
/// a kick from a low tom. Rows are even on a logarithmic axis; a row narrower than a bin of the transform takes the bin that it lies in.
/// </remarks>
public static class Spectrogram
{
    public const double LowestHertz = 40, HighestHertz = 16000;

    /// <summary>Decibels from the faintest value (0) to full scale (255).</summary>
    public const double RangeDb = 90;

    public const int MostColumns = 4096, MostRows = 512;

    private const int Frame = 1024;

    /// <summary>A column wider than a frame is looked at every so many samples: frames that overlap by half leave nothing out.</summary>
    private const int Hop = Frame / 2;

    /// <summary>Both channels together, 0 = −90 dB or less against a full-scale sine, 255 = such a sine.</summary>
    /// <param name="from">First sample; what lies outside the sound is silent.</param>
    /// <param name="length">Samples, at least one.</param>
    /// <returns>Column by column, each from its lowest row up.</returns>
    /// <exception cref="ArgumentOutOfRangeException">No length, or more columns or rows than can be seen.</exception>
    public static byte[] Of(StereoSound sound, long from, long length, int columns, int rows)
    {
        ArgumentNullException.ThrowIfNull(sound);
        ArgumentOutOfRangeException.ThrowIfLessThan(length, 1);
        ArgumentOutOfRangeException.ThrowIfLessThan(columns, 1);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(columns, MostColumns);
        ArgumentOutOfRangeException.ThrowIfLessThan(rows, 1);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(rows, MostRows);
        int looks = (int)Math.Max(1, Math.Ceiling((double)length / columns / Hop));
        double step = (double)length / columns / looks;
        var transform = new RealFft(Frame);
        float[] taper = [.. Enumerable.Range(0, Frame).Select(n => (float)(0.5 - (0.5 * Math.Cos(2 * Math.PI * (n + 0.5) / Frame))))];
        // Eight frames lie one after another in the input, so that they may begin anywhere in the sound.
        float[] frames = new float[RealFft.Lanes * Frame], powers = new float[transform.Bins * RealFft.Lanes];
        (int First, int Last)[] bins = [.. Enumerable.Range(0, rows).Select(row => BinsOf(row, rows, sound.SampleRate))];
        float[] picture = new float[columns * rows];
        for (int look = 0; look < columns * looks; look += RealFft.Lanes)
        {
            for (int lane = 0; lane < RealFft.Lanes; lane++)
                Mono(sound, from + (long)Math.Round((look + lane + 0.5) * step) - (Frame / 2), frames.AsSpan(lane * Frame, Frame));
            transform.Powers(frames, Frame, taper, powers);
            for (int lane = 0; lane < RealFft.Lanes && look + lane < columns * looks; lane++)
                Take(powers, lane, bins, picture.AsSpan((look + lane) / looks * rows, rows));
        }

        double fullScale = Math.Pow(TensorPrimitives.Sum<float>(taper) / 2, 2);
        return [.. picture.Select(power => (byte)Math.Round(255 * Math.Clamp(1 + (10 * Math.Log10(Math.Max(1e-30, power / fullScale)) / RangeDb), 0, 1)))];
    }

    /// <summary>Frequency at the lower edge of a row, Hz.</summary>
    public static double Edge(int row, int rows) => LowestHertz * Math.Pow(HighestHertz / LowestHertz, (double)row / rows);

    private static (int First, int Last) BinsOf(int row, int rows, int rate)
    {
        double bin = (double)rate / Frame;
        int first = (int)Math.Round(Edge(row, rows) / bin), last = (int)Math.Round(Edge(row + 1, rows) / bin) - 1;
        return (Math.Min(first, Frame / 2), Math.Clamp(last, Math.Min(first, Frame / 2), Frame / 2));
    }

    /// <summary>The strongest of what was seen so far: a stroke shorter than a column must not fade.</summary>
    private static void Take(float[] powers, int lane, (int First, int Last)[] bins, Span<float> column)
    {
        for (int row = 0; row < bins.Length; row++)
        {
            for (int bin = bins[row].First; bin <= bins[row].Last; bin++)
                column[row] = Math.Max(column[row], powers[(bin * RealFft.Lanes) + lane]);
        }
    }

    private static void Mono(StereoSound sound, long at, Span<float> to)
    {
        to.Clear();
        long first = Math.Max(0, at), last = Math.Min(sound.Left.Length, at + to.Length);
        for (long i = first; i < last; i++)
            to[(int)(i - at)] = (sound.Left[i] + sound.Right[i]) / 2;
    }
}
