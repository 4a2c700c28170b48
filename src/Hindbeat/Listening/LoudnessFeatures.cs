using Hindbeat.Performances;

namespace Hindbeat.Listening;

/// <summary>
/// What is known of each stroke's loudness beside the other strokes of its piece in this recording, and several estimates of it: what <see cref="LoudnessModel"/> decides from.
/// </summary>
/// <remarks>
/// Estimates are decibels by the square law of velocity, 0 = velocity 127. Each is the comparer's usual velocity of the piece (the median over the recording) and how far the stroke lies over
/// or under the piece's usual stroke: by each band with its company parted off, by all bands, by the comparer, by a few bands alone, and by the last two together.
/// </remarks>
internal sealed class LoudnessFeatures
{
    private const int Bands = StrokePowers.Bands;

    /// <summary>Estimates of a stroke: twelve bands, all bands, comparer, few bands, few bands and comparer.</summary>
    public const int Estimates = Bands + 4;

    /// <summary>What is known of a stroke: the twelve bands' decibels and shares, then eight single values and which families are struck with it.</summary>
    public const int Known = (2 * Bands) + 8 + ListenerModel.Families;

    /// <summary>Strokes within 25 ms are company.</summary>
    private const double Near = 0.025 * StrokeView.Rate;

    /// <summary>What is heard of a stroke for its parts: 30 ms.</summary>
    private const double Heard = 0.030 * StrokeView.Rate;

    /// <summary>The usual stroke of a piece comes from at least so many strokes without company; with fewer, from all of them.</summary>
    private const int LeastAlone = 4;

    private const double LowestDb = -30;
    private const double HighestDb = 20;
    private const double DecibelsPerDecade = StrokeLevels.DecibelsPerDecade;

    private readonly IReadOnlyList<CurveStroke> _strokes;
    private readonly double[] _samples;
    private readonly double[] _powers;
    private readonly double[] _offset;
    private readonly float[] _estimates;
    private readonly float[] _known;
    private readonly double[] _usualPowers = new double[ListenerModel.Pieces * Bands];
    private readonly MomentParts _parts = new();

    /// <param name="strokes">Of the recording, in order of time.</param>
    /// <param name="samples">Their onsets.</param>
    /// <param name="powers">Of each stroke <see cref="StrokePowers.Values"/>.</param>
    public LoudnessFeatures(IReadOnlyList<CurveStroke> strokes, double[] samples, double[] powers)
    {
        (_strokes, _samples, _powers) = (strokes, samples, powers);
        (_estimates, _known) = (new float[strokes.Count * Estimates], new float[strokes.Count * Known]);
        (_offset, UsualLevel) = (new double[strokes.Count], new double[strokes.Count]);
        foreach (IGrouping<KitPiece, int> piece in Enumerable.Range(0, strokes.Count).GroupBy(i => strokes[i].Piece))
            OfPiece(piece.Key, [.. piece]);
        for (int i = 0; i < strokes.Count; i++)
            Part(i);
    }

    public ReadOnlySpan<float> EstimatesOf(int stroke) => _estimates.AsSpan(stroke * Estimates, Estimates);

    public ReadOnlySpan<float> KnownOf(int stroke) => _known.AsSpan(stroke * Known, Known);

    /// <summary>Level of the usual stroke of each stroke's piece, dBFS.</summary>
    public double[] UsualLevel { get; }

