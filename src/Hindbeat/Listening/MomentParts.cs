namespace Hindbeat.Listening;

/// <summary>Parts what is heard at one stroke among the pieces struck there: what was sounding before, and each piece's usual stroke so many times louder or softer.</summary>
/// <remarks>
/// The gains are those whose sum lies nearest to what is heard by the divergence of Itakura and Saito, which asks for ratios and so lets every band count alike; multiplicative steps after C. Févotte and J. Idier,
/// Algorithms for nonnegative matrix factorization with the β-divergence, Neural Computation 2011 (from memory). Allocates nothing once made; one instance a thread.
/// </remarks>
internal sealed class MomentParts
{
    /// <summary>Pieces at one moment: the stroke's own and at most five more.</summary>
    public const int Most = 6;

    private const int Bands = StrokePowers.Bands;
    private const int Steps = 15;
    private const double LeastGain = 1e-5;

    private readonly double[] _usual = new double[Most * Bands];
    private readonly double[] _gains = new double[Most];
    private readonly double[] _sum = new double[Bands];

    /// <summary>Each band of the stroke by itself: its power over or under the usual, decibels, the others' parts and what was before taken off.</summary>
    public double[] Decibels { get; } = new double[Bands];

    /// <summary>Share of each band's power that is the stroke's, 0 to 1.</summary>
    public double[] Share { get; } = new double[Bands];

    /// <summary>All of the stroke over or under its usual, decibels.</summary>
    public double Gain => 10 * Math.Log10(_gains[0]);

    public int Count { get; private set; }

    /// <summary>Begins with the stroke's own piece.</summary>
    /// <param name="usual">Power of the piece's usual stroke in each band.</param>
    public void Begin(ReadOnlySpan<double> usual)
    {
        Count = 0;
        Add(usual, 1);
    }

    /// <summary>Another piece struck there; a sixth one is left out.</summary>
    /// <param name="part">How much of its stroke falls into what is heard, 0 to 1.</param>
    public void Add(ReadOnlySpan<double> usual, double part)
    {
        if (Count == Most)
            return;
        for (int band = 0; band < Bands; band++)
            _usual[(Count * Bands) + band] = part * usual[band];
        Count++;
    }

    /// <param name="before">Power that was sounding before, each band.</param>
    /// <param name="heard">Power heard, each band.</param>
    public void Solve(ReadOnlySpan<double> before, ReadOnlySpan<double> heard)
    {
        _gains.AsSpan().Fill(1);
        for (int step = 0; step < Steps; step++)
        {
            Sum(before);
            for (int piece = 0; piece < Count; piece++)
            {
                double wanted = 0;
                double had = 1e-30;
                for (int band = 0; band < Bands; band++)
                {
                    double of = _usual[(piece * Bands) + band] / _sum[band];
                    wanted += of * heard[band] / _sum[band];
                    had += of;
                }

                _gains[piece] = Math.Max(_gains[piece] * Math.Sqrt(wanted / had), LeastGain);
            }
        }

        Sum(before);
        for (int band = 0; band < Bands; band++)
        {
            double mine = _gains[0] * _usual[band];
            double own = Math.Clamp((heard[band] - (_sum[band] - mine)) / heard[band], StrokeLoudness.Least, 1);
            Decibels[band] = 10 * Math.Log10(own * heard[band] / _usual[band]);
            Share[band] = mine / _sum[band];
        }
    }

    private void Sum(ReadOnlySpan<double> before)
    {
        before.CopyTo(_sum);
        for (int piece = 0; piece < Count; piece++)
        {
            for (int band = 0; band < Bands; band++)
                _sum[band] += _gains[piece] * _usual[(piece * Bands) + band];
        }
    }
}
