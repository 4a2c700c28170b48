using Hindbeat.Units;

namespace Hindbeat.Pulses;

/// <summary>
/// Each stroke's written place, decided for the passage as a whole: one swing shape for all bars, one division for each
/// beat, and divisions that the passage uses often are believed sooner. A stroke alone never decides.
/// </summary>
/// <param name="Places">Beats from the first beat, exact; one a stroke.</param>
/// <param name="GridOfBeat">Division of each beat.</param>
/// <param name="Swing">How pairs swing.</param>
internal sealed record WrittenPlaces(Fraction[] Places, BeatGrid[] GridOfBeat, SwingShape Swing)
{
    /// <summary>Scatter of strokes around their places, seconds, lay-back and swing taken out.</summary>
    private const double StrokeScatter = 0.013;

    /// <summary>Density of strays relative to the bell's peak: a stroke further off than about 2.8 scatters is a stray and decides nothing.</summary>
    private const double Stray = 0.02;

    /// <summary>Swing must explain the passage this much better (nats) than straight pairs; a few loose strokes do not swing a passage.</summary>
    private const double SwingCost = 6;

    /// <summary>Two neighbouring beats divided differently cost this much (nats).</summary>
    private const double ChangeCost = 0.7;

    /// <summary>2.3:1 is the most that is still written as a straight pair; beyond lie dotted pairs.</summary>
    private const double MostSwing = 2.3 / 3.3;

    /// <param name="places">Each stroke's place as played, beats from the first beat, its voice's lay-back taken out.</param>
    /// <param name="graces">True for strokes that lead into another; they take no part.</param>
    /// <param name="beatSeconds">Mean beat.</param>
    public static WrittenPlaces Decide(double[] places, bool[] graces, int beats, double beatSeconds, bool compound)
    {
        IReadOnlyList<BeatGrid> grids = compound ? BeatGrid.Compound : BeatGrid.Simple;
        List<double>[] within = Fold(places, graces, beats);
        double scatter = StrokeScatter / beatSeconds;
        double[] priors = [.. grids.Select(grid => grid.LogPrior)];
        SwingShape swing = compound ? SwingShape.Straight : FindSwing(within, grids, priors, scatter);
        priors = Learn(within, grids, priors, swing, scatter);
        BeatGrid[] chosen = Choose(within, grids, priors, swing, scatter);

        Fraction[] written = new Fraction[places.Length];
        for (int i = 0; i < places.Length; i++)
        {
            int beat = Math.Clamp((int)Math.Floor(places[i]), 0, beats - 1);
            written[i] = new Fraction(beat) + Nearest(chosen[beat], swing, places[i] - beat);
        }

        return new WrittenPlaces(written, chosen, swing);
    }

    /// <summary>ln of how well straight or swung places explain the strokes, up to a constant: for comparing shifts of the whole.</summary>
    public static double Explain(double[] places, bool[] graces, int beats, double beatSeconds, bool compound)
    {
        IReadOnlyList<BeatGrid> grids = compound ? BeatGrid.Compound : BeatGrid.Simple;
        List<double>[] within = Fold(places, graces, beats);
        double scatter = StrokeScatter / beatSeconds;
        double[] priors = [.. grids.Select(grid => grid.LogPrior)];
        SwingShape swing = compound ? SwingShape.Straight : FindSwing(within, grids, priors, scatter);
        return Total(within, grids, priors, swing, scatter);
    }

    private static List<double>[] Fold(double[] places, bool[] graces, int beats)
    {
        List<double>[] within = [.. Enumerable.Range(0, beats).Select(_ => new List<double>())];
        for (int i = 0; i < places.Length; i++)
        {
            int beat = Math.Clamp((int)Math.Floor(places[i]), 0, beats - 1);
            if (!graces[i])
                within[beat].Add(places[i] - beat);
        }

        return within;
    }

    private static Fraction Nearest(BeatGrid grid, SwingShape swing, double within)
    {
        int best = 0;
        for (int p = 1; p < grid.Written.Length; p++)
        {
            if (Math.Abs(within - grid.SoundingAt(p, swing)) < Math.Abs(within - grid.SoundingAt(best, swing)))
                best = p;
        }

        return grid.Written[best];
    }

