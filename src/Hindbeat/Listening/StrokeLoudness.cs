using Hindbeat.Performances;

namespace Hindbeat.Listening;

/// <summary>How loud the strokes of one piece are by a few bands alone: each less what was sounding before, each counting as far as the stroke is heard there.</summary>
/// <remarks>
/// level = median of the first band + Σ w c⁵ (band − its median) / Σ w c⁵ over the bands, medians over the piece's strokes, c the share of power that is the
/// stroke's own, w from <see cref="StrokeBands.Levels"/>. What rings on in one band does not touch the others; of kicks under toms, the lowest is left.
/// docs/decisions/listening-learned.md holds the measurements. Company is parted from it afterwards (<see cref="LoudnessModel"/>).
/// </remarks>
internal static class StrokeLoudness
{
    /// <summary>Of the power at least this share is the stroke's: −30 dB, where a loud sound before hides all of it.</summary>
    public const double Least = 1e-3;

    /// <summary>What a band counts falls with this power of the stroke's share; with none at all kicks and toms ranked worse on training kits, with 2 nearly as well.</summary>
    private const int Steepness = 5;

    /// <param name="strokes">Indices of the strokes of one piece.</param>
    /// <param name="powers">Of every stroke of the recording, <see cref="StrokePowers.Values"/> each.</param>
    /// <returns>Root mean square of each stroke, decibels, 0 = full scale.</returns>
    public static double[] Of(PieceFamily family, ReadOnlySpan<int> strokes, ReadOnlySpan<double> powers)
    {
        (int Band, LevelSpan Span, double Weight)[] bands = StrokeBands.Of(family).Levels;
        int count = strokes.Length;
        (double Decibels, double Own)[] heard = new (double, double)[count * bands.Length];
        double[] usual = new double[bands.Length];
        double[] sorted = new double[count];
        for (int band = 0; band < bands.Length; band++)
        {
            for (int i = 0; i < count; i++)
            {
                ReadOnlySpan<double> stroke = powers.Slice(strokes[i] * StrokePowers.Values, StrokePowers.Values);
                double after = stroke[((1 + (int)bands[band].Span) * StrokePowers.Bands) + bands[band].Band];
                double own = Math.Max((after - stroke[bands[band].Band]) / after, Least);
                heard[(i * bands.Length) + band] = (sorted[i] = 10 * Math.Log10(own * after), own);
            }

            Array.Sort(sorted);
            usual[band] = sorted[count / 2];
        }

        double[] levels = new double[count];
        for (int i = 0; i < count; i++)
        {
            double sum = 0;
            double weights = 0;
            for (int band = 0; band < bands.Length; band++)
            {
                (double decibels, double own) = heard[(i * bands.Length) + band];
                double weight = bands[band].Weight * Math.Pow(own, Steepness);
                sum += weight * (decibels - usual[band]);
                weights += weight;
            }

            levels[i] = usual[0] + (sum / weights);
        }

        return levels;
    }
}
