using Hindbeat.Units;

namespace Hindbeat.Pulses;

/// <summary>
/// Each stroke's written place, decided for the passage as a whole: one swing shape for all bars, one division for each
/// beat, and divisions that the passage uses often are believed sooner. A stroke alone never decides; strokes that sound together have one place.
/// </summary>
/// <param name="Places">Beats from the first beat, exact; one a stroke. Grace strokes have their main stroke's.</param>
/// <param name="GridOfBeat">Division of each beat.</param>
/// <param name="Swing">How pairs swing.</param>
internal sealed record WrittenPlaces(Fraction[] Places, BeatGrid[] GridOfBeat, SwingShape Swing)
{
    /// <summary>Swing must explain the passage this much better (nats) than straight pairs; a few loose strokes do not swing a passage.</summary>
    private const double SwingCost = 6;

    /// <summary>Two neighbouring beats divided differently cost this much (nats).</summary>
    private const double ChangeCost = 1.2;

    /// <summary>2.3:1 is the most that is still written as a straight pair; beyond lie dotted pairs.</summary>
    private const double MostSwing = 2.3 / 3.3;

    /// <summary>Steps of the pair's share in which swing is looked for, first and near the best.</summary>
    private const double CoarseSwing = 0.03;

    private const double FineSwing = 0.01;

    private static readonly Fraction MiddleTriplet = new(1, 3);

    /// <param name="main">Each stroke's main stroke; its own index when it is none of a flam or drag.</param>
    /// <param name="beats">Seconds of beat 0, 1, ...</param>
    public static WrittenPlaces Decide(StrokeTrain strokes, int[] main, double[] beats, StrokeHabits habits, bool compound)
    {
        BeatMoments moments = BeatMoments.Of(strokes, main, beats, habits);
        IReadOnlyList<BeatGrid> grids = compound ? BeatGrid.Compound : BeatGrid.Simple;
        SwingShape swing = compound ? SwingShape.Straight : FindSwing(moments, grids);
        double[] priors = Priors(grids, moments, swing);
        double[][] logs = [.. grids.Select(grid => moments.LogLikelihoods(grid, swing))];
        BeatGrid[] chosen = Choose(logs, grids, Learn(logs, priors, moments));
        Fraction[] ofMoment = moments.PlacesOn(chosen, swing);
        if (KeepTriplets(chosen, ofMoment, grids, swing))
            ofMoment = moments.PlacesOn(chosen, swing);
        return new WrittenPlaces([.. main.Select(m => ofMoment[moments.Of(m)])], chosen, swing);
    }

    /// <summary>In a shuffle a beat is in triplets only where the middle one is struck: long and short are a swung pair, written straight.</summary>
    /// <returns>Whether any beat's division has changed.</returns>
    private static bool KeepTriplets(BeatGrid[] chosen, Fraction[] places, IReadOnlyList<BeatGrid> grids, SwingShape swing)
    {
        if (!BeatGrid.IsShuffle(swing))
            return false;
        HashSet<long> middles = [.. places.Where(place => place - new Fraction(place.Floor()) == MiddleTriplet).Select(place => place.Floor())];
        bool any = false;
        for (int beat = 0; beat < chosen.Length; beat++)
        {
            if (chosen[beat].Parts != 3 || middles.Contains(beat))
                continue;
            chosen[beat] = grids[0];
            any = true;
        }

        return any;
    }

    /// <summary>ln of how well straight or swung places explain the strokes, up to a constant: for comparing shifts of the whole, and curves.</summary>
    /// <param name="given">The swing when it is known; null = found.</param>
    public static double Explain(StrokeTrain strokes, int[] main, double[] beats, StrokeHabits habits, bool compound, SwingShape? given = null)
    {
        BeatMoments moments = BeatMoments.Of(strokes, main, beats, habits);
        IReadOnlyList<BeatGrid> grids = compound ? BeatGrid.Compound : BeatGrid.Simple;
        SwingShape swing = given ?? (compound ? SwingShape.Straight : FindSwing(moments, grids));
        return Total([.. grids.Select(grid => moments.LogLikelihoods(grid, swing))], Priors(grids, moments, swing), moments);
    }