    private static SwingShape FindSwing(List<double>[] within, IReadOnlyList<BeatGrid> grids, double[] priors, double scatter)
    {
        SwingShape best = SwingShape.Straight;
        double straight = Total(within, grids, priors, best, scatter);
        double top = straight;
        for (double share = 0.51; share <= MostSwing; share += 0.01)
        {
            foreach (SwingShape swing in (SwingShape[])[new(0.5, share), new(share, 0.5)])
            {
                double value = Total(within, grids, priors, swing, scatter) - SwingCost;
                if (value > top)
                {
                    top = value;
                    best = swing;
                }
            }
        }

        return best;
    }

    private static double Total(List<double>[] within, IReadOnlyList<BeatGrid> grids, double[] priors, SwingShape swing, double scatter)
    {
        double total = 0;
        foreach (List<double> beat in within)
        {
            if (beat.Count > 0)
                total += LogSum(grids, priors, beat, swing, scatter);
        }

        return total;
    }

    private static double LogSum(IReadOnlyList<BeatGrid> grids, double[] priors, List<double> beat, SwingShape swing, double scatter)
    {
        double top = double.NegativeInfinity;
        double sum = 0;
        for (int g = 0; g < grids.Count; g++)
        {
            double value = priors[g] + LogLikelihood(grids[g], beat, swing, scatter);
            if (value > top)
            {
                sum = (sum * Math.Exp(top - value)) + 1;
                top = value;
            }
            else
            {
                sum += Math.Exp(value - top);
            }
        }

        return top + Math.Log(sum);
    }

    /// <summary>Each stroke takes one of the grid's places with equal chance and scatters about it; finer grids pay for their many places.</summary>
    private static double LogLikelihood(BeatGrid grid, List<double> beat, SwingShape swing, double scatter)
    {
        double sum = 0;
        foreach (double within in beat)
        {
            double nearest = double.MaxValue;
            for (int p = 0; p < grid.Written.Length; p++)
                nearest = Math.Min(nearest, Math.Abs(within - grid.SoundingAt(p, swing)));
            double z = nearest / scatter;
            sum += Math.Log((Math.Exp(-0.5 * z * z) + Stray) / grid.Parts);
        }

        return sum;
    }

    /// <summary>How usual each division is in this passage: two rounds of expectation and maximisation, started at and drawn toward the priors.</summary>
    private static double[] Learn(List<double>[] within, IReadOnlyList<BeatGrid> grids, double[] priors, SwingShape swing, double scatter)
    {
        const double priorBeats = 8;
        double norm = priors.Sum(Math.Exp);
        double[] current = [.. priors.Select(prior => prior - Math.Log(norm))];
        for (int round = 0; round < 3; round++)
        {
            double[] share = [.. priors.Select(prior => priorBeats * Math.Exp(prior) / norm)];
            double total = priorBeats;
            foreach (List<double> beat in within)
            {
                if (beat.Count == 0)
                    continue;
                double all = LogSum(grids, current, beat, swing, scatter);
                for (int g = 0; g < grids.Count; g++)
                    share[g] += Math.Exp(current[g] + LogLikelihood(grids[g], beat, swing, scatter) - all);
                total++;
            }

            current = [.. share.Select(value => Math.Log(value / total))];
        }

        return current;
    }

    private static BeatGrid[] Choose(List<double>[] within, IReadOnlyList<BeatGrid> grids, double[] priors, SwingShape swing, double scatter)
    {
        int beats = within.Length;
        double[] best = new double[grids.Count];
        int[,] from = new int[beats, grids.Count];
        for (int b = 0; b < beats; b++)
        {
            double[] next = new double[grids.Count];
            for (int g = 0; g < grids.Count; g++)
            {
                int origin = g;
                for (int p = 0; p < grids.Count; p++)
                {
                    if (best[p] - ChangeCost > best[origin] - (origin == g ? 0 : ChangeCost))
                        origin = p;
                }

                from[b, g] = origin;
                next[g] = best[origin] - (origin == g ? 0 : ChangeCost) + priors[g] + LogLikelihood(grids[g], within[b], swing, scatter);
            }

            best = next;
        }

        BeatGrid[] chosen = new BeatGrid[beats];
        int state = Array.IndexOf(best, best.Max());
        for (int b = beats - 1; b >= 0; b--)
        {
            chosen[b] = grids[state];
            state = from[b, state];
        }

        return chosen;
    }
}
