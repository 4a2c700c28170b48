using System.Runtime.InteropServices;
using System.Runtime.Intrinsics;
using Hindbeat.Performances;
using Hindbeat.Sound;

namespace Hindbeat.Listening;

/// <summary>
/// The sound around one stroke in the bands of its family: what its time, its shape and its level are read from.
/// </summary>
/// <remarks>One instance a thread and a recording, filled anew for every stroke; <see cref="Look"/> allocates nothing.</remarks>
internal sealed class StrokeView
{
    public const int Rate = MonoSound.AnalysisRate;

    /// <summary>Samples seen to either side of where the network has the stroke: 48 ms, so that an averaged stroke shows 36 ms of what lies before it wherever its onset is found.</summary>
    public const int Half = (int)(0.048 * Rate);

    public const int Length = 2 * Half;

    private const int NarrowBefore = (int)(0.018 * Rate);
    private const int NarrowAfter = (int)(0.042 * Rate);

    /// <summary>The filters come to rest in this time.</summary>
    private const int WarmUp = (int)(0.025 * Rate);

    private readonly BandBank[] _banks;
    private readonly float[] _samples = new float[WarmUp + Length];
    private readonly float[][] _bands = [.. Enumerable.Range(0, BandBank.Count).Select(_ => new float[Length])];
    private readonly double[] _energy = new double[(Length + 1) * BandBank.Count];

    /// <param name="metalHertz">From where up strokes on metal are timed; lower than 10 kHz where the recording has nothing there.</param>
    public StrokeView(double metalHertz) =>
        _banks = [.. Enumerable.Range(0, ListenerModel.Families).Select(family => StrokeBands.Of((PieceFamily)family).Filters(metalHertz))];

    public PieceFamily Family { get; private set; }

    /// <summary>Sample of the recording that index 0 stands for.</summary>
    public long Start { get; private set; }

    /// <summary>One of the family's three bands (0 to 2) or its onset band (3).</summary>
    public ReadOnlySpan<float> Band(int band) => _bands[band];

    /// <summary>Energy of a band (0 to 2) between two indices, first inclusive, divided by their distance.</summary>
    public double Mean(int band, int from, int to) => (_energy[(to * BandBank.Count) + band] - _energy[(from * BandBank.Count) + band]) / (to - from);

    /// <summary>The most energy that each band has in any <paramref name="length"/> samples between two indices.</summary>
    public Vector256<double> MostEnergy(int from, int to, int length)
    {
        ReadOnlySpan<Vector256<double>> until = MemoryMarshal.Cast<double, Vector256<double>>(_energy)[from..(to + 1)];
        Vector256<double> most = default;
        for (int i = length; i < until.Length; i++)
            most = Vector256.Max(most, until[i] - until[i - length]);
        return most;
    }

    /// <param name="wide">All of the view; else only what times, shapes and levels are read from, 18 ms before to 42 ms after the network's time. The rest is then as the last stroke left it.</param>
    /// <param name="others">What the other strokes sound like is taken off first; null = nothing is.</param>
    public void Look(MonoSound sound, IReadOnlyList<CurveStroke> strokes, int index, bool wide, StrokeSounds? others)
    {
        CurveStroke stroke = strokes[index];
        Family = stroke.Family;
        Start = (long)Math.Round(stroke.Sample) - Half;
        int from = wide ? 0 : Half - NarrowBefore;
        int count = wide ? Length : NarrowBefore + NarrowAfter;
        Span<float> samples = _samples.AsSpan(0, WarmUp + count);
        sound.Read(Start + from - WarmUp, samples);
        others?.TakeOffOthers(index, Start + from - WarmUp, samples);
        _banks[(int)Family].Run(samples, WarmUp, _bands[0].AsSpan(from), _bands[1].AsSpan(from), _bands[2].AsSpan(from), _bands[3].AsSpan(from), _energy.AsSpan(from * BandBank.Count));
    }
}
