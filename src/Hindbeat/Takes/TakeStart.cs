using Hindbeat.Performances;

namespace Hindbeat.Takes;

/// <summary>A take's own beats seen as beats of the passage: place = <paramref name="Scale"/> · beat + <paramref name="Shift"/>.</summary>
/// <param name="Fit">Share of strokes on both sides that have a counterpart, 0 to 1, nearer ones counting more.</param>
internal readonly record struct TakeStart(double Scale, double Shift, double Fit)
{
    /// <summary>Places a beat of the passage is looked at.</summary>
    private const int Steps = 24;

    /// <summary>Shifts tried a beat: a take may start anywhere on the 8ths and 16ths.</summary>
    private const int ShiftsABeat = 4;

    /// <summary>Beyond so many beats two strokes say nothing of each other.</summary>
    private const double Near = 0.17;

    /// <summary>A take that starts where the passage starts is believed before one that starts elsewhere and fits as well.</summary>
    private const double StartBonus = 0.01;

    /// <summary>Steady tempi tried, shares of the passage's; a step of 1.5 % lies 0.12 beats off at the end of the beats looked at.</summary>
    private const double SlowestShare = 0.4, FastestShare = 2.2, TempoStep = 1.015, SteadyBeats = 16;

    /// <summary>How the pulse that was found in a take may count the passage's beats: the same, half or double, in three for two.</summary>
    private static readonly double[] Scales = [1, 2, 0.5, 1.5, 2.0 / 3, 3, 1.0 / 3, 4.0 / 3, 0.75];

    /// <summary>The likeliest ways in which a take may lie on the passage, best first.</summary>
    /// <param name="beats">Each stroke of the take in the take's own beats.</param>
    public static IReadOnlyList<TakeStart> Find(ReferenceBars reference, IReadOnlyList<Hit> hits, double[] beats, int count)
    {
        float[][] nearness = Nearness(reference);
        int bins = reference.Beats * Steps;
        int[] families = [.. hits.Select(hit => (int)hit.Piece.Family())];
        double first = beats.Min(), span = Math.Max(1, beats.Max() - first);
        var found = new List<TakeStart>();
        foreach (double scale in Scales)
        {
            double covered = reference.Strokes.Count * scale * span / reference.Beats;
            int[] bin = [.. beats.Select(beat => (int)Math.Round(scale * (beat - first) * Steps))];
            for (int s = 0; s < reference.Beats * ShiftsABeat; s++)
            {
                int shift = s * Steps / ShiftsABeat;
                double sum = 0;
                for (int j = 0; j < bin.Length; j++)
                    sum += nearness[families[j]][(bin[j] + shift) % bins];
                // Two strokes of the take near one of the passage are still one: no more can meet than were asked for.
                double fit = 2 * Math.Min(sum, covered) / (bin.Length + covered);
                found.Add(new TakeStart(scale, ((double)s / ShiftsABeat) - (scale * first), fit + (s < ShiftsABeat ? StartBonus : 0)));
            }
        }

        found.Sort((a, b) => b.Fit.CompareTo(a.Fit));
        var apart = new List<TakeStart>();
        foreach (TakeStart start in found)
        {
            if (apart.TrueForAll(other => other.Scale != start.Scale || Math.Abs(other.Shift - start.Shift) >= 0.5))
                apart.Add(start);
            if (apart.Count == count)
                break;
        }

        return apart;
    }

    /// <summary>
    /// The likeliest steady tempi and starts of the take's first bars, best first: where no pulse was found in the take that counts as the passage
    /// does. <see cref="Scale"/> is in beats a second, <see cref="Shift"/> in beats from second 0.
    /// </summary>
    public static IReadOnlyList<TakeStart> AtSteadyTempo(ReferenceBars reference, IReadOnlyList<Hit> hits, int count)
    {
        float[][] nearness = Nearness(reference);
        int bins = reference.Beats * Steps;
        double first = hits[0].Time.TotalSeconds, own = 1 / reference.Performance.Pulse.MeanTempo.Beat.Value;
        var found = new List<TakeStart>();
        for (double share = SlowestShare; share <= FastestShare; share *= TempoStep)
        {
            double scale = own * share;
            (int Family, int Bin)[] strokes = [.. hits.TakeWhile(hit => (hit.Time.TotalSeconds - first) * scale < SteadyBeats)
                .Select(hit => ((int)hit.Piece.Family(), (int)Math.Round((hit.Time.TotalSeconds - first) * scale * Steps)))];
            double covered = reference.Strokes.Count * ((strokes[^1].Bin / (double)Steps) + 0.25) / reference.Beats;
            TakeStart best = default;
            for (int shift = 0; shift < bins; shift += 2)
            {
                double sum = 0;
                foreach ((int family, int bin) in strokes)
                    sum += nearness[family][(bin + shift) % bins];
                double fit = (2 * Math.Min(sum, covered) / (strokes.Length + covered)) + (shift < Steps ? StartBonus : 0);
                if (fit > best.Fit)
                    best = new TakeStart(scale, ((double)shift / Steps) - (scale * first), fit);
            }

            if (best.Fit > 0)
                found.Add(best);
        }

        return [.. found.OrderByDescending(start => start.Fit).Take(count)];
    }

    /// <summary>For each family and place of the loop how near the next stroke of the family is: 1 = there, 0 = farther than <see cref="Near"/>.</summary>
    private static float[][] Nearness(ReferenceBars reference)
    {
        int bins = reference.Beats * Steps, reach = (int)Math.Ceiling(Near * Steps);
        float[][] nearness = [.. Enum.GetValues<PieceFamily>().Select(_ => new float[bins])];
        foreach (ReferenceStroke stroke in reference.Strokes)
        {
            int middle = (int)Math.Round(stroke.Sounding * Steps);
            for (int d = -reach; d <= reach; d++)
            {
                double apart = (((middle + d) / (double)Steps) - stroke.Sounding) / Near;
                float value = (float)Math.Max(0, 1 - (apart * apart));
                int bin = (((middle + d) % bins) + bins) % bins;
                float[] row = nearness[(int)stroke.Family];
                row[bin] = Math.Max(row[bin], value);
            }
        }

        return nearness;
    }
}
