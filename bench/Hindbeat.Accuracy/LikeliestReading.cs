using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Accuracy;

/// <summary>
/// Where each stroke of a take is written by maximum likelihood, on the click it was played to: a second reading for the chart's yardstick that shares no
/// code, no constant and no rule with the engine's.
/// </summary>
/// <remarks>
/// A take has one lag behind the click, at most one swing (of eighths or of sixteenths, written straight) and one scatter. Each beat has a division,
/// drawn from the take's own shares of divisions; each stroke takes one of its division's places with equal chance, so a division pays ln(places) a stroke, and lies
/// about it normally, or anywhere (3 %). Nothing else is assumed: no limbs, no habits of a limb, no neighbouring beats, no usual places, no grace strokes. Lag and swing are the
/// likeliest of a grid, shares and scatter by expectation and maximisation (Dempster, Laird, Rubin, JRSS B 39, 1977); a swing must gain ln(swings tried) + ½ ln(strokes) (Schwarz, Ann. Statist. 6, 1978).
/// All of this was fixed before the chart was compared with it. A place's chance says how sure the reading itself is.
/// </remarks>
internal sealed class LikeliestReading
{
    private const double Stray = 0.03;
    private const double LongestLag = 0.06;
    private const double LagStep = 0.005;
    private const double MostSwing = 0.70;
    private const double SwingStep = 0.02;

    private static readonly int[] Simple = [1, 2, 3, 4, 6, 8];
    private static readonly int[] Compound = [1, 2, 3, 4, 6, 12];

    /// <summary>How the first of a pair of eighths or of sixteenths is drawn out, as a share of the pair.</summary>
    private readonly record struct Swing(double Eighths, double Sixteenths);

    private readonly int[] _divisions;
    private readonly double[] _beats;
    private readonly double _beatSeconds;

    /// <summary>[beat]: its strokes.</summary>
    private readonly int[][] _strokesOf;
    private readonly double[] _shares;
    private double _scatter = 0.015;

    private LikeliestReading(double[] beats, double beatSeconds, bool compound)
    {
        (_beats, _beatSeconds, _divisions) = (beats, beatSeconds, compound ? Compound : Simple);
        _shares = [.. _divisions.Select(_ => 1.0 / _divisions.Length)];
        _strokesOf = [.. Enumerable.Range(0, beats.Length).GroupBy(i => (long)Math.Floor(beats[i])).Select(group => group.ToArray())];
    }

    /// <summary>Each stroke's likeliest place in beats from the click's first, and its chance.</summary>
    public static (Fraction Place, double Chance)[] Of(Performance performance)
    {
        Pulse click = performance.Pulse;
        bool compound = click.Meter.IsCompound;
        double beatSeconds = click.MeanTempo.Beat.Value;
        double most = Math.Min(LongestLag, beatSeconds / 12);
        (double Log, LikeliestReading? Reading, Swing Swing) best = (double.NegativeInfinity, null, default);
        List<Swing> swings = [new(0.5, 0.5)];
        for (double share = 0.5 + SwingStep; !compound && share <= MostSwing + 1e-9; share += SwingStep)
            swings.AddRange([new(share, 0.5), new(0.5, share)]);
        for (double lag = -most; lag <= most + 1e-9; lag += LagStep)
        {
            LikeliestReading reading = new([.. performance.Hits.Select(hit => click.BeatsAt(hit.Time) - (lag / beatSeconds))], beatSeconds, compound);
            foreach (Swing swing in swings)
            {
                Array.Fill(reading._shares, 1.0 / reading._shares.Length);
                double log = reading.Learn(swing, rounds: 3, learnScatter: false) - (swing == swings[0] ? 0 : Math.Log(swings.Count) + (0.5 * Math.Log(performance.Hits.Count)));
                if (log > best.Log)
                    best = (log, reading, swing);
            }
        }

        LikeliestReading found = best.Reading!;
        found.Learn(best.Swing, rounds: 12, learnScatter: true);
        return found.Places(best.Swing);
    }

