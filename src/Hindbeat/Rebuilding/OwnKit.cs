using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Rebuilding;

/// <summary>What became of one piece's strokes in the passage's own kit.</summary>
/// <param name="Played">Strokes in the passage.</param>
/// <param name="Kept">Strokes that made it into the kit.</param>
/// <param name="Alone">Of those, how many sounded with no stroke of another piece.</param>
/// <param name="StandIn">The passage had no stroke fit to use; another kit's piece sounds instead.</param>
public sealed record PieceCut(KitPiece Piece, int Played, int Kept, int Alone, bool StandIn);

/// <summary>
/// The recording's own kit: the cleanest strokes of each piece and loudness, cut out of the passage. Cut at
/// the next stroke, freed from what rang before and what was struck together, lined up by their
/// attacks, placed in the stereo picture where they were. See docs/decisions/rebuild-own-kit.md.
/// </summary>
public static class OwnKit
{
    private const int MostLayers = 5;
    private const int StrokesForALayer = 3;

    /// <summary>Strokes kept of one layer: a rebuild plays a stroke with its own sound where it was kept, and memory stays bounded.</summary>
    private const int MostOfALayer = 16;

    /// <summary>Less than this is a click, not a drum.</summary>
    private const double ShortestSeconds = 0.045;

    /// <summary>A cut keeps this much before its onset and fades in over it.</summary>
    private const double LeadSeconds = 0.003;

    private const double FadeShare = 0.4;
    private const double LongestFadeSeconds = 0.03;

    /// <summary>Limits within which the fall of loudness with velocity is believed; MIDI modules and our listener lie between.</summary>
    private const double FlattestCurve = 12;
    private const double SteepestCurve = 45;

    /// <param name="passage">The recording's sound, from <paramref name="start"/> on.</param>
    /// <param name="start">The recording's moment of the first sample.</param>
    /// <param name="performance">The strokes heard in it.</param>
    /// <param name="standIn">Fills in for pieces without a usable stroke.</param>
    public static (Kit Kit, IReadOnlyList<PieceCut> Pieces) Cut(StereoSound passage, AudioTime start, Performance performance, Kit standIn)
    {
        ArgumentNullException.ThrowIfNull(passage);
        ArgumentNullException.ThrowIfNull(performance);
        ArgumentNullException.ThrowIfNull(standIn);
        float[] middle = [.. passage.Left.Zip(passage.Right, (l, r) => 0.5f * (l + r))];
        List<StrokeCut> cuts = StrokeCut.Of(performance.Hits, middle, passage.SampleRate, start);
        if (cuts.Count == 0)
            throw new InputException("None of the study's strokes lies inside the recording; is it another file than the one that was studied?");
        bool isMono = passage.Left.AsSpan().SequenceEqual(passage.Right);
        var samples = new List<KitSample>();
        var curves = new Dictionary<KitPiece, LoudnessCurve>();
        var report = new List<PieceCut>();
        var company = new Company(passage, cuts);
        foreach (IGrouping<KitPiece, StrokeCut> piece in cuts.GroupBy(cut => cut.Hit.Piece).OrderBy(group => group.Key))
        {
            List<(StrokeCut Cut, int Layer)> chosen = Choose([.. piece], passage.SampleRate);
            Dictionary<StrokeCut, double> shifts = Shifts(middle, chosen, passage.SampleRate);
            var own = new List<(KitSample Sample, int Velocity)>();
            foreach ((StrokeCut cut, int layer) in chosen)
                own.Add((Sound(passage, cut, layer, shifts.GetValueOrDefault(cut), company, isMono), cut.Hit.Velocity));
            report.Add(new PieceCut(piece.Key, piece.Count(), own.Count, chosen.Count(choice => choice.Cut.Alone), own.Count == 0));
            if (own.Count == 0)
                continue;
            samples.AddRange(own.Select(pair => pair.Sample));
            curves[piece.Key] = Curve(own);
        }

        AddStandIns(standIn.AtRate(passage.SampleRate), isMono, samples, curves);
        return (new Kit("the recording's own", samples.Any(sample => sample.Origin == SampleOrigin.StandIn) ? standIn.Attribution : string.Empty, passage.SampleRate, samples, curves), report);
    }

    /// <summary>Velocity in up to five layers of equally many strokes, the cleanest few of each.</summary>
    private static List<(StrokeCut Cut, int Layer)> Choose(List<StrokeCut> strokes, int sampleRate)
    {
        StrokeCut[] usable = [.. strokes.Where(cut => cut.Length >= ShortestSeconds * sampleRate).OrderBy(cut => cut.Hit.Velocity)];
        int layers = Math.Clamp(usable.Length / StrokesForALayer, 1, MostLayers);
        var chosen = new List<(StrokeCut, int)>();
        for (int layer = 0; layer < layers; layer++)
        {
            int from = layer * usable.Length / layers;
            int to = (layer + 1) * usable.Length / layers;
            chosen.AddRange(usable[from..to].OrderByDescending(cut => cut.Cleanness(sampleRate)).Take(MostOfALayer).Select(cut => (cut, layer + 1)));
        }

        return chosen;
    }

