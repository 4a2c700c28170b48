using System.Globalization;
using Hindbeat.Performances;

namespace Hindbeat.Accuracy;

/// <summary>
/// What was made of single strokes: matched pairs within ±25 ms with their pieces, times and loudness; and of all heard
/// strokes whether they were right, by confidence.
/// </summary>
internal sealed class StrokeTally
{
    private const double WindowMs = 25;

    /// <summary>As in the F of hits: is this hit right at all?</summary>
    private const double RightMs = 50;

    private static readonly double[] Bands = [0, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.0001];

    private readonly List<Pair> _pairs = [];
    private readonly RankCeiling _ranks = new();
    private readonly List<(PieceFamily Family, double Confidence, bool IsRight)> _heard = [];
    private readonly Dictionary<PieceFamily, (int Matched, int True, int Heard)> _audible = [];
    private readonly Dictionary<(string Heard, string There), int> _wrong = [];
    private readonly Dictionary<(string Missed, string With), int> _missed = [];
    private int _recordings;

    private sealed record Pair(int Recording, KitPiece True, KitPiece Heard, double ErrorMs, int TrueVelocity, int HeardVelocity);

    public void Add(Truth truth, IReadOnlyList<Hit> hits)
    {
        foreach (PieceFamily family in truth.Hits.Select(hit => hit.Piece.Family()).Concat(hits.Select(hit => hit.Piece.Family())).Distinct())
        {
            int[] mine = [.. Enumerable.Range(0, truth.Hits.Count).Where(i => truth.Hits[i].Piece.Family() == family)];
            Hit[] heard = [.. hits.Where(hit => hit.Piece.Family() == family)];
            var pairs = Match(truth, mine, heard, WindowMs);
            foreach (var (i, j) in pairs)
            {
                var (time, piece, velocity) = truth.Hits[mine[i]];
                _pairs.Add(new Pair(_recordings, piece, heard[j].Piece, (heard[j].Time.TotalSeconds - time) * 1000, velocity, heard[j].Velocity));
                if (truth.Levels.Count > 0)
                    _ranks.Add(_recordings, piece, velocity, heard[j].Velocity, truth.Levels[mine[i]], truth.StandIns[mine[i]]);
            }

            // Faint strokes are neither asked for nor punished.
            int faintMatched = pairs.Count(pair => truth.Faint.Contains(mine[pair.True]));
            var sum = _audible.GetValueOrDefault(family);
            _audible[family] = (sum.Matched + pairs.Count - faintMatched, sum.True + mine.Count(i => !truth.Faint.Contains(i)), sum.Heard + heard.Length - faintMatched);
            var wide = Match(truth, mine, heard, RightMs);
            var right = wide.Select(pair => pair.Heard).ToHashSet();
            for (int j = 0; j < heard.Length; j++)
            {
                _heard.Add((family, heard[j].Confidence, right.Contains(j)));
                if (!right.Contains(j))
                    Count(_wrong, (heard[j].Piece.Id(), There(truth, heard[j].Time.TotalSeconds, -1)));
            }

            var found = wide.Select(pair => pair.True).ToHashSet();
            for (int i = 0; i < mine.Length; i++)
            {
                if (!found.Contains(i))
                    Count(_missed, (truth.Hits[mine[i]].Piece.Id() + (truth.Faint.Contains(mine[i]) ? " (faint)" : string.Empty), There(truth, truth.Hits[mine[i]].Time, mine[i])));
            }
        }

        _recordings++;
    }

    public double AudibleF(PieceFamily family)
    {
        var (matched, all, heard) = _audible.GetValueOrDefault(family);
        return all + heard == 0 ? double.NaN : 2.0 * matched / (all + heard);
    }

    public double AudibleF()
    {
        double matched = _audible.Values.Sum(counts => counts.Matched);
        return 2 * matched / _audible.Values.Sum(counts => counts.True + counts.Heard);
    }