    private void OfPiece(KitPiece piece, int[] strokes)
    {
        PieceFamily family = piece.Family();
        double networkSays = StrokeBands.Of(family).NetworkSays;
        double[] levels = StrokeLoudness.Of(family, strokes, _powers);
        double[] velocities = [.. strokes.Select(i => Math.Clamp(_strokes[i].Velocity, 0.01, 1))];
        double level = Median(levels);
        double velocity = Median(velocities);
        double offset = Decibels(velocity);
        for (int k = 0; k < strokes.Length; k++)
        {
            int i = strokes[k];
            Span<float> known = _known.AsSpan(i * Known, Known)[(2 * Bands)..];
            Span<float> values = _estimates.AsSpan(i * Estimates, Estimates)[(Bands + 1)..];
            double byComparer = Math.Clamp(Decibels(velocities[k] / velocity), LowestDb, HighestDb);
            double byLevel = Math.Clamp(levels[k] - level, LowestDb, HighestDb);
            double together = Decibels((networkSays * velocities[k]) + ((1 - networkSays) * velocity * Math.Pow(10, (levels[k] - level) / DecibelsPerDecade)));
            _offset[i] = offset;
            UsualLevel[i] = level;
            (values[0], values[1], values[2]) = ((float)(offset + byComparer), (float)(offset + byLevel), (float)Math.Max(together, -90));
            (known[1], known[2], known[3]) = ((float)byComparer / 10, _strokes[i].Certainty, (float)byLevel / 10);
            (known[4], known[5], known[6]) = ((float)offset / 10, values[2] / 10, (float)Math.Log(strokes.Length));
        }

        int[] alone = [.. strokes.Where(IsAlone)];
        int[] usual = alone.Length >= Math.Max(LeastAlone, 0.1 * strokes.Length) ? alone : strokes;
        double[] sorted = new double[usual.Length];
        for (int band = 0; band < Bands; band++)
        {
            for (int k = 0; k < usual.Length; k++)
                sorted[k] = OwnPower(usual[k], band);
            _usualPowers[((int)piece * Bands) + band] = Median(sorted);
        }
    }

    private bool IsAlone(int i)
    {
        (int first, int end) = Around(i);
        for (int j = first; j < end; j++)
        {
            if (_strokes[j].Piece != _strokes[i].Piece && Math.Abs(_samples[j] - _samples[i]) < Near)
                return false;
        }

        return true;
    }

    private void Part(int i)
    {
        Span<float> known = _known.AsSpan(i * Known, Known);
        Span<float> values = _estimates.AsSpan(i * Estimates, Estimates);
        _parts.Begin(Usual(i));
        (int first, int end) = Around(i);
        for (int j = first; j < end; j++)
        {
            double later = _samples[j] - _samples[i];
            if (_strokes[j].Piece == _strokes[i].Piece || Math.Abs(later) >= Near)
                continue;
            _parts.Add(Usual(j), later > 0 ? 1 - (later / Heard) : 1);
            known[(2 * Bands) + 8 + (int)_strokes[j].Family] = 1;
        }

        ReadOnlySpan<double> powers = _powers.AsSpan(i * StrokePowers.Values, StrokePowers.Values);
        _parts.Solve(powers[..Bands], powers[(3 * Bands)..]);
        for (int band = 0; band < Bands; band++)
        {
            double decibels = Math.Clamp(_parts.Decibels[band], LowestDb, HighestDb);
            (values[band], known[band], known[Bands + band]) = ((float)(_offset[i] + decibels), (float)decibels / 10, (float)_parts.Share[band]);
        }

        double gain = Math.Clamp(_parts.Gain, LowestDb, HighestDb);
        (values[Bands], known[2 * Bands]) = ((float)(_offset[i] + gain), (float)gain / 10);
        known[(2 * Bands) + 7] = _parts.Count > 1 ? 1 : 0;
    }

    /// <summary>Strokes are sorted by the network's times, from which the waveform moves them by a few milliseconds: a few more to either side are looked at.</summary>
    private (int First, int End) Around(int i)
    {
        const int Either = 12;
        return (Math.Max(0, i - Either), Math.Min(_strokes.Count, i + Either + 1));
    }

    private double OwnPower(int i, int band)
    {
        double heard = _powers[(i * StrokePowers.Values) + (3 * Bands) + band];
        return Math.Max(heard - _powers[(i * StrokePowers.Values) + band], StrokeLoudness.Least * heard);
    }

    private ReadOnlySpan<double> Usual(int i) => _usualPowers.AsSpan((int)_strokes[i].Piece * Bands, Bands);

    private static double Decibels(double velocity) => DecibelsPerDecade * Math.Log10(velocity);

    internal static double Median(double[] values)
    {
        double[] sorted = [.. values.Order()];
        return (sorted[(sorted.Length - 1) / 2] + sorted[sorted.Length / 2]) / 2;
    }
}
