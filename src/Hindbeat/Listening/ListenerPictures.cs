using System.Numerics.Tensors;
using Hindbeat.Sound;

namespace Hindbeat.Listening;

/// <summary>
/// What the learned listener sees of a passage: a broad picture of the sound (30 to 17,000 Hz) and a fine one of its low end
/// (a third of the rate, 30 to 6,300 Hz), a column every <see cref="Hop"/> samples.
/// </summary>
/// <remarks>
/// Column t is centred on sample from + 441 t. Reads the sound block by block; the gain that brings the passage to
/// −20 dBFS is measured in a first pass. The same as training/features.py, compared by a test on stored numbers.
/// One instance a thread; <see cref="Fill"/> allocates nothing.
/// </remarks>
internal sealed class ListenerPictures
{
    public const int Hop = 441;

    /// <summary>
    /// Root mean square of the noise under which nothing is seen, −68 dBFS where the passage has −20. Training clips have noise between
    /// −95 and −42 dBFS of their own; what a clean recording shows far under that, the network never learned to judge, and it
    /// heard pedal hats there. docs/decisions/listening-learned.md holds the measurements.
    /// </summary>
    public const double Floor = 3.981e-4;

    private const double LowestHertz = 30;
    private const int Third = 3;
    private const int Reach = 48;
    private const double CutoffHertz = 7300;

    /// <summary>Root mean square that every passage is brought to: −20 dBFS.</summary>
    private const double UsualLevel = 0.1;

    /// <summary>Columns computed at a time, about 1 s of sound: thirteen times the eight that are transformed at once.</summary>
    private const int BlockColumns = 104;

    private const int Thirds = ((BlockColumns - 1) * (Hop / Third)) + MelPicture.Window;

    /// <summary>The last block of products may reach over the end.</summary>
    private static readonly int Slack = SlidingProducts.Block;

    private readonly MonoSound _sound;
    private readonly long _from;
    private readonly MelPicture _broad = new(MonoSound.AnalysisRate, LowestHertz, 17000, Floor * Floor);
    private readonly MelPicture _low;
    private readonly float[][] _taps;
    private readonly float[] _samples = new float[(Thirds * Third) + (2 * Reach)];
    private readonly float[] _thirds = new float[Thirds + Slack];
    private readonly float[][] _rows = [.. Enumerable.Range(0, Third).Select(_ => new float[Thirds + (2 * Reach / Third) + 1 + Slack])];

    /// <param name="from">First sample of the passage; <paramref name="to"/> is one past its last.</param>
    public ListenerPictures(MonoSound sound, long from, long to)
    {
        _sound = sound;
        _from = from;
        Columns = (int)((to - from) / Hop);
        double square = MeanSquare(sound, from, to);
        Gain = square > 0 ? (float)(UsualLevel / Math.Sqrt(square)) : 1;
        double sum = 0;
        for (int k = -Reach; k <= Reach; k++)
            sum += Tap(k);
        _taps = [.. Enumerable.Range(0, Third).Select(phase => Enumerable.Range(0, ((2 * Reach) + Third - phase) / Third).Select(k => (float)(Tap((k * Third) + phase - Reach) / sum)).ToArray())];

        // The low picture sees what its filter lets through of the same noise.
        double passed = _taps.Sum(phase => (double)TensorPrimitives.SumOfSquares<float>(phase));
        _low = new MelPicture(MonoSound.AnalysisRate / (double)Third, LowestHertz, 6300, Floor * Floor * passed);
    }

    public int Columns { get; }

    /// <summary>What the sound is multiplied by before it is looked at.</summary>
    public float Gain { get; }

    /// <summary>Writes <paramref name="count"/> columns of <see cref="MelPicture.Bands"/> values each, column after column.</summary>
    public void Fill(int first, int count, Span<float> broad, Span<float> low)
    {
        for (int done = 0; done < count; done += BlockColumns)
        {
            int columns = Math.Min(BlockColumns, count - done);
            Block(first + done, columns, broad[(done * MelPicture.Bands)..], low[(done * MelPicture.Bands)..]);
        }
    }

    private void Block(int first, int columns, Span<float> broad, Span<float> low)
    {
        const int thirdHop = Hop / Third;
        int whole = (columns + RealFft.Lanes - 1) / RealFft.Lanes * RealFft.Lanes;
        int thirds = ((whole - 1) * thirdHop) + MelPicture.Window;
        long start = _from + ((long)first * Hop) - (MelPicture.Window / 2 * Third) - Reach;
        Span<float> samples = _samples.AsSpan(0, ((thirds - 1) * Third) + (2 * Reach) + 1);
        _sound.Read(start, samples);
        TensorPrimitives.Multiply(samples, Gain, samples);
        Decimate(samples, thirds);
        int broadStart = (MelPicture.Window / 2 * Third) + Reach - (MelPicture.Window / 2);
        for (int i = 0; i < columns; i += RealFft.Lanes)
        {
            _broad.Measure(samples[(broadStart + (i * Hop))..], Hop, broad[(i * MelPicture.Bands)..(columns * MelPicture.Bands)]);
            _low.Measure(_thirds.AsSpan(i * thirdHop), thirdHop, low[(i * MelPicture.Bands)..(columns * MelPicture.Bands)]);
        }
    }

    /// <summary>
    /// Every third sample of the filtered sound: _thirds[j] = Σ over k of tap[k]·samples[3j + k]. Of three rows, each every third sample, each is multiplied with every third
    /// tap, so that neighbouring outputs are made side by side.
    /// </summary>
    private void Decimate(ReadOnlySpan<float> samples, int thirds)
    {
        for (int phase = 0; phase < Third; phase++)
        {
            Span<float> row = _rows[phase];
            for (int i = phase, j = 0; i < samples.Length; i += Third, j++)
                row[j] = samples[i];
        }

        Span<float> sums = _thirds.AsSpan(0, (thirds + SlidingProducts.Block - 1) / SlidingProducts.Block * SlidingProducts.Block);
        sums.Clear();
        for (int phase = 0; phase < Third; phase++)
            SlidingProducts.Add(_rows[phase], _taps[phase], sums);
    }

    private static double Tap(int k)
    {
        double u = 2 * CutoffHertz / MonoSound.AnalysisRate * k * Math.PI;
        return (k == 0 ? 1 : Math.Sin(u) / u) * (0.5 + (0.5 * Math.Cos(Math.PI * k / (Reach + 1))));
    }

    private static double MeanSquare(MonoSound sound, long from, long to)
    {
        float[] block = new float[16384];
        double sum = 0;
        for (long start = from; start < to; start += block.Length)
        {
            Span<float> part = block.AsSpan(0, (int)Math.Min(block.Length, to - start));
            sound.Read(start, part);
            sum += TensorPrimitives.SumOfSquares<float>(part);
        }

        return sum / Math.Max(1, to - from);
    }
}
