using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Listening;

/// <summary>One band of a stroke.</summary>
/// <param name="Decibels">Root mean square less what was sounding before; 0 = full scale.</param>
/// <param name="Own">Share of the power heard that is the stroke's, 0 to 1.</param>
internal readonly record struct BandLevel(double Decibels, double Own);

/// <summary>How loud the strokes of one piece are: in a few bands, each less what was sounding before, each counting as far as the stroke is heard there.</summary>
/// <remarks>
/// level = median of the first band + Σ w c⁵ (band − its median) / Σ w c⁵ over the bands, medians over the piece's strokes, c the share of power that is the
/// stroke's own, w from <see cref="StrokeBands.Levels"/>. What rings on in one band does not touch the others; of kicks under toms, the lowest is left.
/// docs/decisions/listening-learned.md holds the measurements. One instance a thread; <see cref="Measure"/> allocates nothing.
/// </remarks>
internal sealed class StrokeLoudness
{
    private const int Rate = StrokeView.Rate;

    /// <summary>What was sounding is heard from 8 to 2.3 ms before the onset, clear of what the time may be off by.</summary>
    private const int BeforeFrom = (int)(0.008 * Rate);
    private const int BeforeTo = (int)(0.0023 * Rate);

    /// <summary>The stroke is heard from this long before its onset on, so that a time a little late loses nothing.</summary>
    private const int Early = (int)(0.001 * Rate);

    /// <summary>Longest that a stroke is heard for.</summary>
    private const int After = (int)(0.030 * Rate);

    /// <summary>The filters come to rest in this time: five time constants of the lowest.</summary>
    private const int WarmUp = (int)(0.040 * Rate);

    /// <summary>Of the power at least this share is the stroke's: −30 dB, where a loud sound before hides all of it.</summary>
    private const double Least = 1e-3;

    /// <summary>What a band counts falls with this power of the stroke's share; with none at all kicks and toms ranked worse on training kits, with 2 nearly as well.</summary>
    private const int Steepness = 5;

    private readonly BandBank[] _banks;
    private readonly float[] _samples = new float[WarmUp + BeforeFrom + After];
    private readonly float[][] _bands = [.. Enumerable.Range(0, BandBank.Count).Select(_ => new float[BeforeFrom + After])];
    private readonly double[] _energy = new double[(BeforeFrom + After + 1) * BandBank.Count];

    /// <param name="metalHertz">As for <see cref="StrokeView"/>.</param>
    public StrokeLoudness(double metalHertz) =>
        _banks = [.. Enumerable.Range(0, ListenerModel.Families).Select(family => StrokeBands.Of((PieceFamily)family).LevelFilters(metalHertz))];

    /// <param name="onset">Sample of the recording.</param>
    /// <param name="levels">A value for each of the family's level bands.</param>
    public void Measure(MonoSound sound, PieceFamily family, long onset, Span<BandLevel> levels)
    {
        sound.Read(onset - BeforeFrom - WarmUp, _samples);
        _banks[(int)family].Run(_samples, WarmUp, _bands[0], _bands[1], _bands[2], _bands[3], _energy);
        (double Low, double High, double Seconds, double Weight)[] bands = StrokeBands.Of(family).Levels;
        for (int band = 0; band < bands.Length; band++)
        {
            double before = Mean(band, 0, BeforeFrom - BeforeTo);
            double after = Mean(band, BeforeFrom - Early, BeforeFrom + (int)(bands[band].Seconds * Rate)) + 1e-12;
            double own = Math.Max((after - before) / after, Least);
            levels[band] = new BandLevel(10 * Math.Log10(own * after), own);
        }
    }

    /// <param name="strokes">The bands of every stroke of one piece, stroke after stroke.</param>
    public static Level[] Combine(PieceFamily family, ReadOnlySpan<BandLevel> strokes)
    {
        (double Low, double High, double Seconds, double Weight)[] bands = StrokeBands.Of(family).Levels;
        int count = strokes.Length / bands.Length;
        double[] usual = new double[bands.Length];
        double[] sorted = new double[count];
        for (int band = 0; band < bands.Length && count > 0; band++)
        {
            for (int i = 0; i < count; i++)
                sorted[i] = strokes[(i * bands.Length) + band].Decibels;
            Array.Sort(sorted);
            usual[band] = sorted[count / 2];
        }

        Level[] levels = new Level[count];
        for (int i = 0; i < count; i++)
        {
            double sum = 0;
            double weights = 0;
            for (int band = 0; band < bands.Length; band++)
            {
                BandLevel level = strokes[(i * bands.Length) + band];
                double weight = bands[band].Weight * Math.Pow(level.Own, Steepness);
                sum += weight * (level.Decibels - usual[band]);
                weights += weight;
            }

            levels[i] = Level.FromDbfs(usual[0] + (sum / weights));
        }

        return levels;
    }

    private double Mean(int band, int from, int to) => (_energy[(to * BandBank.Count) + band] - _energy[(from * BandBank.Count) + band]) / (to - from);
}
