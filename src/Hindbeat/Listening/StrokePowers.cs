using Hindbeat.Sound;

namespace Hindbeat.Listening;

/// <summary>How long a stroke's level is heard for.</summary>
internal enum LevelSpan
{
    /// <summary>8 ms.</summary>
    Short,

    /// <summary>16 ms.</summary>
    Middle,

    /// <summary>30 ms.</summary>
    Long,
}

/// <summary>What was sounding before a stroke and what is heard from it on, in twelve bands (the last one overlaps others): mean squares, 1 = full scale.</summary>
/// <remarks>One instance a thread; <see cref="Measure"/> allocates nothing.</remarks>
internal sealed class StrokePowers
{
    public const int Bands = BandEnergies.Count;

    /// <summary>Values of a stroke: what was before, then each <see cref="LevelSpan"/>, a row of <see cref="Bands"/> each.</summary>
    public const int Values = 4 * Bands;

    private const int Rate = StrokeView.Rate;

    /// <summary>Hertz. Metal's corners (10 kHz and above) are moved down where the recording has nothing there.</summary>
    private static readonly (double Low, double High)[] Corners =
    [
        (30, 60), (60, 120), (120, 250), (250, 500), (500, 1000), (1000, 2000), (2000, 4000), (4000, 7000), (7000, 10000),
        (StrokeBands.MetalHertz, 1.4 * StrokeBands.MetalHertz), (1.4 * StrokeBands.MetalHertz, 20000), (1500, 8000),
    ];

    /// <summary>The filters come to rest in this time: five time constants of the lowest.</summary>
    private const int WarmUp = (int)(0.040 * Rate);

    /// <summary>The filters from 500 Hz up begin this much later.</summary>
    private const int Late = (int)(0.035 * Rate);

    /// <summary>What was sounding is heard from 8 to 2.3 ms before the onset, clear of what the time may be off by.</summary>
    private const int BeforeFrom = (int)(0.008 * Rate);
    private const int BeforeTo = (int)(0.0023 * Rate);

    /// <summary>The stroke is heard from this long before its onset on, so that a time a little late loses nothing.</summary>
    private const int Early = (int)(0.001 * Rate);

    /// <summary>−110 dB, so that silence has a logarithm.</summary>
    private const double Floor = 1e-11;

    private const int Onset = WarmUp + BeforeFrom;

    private static readonly int[] Ends =
        [WarmUp, Onset - BeforeTo, Onset - Early, Onset + (int)(0.008 * Rate), Onset + (int)(0.016 * Rate), Onset + (int)(0.030 * Rate)];

    private readonly BandEnergies _filters;
    private readonly float[] _samples = new float[Ends[^1]];
    private readonly double[] _energy = new double[Ends.Length * Bands];

    /// <param name="metalHertz">As for <see cref="StrokeView"/>.</param>
    public StrokePowers(double metalHertz)
    {
        double lower = metalHertz / StrokeBands.MetalHertz;
        _filters = new BandEnergies([.. Corners.Select(band => (band.Low >= StrokeBands.MetalHertz ? band.Low * lower : band.Low, band.High is > StrokeBands.MetalHertz and < 20000 ? band.High * lower : band.High))]);
    }

    /// <param name="onset">Sample of the recording.</param>
    /// <param name="powers"><see cref="Values"/> of them.</param>
    public void Measure(MonoSound sound, long onset, Span<double> powers)
    {
        sound.Read(onset - Onset, _samples);
        _filters.Run(_samples, Late, Ends, _energy);
        for (int band = 0; band < Bands; band++)
        {
            powers[band] = Floor + (_energy[Bands + band] / (BeforeFrom - BeforeTo));
            double sum = 0;
            for (int span = 0; span < 3; span++)
            {
                sum += _energy[((3 + span) * Bands) + band];
                powers[((1 + span) * Bands) + band] = Floor + (sum / (Ends[3 + span] - Ends[2]));
            }
        }
    }
}