    /// <summary>
    /// Strokes that sounded alone are lined up. The others keep what was heard: the attack that rises with them is another
    /// piece's (a hat beside a snare moved by up to 2.5 ms), and they only ever sound at their own place.
    /// </summary>
    private static Dictionary<StrokeCut, double> Shifts(float[] middle, List<(StrokeCut Cut, int Layer)> chosen, int sampleRate)
    {
        StrokeCut[] alone = [.. chosen.Select(choice => choice.Cut).Where(cut => cut.Alone)];
        double[] shifts = AttackAlignment.Shifts(middle, [.. alone.Select(cut => cut.At)], sampleRate);
        return Enumerable.Range(0, alone.Length).ToDictionary(i => alone[i], i => shifts[i]);
    }

    private static KitSample Sound(StereoSound passage, StrokeCut cut, int layer, double shift, Company company, bool isMono)
    {
        double onset = cut.At + shift;
        int lead = (int)(LeadSeconds * passage.SampleRate);
        int first = (int)Math.Floor(cut.At) - lead;
        int length = lead + cut.Length;
        (float[] left, float[] right) = company.Filter.Clean(passage, cut.At, first, length, company.Of(cut));
        int longest = lead + (int)(StrokeCut.LongestSeconds(cut.Hit.Piece) * passage.SampleRate);
        (left, right) = company.Tail.Extend(left, right, lead, longest, passage.SampleRate, (ulong)first);
        int fade = (int)Math.Min(FadeShare * (left.Length - lead), LongestFadeSeconds * passage.SampleRate);
        Fade(left, lead, fade);
        Fade(right, lead, fade);
        return new KitSample(cut.Hit.Piece, layer, left, isMono ? default : right, passage.SampleRate, onset - first) { Centred = isMono, Source = new CutFrom(cut.Number, cut.Hit.Velocity, cut.Alone) };
    }

    private static void Fade(float[] samples, int lead, int fade)
    {
        for (int i = 0; i < lead; i++)
            samples[i] *= (float)(0.5 - (0.5 * Math.Cos(Math.PI * (i + 0.5) / lead)));
        for (int i = 0; i < fade; i++)
            samples[^(i + 1)] *= (float)(0.5 - (0.5 * Math.Cos(Math.PI * (i + 0.5) / fade)));
    }

    /// <summary>The line through the strokes' loudness over their velocity; too little spread leaves the slope of the house.</summary>
    private static LoudnessCurve Curve(List<(KitSample Sample, int Velocity)> strokes)
    {
        double[] x = [.. strokes.Select(stroke => Math.Log10(stroke.Velocity / 127.0))];
        double[] y = [.. strokes.Select(stroke => stroke.Sample.LoudnessDb)];
        double meanX = x.Average();
        double meanY = y.Average();
        double spread = x.Sum(value => (value - meanX) * (value - meanX));
        double slope = strokes.Count >= 4 && x.Max() - x.Min() > 0.15
            ? Math.Clamp(x.Zip(y, (a, b) => (a - meanX) * (b - meanY)).Sum() / spread, FlattestCurve, SteepestCurve)
            : Kit.DecibelsPerDecade;
        return new LoudnessCurve(meanY - (slope * meanX), slope);
    }

    /// <summary>Pieces the passage lacks come from the other kit, as loud beside the passage's as they are beside their own.</summary>
    private static void AddStandIns(Kit standIn, bool centred, List<KitSample> samples, Dictionary<KitPiece, LoudnessCurve> curves)
    {
        double[] offsets = [.. curves.Where(own => standIn.Pieces.Contains(own.Key)).Select(own => own.Value.FullDb - standIn.LoudnessDb(own.Key, 127)).Order()];
        double offset = offsets.Length == 0 ? 0 : offsets[offsets.Length / 2];
        double slope = curves.Count == 0 ? Kit.DecibelsPerDecade : curves.Values.Average(curve => curve.DecibelsPerDecade);
        foreach (KitPiece piece in standIn.Pieces.Where(piece => !curves.ContainsKey(piece)).ToArray())
        {
            samples.AddRange(standIn.StrokesOf(piece).Select(sample => sample.AsStandIn(centred)));
            curves[piece] = new LoudnessCurve(standIn.LoudnessDb(piece, 127) + offset, slope);
        }
    }

    /// <summary>Spectra of strokes that sounded alone, to be taken out where the same piece sounded together with another.</summary>
    private sealed class Company(StereoSound passage, IReadOnlyList<StrokeCut> cuts)
    {
        private const double FurthestDb = 12;

        private readonly Dictionary<StrokeCut, double[][]> _powers = [];

        public BleedFilter Filter { get; } = new();

        public TailExtension Tail { get; } = new();

        public List<(double[][] Powers, double At)> Of(StrokeCut cut)
        {
            var found = new List<(double[][], double)>();
            foreach (Hit other in cut.Company.Where(hit => hit.Piece != cut.Hit.Piece))
            {
                StrokeCut? alone = cuts.Where(each => each.Alone && each.Hit.Piece == other.Piece && each.Length > passage.SampleRate / 20)
                    .MinBy(each => Math.Abs(each.Hit.Velocity - other.Velocity) - (each.Cleanness(passage.SampleRate) * 10));
                if (alone is null)
                    continue;
                if (!_powers.TryGetValue(alone, out double[][]? powers))
                    _powers[alone] = powers = Filter.Powers(passage, alone.At, alone.Length);
                double louder = Math.Clamp(other.Level.Dbfs - alone.Hit.Level.Dbfs, -FurthestDb, FurthestDb);
                double scale = Math.Pow(10, louder / 10);
                found.Add(([.. powers.Select(frame => frame.Select(power => power * scale).ToArray())], cut.At + ((other.Time - cut.Hit.Time).Value * passage.SampleRate)));
            }

            return found;
        }
    }
}
