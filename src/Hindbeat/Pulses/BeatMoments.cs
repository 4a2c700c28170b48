using Hindbeat.Units;

namespace Hindbeat.Pulses;

/// <summary>
/// The moments of a passage laid on its beats, and how well a division of a beat explains them: a moment takes one of the division's places,
/// each by its share, and its strokes scatter about that place and their voice's habit there.
/// </summary>
internal sealed class BeatMoments
{
    private readonly StrokeHabits _habits;
    private readonly int[] _momentOf;

    /// <summary>Strokes in the order of their moments.</summary>
    private readonly Voice[] _voices;

    /// <summary>Beats from the beat that their moment belongs to.</summary>
    private readonly double[] _within;

    /// <summary>[moment]: its first stroke; one more at the end.</summary>
    private readonly int[] _firstOf;

    private readonly int[] _beatOf;

    /// <summary>[moment]: mean of its strokes' places, lay-back taken out.</summary>
    private readonly double[] _mean;

    private readonly bool[] _isStruck;

    private BeatMoments(StrokeHabits habits, int[] momentOf, int moments, int strokes, int beats, double beatSeconds)
    {
        (_habits, _momentOf, Beats, BeatSeconds) = (habits, momentOf, beats, beatSeconds);
        _voices = new Voice[strokes];
        _within = new double[strokes];
        _firstOf = new int[moments + 1];
        _beatOf = new int[moments];
        _mean = new double[moments];
        _isStruck = new bool[beats];
    }

    public int Beats { get; }

    /// <summary>Mean beat.</summary>
    public double BeatSeconds { get; }

    public static BeatMoments Of(StrokeTrain strokes, int[] main, double[] beats, StrokeHabits habits)
    {
        double beatSeconds = BeatTimes.Mean(beats);
        StrokeMoments grouped = StrokeMoments.Of(strokes, strokes.Times, main, beatSeconds);
        int[] order = [.. Enumerable.Range(0, strokes.Count).Where(i => grouped.MomentOf[i] >= 0).OrderBy(i => grouped.MomentOf[i])];
        BeatMoments moments = new(habits, grouped.MomentOf, grouped.Count, order.Length, beats.Length - 1, beatSeconds);
        for (int k = 0; k < order.Length;)
        {
            int moment = grouped.MomentOf[order[k]];
            int first = k;
            double sum = 0;
            for (; k < order.Length && grouped.MomentOf[order[k]] == moment; k++)
            {
                moments._voices[k] = strokes.VoiceOf[order[k]];
                moments._within[k] = BasePath.PlaceAt(beats, strokes.Times[order[k]]);
                sum += moments._within[k] - (habits.Late(moments._voices[k]) / beatSeconds);
            }

            double place = sum / (k - first);
            int beat = Math.Clamp((int)Math.Floor(place), 0, moments.Beats - 1);
            for (int s = first; s < k; s++)
                moments._within[s] -= beat;
            moments._mean[moment] = place - beat;
            moments._beatOf[moment] = beat;
            moments._firstOf[moment + 1] = k;
            moments._isStruck[beat] = true;
        }

        return moments;
    }

    /// <summary>The moment of a stroke that is no grace.</summary>
    public int Of(int stroke) => _momentOf[stroke];

    public bool IsStruck(int beat) => _isStruck[beat];

    /// <summary>[beat]: ln of how well a division explains the beat's moments.</summary>
    public double[] LogLikelihoods(BeatGrid grid, SwingShape swing)
    {
        double[] logs = new double[Beats];
        double[] sounding = Sounding(grid, swing);
        for (int moment = 0; moment < _beatOf.Length; moment++)
            logs[_beatOf[moment]] += Best(moment, grid, sounding).Log;
        return logs;
    }

    /// <summary>[moment]: its place in beats from beat 0, on the divisions chosen.</summary>
    public Fraction[] PlacesOn(BeatGrid[] chosen, SwingShape swing)
    {
        Dictionary<BeatGrid, double[]> sounding = chosen.Distinct().ToDictionary(grid => grid, grid => Sounding(grid, swing));
        return [.. _beatOf.Select((beat, moment) => new Fraction(beat) + chosen[beat].Written[Best(moment, chosen[beat], sounding[chosen[beat]]).Place])];
    }

    private static double[] Sounding(BeatGrid grid, SwingShape swing) => [.. grid.Written.Select((_, p) => grid.SoundingAt(p, swing))];

    /// <summary>The place that explains a moment best: one of the two about it.</summary>
    private (int Place, double Log) Best(int moment, BeatGrid grid, double[] sounding)
    {
        int left = Math.Clamp((int)Math.Floor(_mean[moment] * grid.Parts), 0, grid.Parts - 1);
        double here = LogAt(moment, grid, left, sounding[left]);
        double after = LogAt(moment, grid, left + 1, sounding[left + 1]);
        return after > here ? (left + 1, after) : (left, here);
    }

    private double LogAt(int moment, BeatGrid grid, int place, double sounding)
    {
        double log = grid.LogShares[place];
        for (int s = _firstOf[moment]; s < _firstOf[moment + 1]; s++)
        {
            double off = ((_within[s] - sounding) * BeatSeconds) - _habits.At(_voices[s], place * StrokeHabits.Places / grid.Parts);
            log += _habits.Bell.LogAt(off);
        }

        return log;
    }
}
