using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Feel;

/// <summary>
/// Tempo and its drift. Stroke times after lay-back and swing are fitted by t = a + b·k + c·k² over beats k; the
/// tempo at the middle is 60 ÷ b and the drift its slope there, −120 c ÷ b³ bpm a second, given in bpm a minute;
/// positive = getting faster.
/// </summary>
/// <remarks>
/// Method C of Senn et al., forty popular drum patterns (data readme). Where we differ: strokes, not beats, are
/// fitted, by the model's robust weights, so that the smoothing inside a tracked pulse does not make the interval
/// too narrow. Least data: strokes in 4 blocks; below that the drift is 0 with an interval that says "unknown".
/// </remarks>
public static class TempoDrift
{
    private const double BeatsEachSide = 4;

    /// <summary>
    /// A drummer's slow wander makes neighbouring bars alike, which resampling single bars does not see. On 294 train takes of the Groove
    /// MIDI Dataset, played to a click, intervals of up to ten bars held a drift of zero often enough, those of sixteen bars and more in 81 %;
    /// so much wider 95 % hold it.
    /// </summary>
    private const double Togetherness = 1.5;

    private const double FewBars = 10;

    private const double ManyBars = 16;

    internal static TempoFigure Measure(FeelModel model, BarResampling resampling)
    {
        StrokeTable table = model.Table;
        Pulse pulse = table.Performance.Pulse;
        double middle = 0.5 * (table.Strokes.Min(stroke => stroke.Beats) + table.Strokes.Max(stroke => stroke.Beats));
        var all = default(Quadratic);
        var blocks = new Quadratic[table.Blocks];
        double[] shares = new double[table.Blocks];
        double start = pulse.TimeAt(middle).TotalSeconds;
        for (int i = 0; i < table.Strokes.Length; i++)
        {
            Stroke stroke = table.Strokes[i];
            double mean = model.Mean(stroke.Piece, model.RoleOf(stroke));
            blocks[stroke.Block].Add(stroke.Beats - middle, stroke.Time - mean - start, model.Weights[i]);
            shares[stroke.Block] += model.Weights[i];
        }

        foreach (Quadratic block in blocks)
            all.Add(block);
        double Drift(int left)
        {
            Quadratic sums = all;
            if (left >= 0)
                sums.Remove(blocks[left]);
            return sums.Solve() is { B: > 0 } fit ? -120 * fit.C / (fit.B * fit.B * fit.B) * 60 : double.NaN;
        }

        Estimate? drift = table.Blocks >= StrokeTable.FewestBars ? resampling.Interval(Drift, shares, fitted: 2) : null;
        return new TempoFigure(pulse.MeanTempo, drift is null ? Unknown(pulse) : Widened(drift.Value, table.Blocks), Curve(pulse));
    }

    private static Estimate Widened(Estimate drift, int bars)
    {
        double factor = 1 + ((Togetherness - 1) * Math.Clamp((bars - FewBars) / (ManyBars - FewBars), 0, 1));
        return new Estimate(drift.Value, drift.Value - (factor * (drift.Value - drift.Low)), drift.Value + (factor * (drift.High - drift.Value)));
    }

    /// <summary>When nothing is known of the drift: anything between halving and doubling within the passage.</summary>
    private static Estimate Unknown(Pulse pulse)
    {
        double minutes = (pulse.Beats[^1].Time - pulse.Beats[0].Time).Value / 60, bpm = pulse.MeanTempo.Value;
        return new Estimate(0, -0.5 * bpm / minutes, bpm / minutes);
    }

    /// <summary>Tempo at each beat: slope of the straight line through the beats within four on either side.</summary>
    private static (AudioTime, Bpm)[] Curve(Pulse pulse)
    {
        var curve = new (AudioTime, Bpm)[pulse.Beats.Count];
        for (int i = 0; i < curve.Length; i++)
        {
            int from = (int)Math.Max(0, i - BeatsEachSide), to = (int)Math.Min(curve.Length - 1, i + BeatsEachSide);
            double n = to - from + 1, centre = 0.5 * (from + to), xy = 0, xx = 0;
            for (int k = from; k <= to; k++)
            {
                xy += (k - centre) * (pulse.Beats[k].Time - pulse.Beats[from].Time).Value;
                xx += (k - centre) * (k - centre);
            }

            curve[i] = (pulse.Beats[i].Time, Bpm.Of(60 * xx / xy));
        }

        return curve;
    }
}