    /// <summary>Rounds of expectation and maximisation; the ln likelihood before the last.</summary>
    private double Learn(Swing swing, int rounds, bool learnScatter)
    {
        double total = 0;
        for (int round = 0; round < rounds; round++)
        {
            total = 0;
            double[] counts = [.. _shares.Select(_ => 1.0)];
            double squares = 0;
            double strokes = 1e-9;
            double[][] sounding = Sounding(swing);
            foreach (int[] own in _strokesOf)
            {
                double[] chances = DivisionsOf(own, sounding, out double log);
                total += log;
                for (int d = 0; d < chances.Length; d++)
                {
                    counts[d] += chances[d];
                    if (!learnScatter || chances[d] < 1e-4)
                        continue;
                    foreach (int stroke in own)
                    {
                        double all = Density(stroke, sounding[d]);
                        for (int place = 0; place < sounding[d].Length; place++)
                        {
                            double off = Off(stroke, sounding[d][place]);
                            double chance = chances[d] * Bell(off) * (1 - Stray) / _divisions[d] / all;
                            squares += chance * off * off;
                            strokes += chance;
                        }
                    }
                }
            }

            double sum = counts.Sum();
            for (int d = 0; d < counts.Length; d++)
                _shares[d] = counts[d] / sum;
            if (learnScatter)
                _scatter = Math.Clamp(Math.Sqrt(squares / strokes), 0.004, 0.03);
        }

        return total;
    }

    private (Fraction Place, double Chance)[] Places(Swing swing)
    {
        var places = new (Fraction, double)[_beats.Length];
        double[][] sounding = Sounding(swing);
        foreach (int[] own in _strokesOf)
        {
            double[] chances = DivisionsOf(own, sounding, out _);
            foreach (int stroke in own)
            {
                Dictionary<Fraction, double> byPlace = [];
                for (int d = 0; d < chances.Length; d++)
                {
                    double[] bells = [.. sounding[d].Select(place => Bell(Off(stroke, place)) + 1e-12)];
                    for (int place = 0; place < bells.Length; place++)
                    {
                        Fraction written = new(place, _divisions[d]);
                        byPlace[written] = byPlace.GetValueOrDefault(written) + (chances[d] * bells[place] / bells.Sum());
                    }
                }

                KeyValuePair<Fraction, double> likeliest = byPlace.MaxBy(pair => pair.Value);
                places[stroke] = (new Fraction((long)Math.Floor(_beats[stroke])) + likeliest.Key, likeliest.Value);
            }
        }

        return places;
    }

    /// <summary>Chances of a beat's divisions given its strokes.</summary>
    private double[] DivisionsOf(int[] own, double[][] sounding, out double log)
    {
        double[] logs = [.. _divisions.Select((_, d) => Math.Log(_shares[d]) + own.Sum(stroke => Math.Log(Density(stroke, sounding[d]))))];
        double top = logs.Max();
        double[] chances = [.. logs.Select(value => Math.Exp(value - top))];
        double sum = chances.Sum();
        log = top + Math.Log(sum);
        return [.. chances.Select(chance => chance / sum)];
    }

    /// <summary>A stroke's density under a division, a second. The next beat's first place ends this one and is the same place as its own first.</summary>
    private double Density(int stroke, double[] sounding)
    {
        double sum = 0;
        foreach (double place in sounding)
            sum += Bell(Off(stroke, place));
        return (Stray / _beatSeconds) + ((1 - Stray) * sum / (sounding.Length - 1));
    }

    private double Off(int stroke, double sounding) => (_beats[stroke] - Math.Floor(_beats[stroke]) - sounding) * _beatSeconds;

    private double Bell(double off) => Math.Exp(-0.5 * off * off / (_scatter * _scatter)) / (_scatter * Math.Sqrt(2 * Math.PI));

    /// <summary>[division][place]: where it sounds, in beats.</summary>
    private double[][] Sounding(Swing swing) => [.. _divisions.Select(parts => Enumerable.Range(0, parts + 1).Select(place => parts switch
    {
        2 => place == 1 ? swing.Eighths : place / 2.0,
        4 => Quarter(place, swing),
        _ => (double)place / parts,
    }).ToArray())];

    private static double Quarter(int place, Swing swing) => place switch
    {
        1 => swing.Eighths * swing.Sixteenths,
        2 => swing.Eighths,
        3 => swing.Eighths + ((1 - swing.Eighths) * swing.Sixteenths),
        _ => place / 4.0,
    };
}