    private static double[] Priors(IReadOnlyList<BeatGrid> grids, BeatMoments moments, SwingShape swing) => [.. grids.Select(grid => grid.LogPrior(moments.BeatSeconds, swing))];

    /// <summary>The swing of eighths or of sixteenths that explains the passage best, or straight.</summary>
    private static SwingShape FindSwing(BeatMoments moments, IReadOnlyList<BeatGrid> grids)
    {
        double[][] logs = [.. grids.Select(grid => moments.LogLikelihoods(grid, SwingShape.Straight))];
        double straight = Total(logs, Priors(grids, moments, SwingShape.Straight), moments);
        (SwingShape Swing, double Value) best = (SwingShape.Straight, straight);
        void Try(SwingShape swing)
        {
            double[][] swung = [.. grids.Select((grid, g) => grid.SwingsIn(swing) ? moments.LogLikelihoods(grid, swing) : logs[g])];
            double value = Total(swung, Priors(grids, moments, swing), moments) - SwingCost;
            if (value > best.Value)
                best = (swing, value);
        }

        for (double share = 0.5 + FineSwing; share <= MostSwing; share += CoarseSwing)
        {
            Try(new SwingShape(0.5, share));
            Try(new SwingShape(share, 0.5));
        }

        if (best.Swing == SwingShape.Straight)
            return best.Swing;
        SwingShape coarse = best.Swing;
        for (double by = -2 * FineSwing; by <= 2.01 * FineSwing; by += FineSwing)
        {
            SwingShape tried = coarse.Half > 0.5 ? coarse with { Half = coarse.Half + by } : coarse with { Quarter = coarse.Quarter + by };
            if (Math.Abs(by) > 0.001 && Math.Max(tried.Half, tried.Quarter) is > 0.505 and <= MostSwing)
                Try(tried);
        }

        return best.Swing;
    }

    /// <param name="logs">[division][beat]</param>
    private static double Total(double[][] logs, double[] priors, BeatMoments moments)
    {
        double total = 0;
        for (int beat = 0; beat < moments.Beats; beat++)
        {
            if (moments.IsStruck(beat))
                total += LogSum(logs, priors, beat);
        }

        return total;
    }

    private static double LogSum(double[][] logs, double[] priors, int beat)
    {
        double top = double.NegativeInfinity;
        for (int g = 0; g < priors.Length; g++)
            top = Math.Max(top, priors[g] + logs[g][beat]);
        double sum = 0;
        for (int g = 0; g < priors.Length; g++)
            sum += Math.Exp(priors[g] + logs[g][beat] - top);
        return top + Math.Log(sum);
    }

    /// <summary>How usual each division is in this passage: rounds of expectation and maximisation, started at and drawn toward the priors.</summary>
    private static double[] Learn(double[][] logs, double[] priors, BeatMoments moments)
    {
        const double priorBeats = 8;
        double norm = priors.Sum(Math.Exp);
        double[] current = [.. priors.Select(prior => prior - Math.Log(norm))];
        for (int round = 0; round < 3; round++)
        {
            double[] share = [.. priors.Select(prior => priorBeats * Math.Exp(prior) / norm)];
            double total = priorBeats;
            for (int beat = 0; beat < moments.Beats; beat++)
            {
                if (!moments.IsStruck(beat))
                    continue;
                double all = LogSum(logs, current, beat);
                for (int g = 0; g < priors.Length; g++)
                    share[g] += Math.Exp(current[g] + logs[g][beat] - all);
                total++;
            }

            current = [.. share.Select(value => Math.Log(value / total))];
        }

        return current;
    }

    /// <summary>The most likely divisions of all beats together (Viterbi).</summary>
    private static BeatGrid[] Choose(double[][] logs, IReadOnlyList<BeatGrid> grids, double[] priors)
    {
        int beats = logs[0].Length;
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
                next[g] = best[origin] - (origin == g ? 0 : ChangeCost) + priors[g] + logs[g][b];
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
