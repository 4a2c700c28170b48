using System.Numerics.Tensors;
using System.Runtime.InteropServices;
using System.Runtime.Intrinsics;
using Hindbeat.Sound;

namespace Hindbeat.Listening;

/// <summary>
/// The passage as power in <see cref="Bands"/> frequency bands, one row every <see cref="Hop"/> samples:
/// all that the listener needs to know of the sound before it goes back to the waveform for exact times.
/// </summary>
/// <remarks>
/// Frame i is centred on sample <see cref="FirstSample"/> + i·<see cref="Hop"/> of the recording. Power is scaled
/// so that a sine of amplitude a gives a²/2 in its band, however long it lasts. Ten minutes take 9 MB.
/// </remarks>
internal sealed class BandPowers
{
    /// <summary>
    /// 5.8 ms at 44.1 kHz. Coarse only: the time of a hit comes from the waveform, so a finer hop would buy
    /// nothing but half the speed.
    /// </summary>
    public const int Hop = 256;

    /// <summary>23 ms: short enough to keep strokes of a flam apart, long enough to tell a kick from a tom.</summary>
    public const int Window = 1024;

    public const double FrameRate = (double)MonoSound.AnalysisRate / Hop;

    /// <summary>First FFT bin (43.07 Hz each) of every band, and one past the last: 21 to 18,000 Hz, near a third of an octave from 300 Hz up.</summary>
    private static readonly int[] Edges = [1, 2, 3, 4, 5, 6, 8, 10, 13, 17, 22, 29, 38, 49, 64, 84, 110, 144, 189, 248, 325, 419];

    private const int BlockFrames = 256;
    private readonly float[] _power;

    private BandPowers(long firstSample, int frames)
    {
        FirstSample = firstSample;
        Frames = frames;
        _power = new float[(long)frames * Bands];
    }

    public static int Bands => Edges.Length - 1;

    /// <summary>Sample of the recording that frame 0 is centred on.</summary>
    public long FirstSample { get; }

    public int Frames { get; }

    /// <summary>Power in each band at a frame, low to high.</summary>
    public ReadOnlySpan<float> At(int frame) => _power.AsSpan(frame * Bands, Bands);

    /// <summary>The frame whose centre lies nearest a sample of the recording; may lie outside the passage.</summary>
    public int FrameOf(double sample) => (int)Math.Round((sample - FirstSample) / Hop);

    /// <summary>Centre of a band in hertz (geometric).</summary>
    public static double Centre(int band) => Math.Sqrt((Edges[band] - 0.5) * (Edges[band + 1] - 0.5)) * MonoSound.AnalysisRate / Window;

    /// <summary>The band that holds a frequency in hertz; the nearest one outside their range.</summary>
    public static int BandOf(double hertz)
    {
        double bin = hertz * Window / MonoSound.AnalysisRate;
        int band = 0;
        while (band < Bands - 1 && bin >= Edges[band + 1] - 0.5)
            band++;
        return band;
    }

    /// <summary>Power above a frequency as share of all power, over the whole passage.</summary>
    public double ShareAbove(double hertz)
    {
        int firstHigh = BandOf(hertz);
        double high = 0;
        double all = 0;
        for (int i = 0; i < Frames; i++)
        {
            high += TensorPrimitives.Sum(At(i)[firstHigh..]);
            all += TensorPrimitives.Sum(At(i));
        }

        return all > 0 ? high / all : 0;
    }

    /// <summary>Reads the samples from <paramref name="from"/> up to (not including) <paramref name="to"/>, block by block.</summary>
    public static BandPowers Of(MonoSound sound, long from, long to, IProgress<double>? progress, CancellationToken cancel)
    {
        // One more second than an int can index is a day of sound; the passage is checked for that before.
        int frames = checked((int)((to - from + Hop - 1) / Hop)) + 1;
        BandPowers powers = new(from, frames);
        BandFrames frames8 = new();
        float[] block = new float[((BlockFrames - 1) * Hop) + Window];
        for (int first = 0; first < frames; first += BlockFrames)
        {
            cancel.ThrowIfCancellationRequested();
            int count = Math.Min(BlockFrames, frames - first);
            sound.Read(from + ((long)first * Hop) - (Window / 2), block.AsSpan(0, ((count - 1) * Hop) + Window));
            for (int i = 0; i < count; i += RealFft.Lanes)
                frames8.Measure(block.AsSpan(i * Hop), powers._power.AsSpan((first + i) * Bands, Math.Min(RealFft.Lanes, count - i) * Bands));
            progress?.Report((double)(first + count) / frames);
        }

        return powers;
    }

    /// <summary>Eight windowed transforms with their work space; allocates nothing once made.</summary>
    internal sealed class BandFrames
    {
        private readonly RealFft _fft = new(Window);
        private readonly float[] _taper = new float[Window];
        private readonly float[] _powers;

        public BandFrames()
        {
            // Periodic Hann, scaled so that the summed power of a sine's main lobe is a²/2: Σ|X|² over the
            // positive bins = a²/4·N·Σw², so the window is divided by √(N·Σw²/2).
            double energy = 0;
            for (int i = 0; i < Window; i++)
                energy += Math.Pow(Hann(i), 2);
            double scale = 1.0 / Math.Sqrt(Window * energy / 2);
            for (int i = 0; i < Window; i++)
                _taper[i] = (float)(Hann(i) * scale);
            _powers = new float[_fft.Bins * RealFft.Lanes];
        }

        /// <param name="samples">From the first sample of the first window on; 7 · <see cref="Hop"/> + <see cref="Window"/> of them.</param>
        /// <param name="power">Frames to write, one after the other: as many of the eight as it has room for.</param>
        public void Measure(ReadOnlySpan<float> samples, Span<float> power)
        {
            _fft.Powers(samples, Hop, _taper, _powers);
            ReadOnlySpan<Vector256<float>> bins = MemoryMarshal.Cast<float, Vector256<float>>(_powers);
            int count = Math.Min(RealFft.Lanes, power.Length / Bands);
            for (int band = 0; band < Bands; band++)
            {
                Vector256<float> sum = Vector256<float>.Zero;
                for (int k = Edges[band]; k < Edges[band + 1]; k++)
                    sum += bins[k];
                for (int lane = 0; lane < count; lane++)
                    power[(lane * Bands) + band] = sum.GetElement(lane);
            }
        }

        private static double Hann(int i) => 0.5 - (0.5 * Math.Cos(2 * Math.PI * i / Window));
    }
}