    public void Print(TextWriter output, bool exactTimes)
    {
        var table = new Table("piece", "pairs ±25 ms", "right piece", "heard as", "bias ms", "loud", "soft", "scatter ms", "95 % within ms", "velocity rank");
        foreach (var group in _pairs.GroupBy(pair => pair.True).OrderBy(group => group.Key))
        {
            var pairs = group.ToList();
            double[] errors = [.. pairs.Select(pair => pair.ErrorMs)];
            double bias = Statistics.Median(errors);
            string as_ = string.Join(", ", pairs.GroupBy(pair => pair.Heard).OrderByDescending(heard => heard.Count()).Take(3).Select(heard => $"{heard.Key.Id()} {heard.Count()}"));
            double middle = Statistics.Median([.. pairs.Select(pair => (double)pair.TrueVelocity)]);
            table.Add(
                group.Key.Id(),
                pairs.Count.ToString(CultureInfo.InvariantCulture),
                Table.Share(pairs.Count(pair => pair.Heard == pair.True) / (double)pairs.Count),
                as_,
                Table.Milliseconds(bias),
                exactTimes ? Table.Milliseconds(Statistics.Median([.. pairs.Where(pair => pair.TrueVelocity > middle).Select(pair => pair.ErrorMs)])) : "–",
                exactTimes ? Table.Milliseconds(Statistics.Median([.. pairs.Where(pair => pair.TrueVelocity <= middle).Select(pair => pair.ErrorMs)])) : "–",
                Table.Milliseconds(Statistics.MedianAbsoluteDeviation(errors)).TrimStart('+'),
                Table.Milliseconds(Statistics.Quantile([.. errors.Select(error => Math.Abs(error - bias))], 0.95)).TrimStart('+'),
                exactTimes ? Table.Share(WithinRecordings(pairs)) : "–");
        }

        output.WriteLine(table);
        output.WriteLine("Velocity rank: Spearman's correlation within a recording, mean over recordings with ten strokes of the piece or more.\n");
        _ranks.Print(output);
        var bands = new Table("confidence", "heard", "right ±50 ms", "mean confidence");
        for (int k = 0; k + 1 < Bands.Length; k++)
        {
            var band = _heard.Where(hit => hit.Confidence >= Bands[k] && hit.Confidence < Bands[k + 1]).ToList();
            if (band.Count > 0)
                bands.Add(FormattableString.Invariant($"{Bands[k]:0.00}–{Math.Min(1, Bands[k + 1]):0.00}"), band.Count.ToString(CultureInfo.InvariantCulture), Table.Share(band.Count(hit => hit.IsRight) / (double)band.Count), Table.Share(band.Average(hit => hit.Confidence)));
        }

        output.WriteLine(bands);
        output.WriteLine("Heard wrongly (what was there): " + Top(_wrong) + ".\n");
        output.WriteLine("Missed (what sounded with it): " + Top(_missed) + ".\n");
    }

    private static double WithinRecordings(List<Pair> pairs)
    {
        const int Enough = 10;
        double[] all = [.. pairs.GroupBy(pair => pair.Recording).Where(group => group.Count() >= Enough)
            .Select(group => Ranks.Correlation([.. group.Select(pair => ((double)pair.TrueVelocity, (double)pair.HeardVelocity))])).Where(value => !double.IsNaN(value))];
        return all.Length == 0 ? double.NaN : all.Average();
    }

    private static List<(int True, int Heard)> Match(Truth truth, int[] mine, Hit[] heard, double windowMs) =>
        Pairing.Nearest([.. mine.Select(i => truth.Hits[i].Time)], [.. heard.Select(hit => hit.Time.TotalSeconds)], windowMs);

    private static string There(Truth truth, double time, int but) =>
        string.Join("+", Enumerable.Range(0, truth.Hits.Count).Where(i => i != but && Math.Abs(truth.Hits[i].Time - time) < 0.03).Select(i => truth.Hits[i].Piece.Id()).Distinct().Order(StringComparer.Ordinal).DefaultIfEmpty("nothing"));

    private static void Count<T>(Dictionary<T, int> counts, T key)
        where T : notnull => counts[key] = counts.GetValueOrDefault(key) + 1;

    private static string Top(Dictionary<(string A, string B), int> counts) =>
        counts.Count == 0 ? "none" : string.Join("; ", counts.OrderByDescending(row => row.Value).Take(12).Select(row => $"{row.Key.A} ({row.Key.B}) {row.Value}"));
}
