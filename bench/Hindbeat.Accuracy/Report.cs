using Hindbeat.Performances;
using Hindbeat.Studies;

namespace Hindbeat.Accuracy;

/// <summary>Studies recordings with known truth and sums up how well hits, times and beats were found.</summary>
internal sealed class Report
{
    private static readonly double[] Windows = [50.0, 25.0, 10.0];
    private static readonly PieceFamily[] Families = [PieceFamily.Kick, PieceFamily.Snare, PieceFamily.Hat, PieceFamily.Cymbal, PieceFamily.Tom];

    private readonly Dictionary<(PieceFamily Family, double Window), Score> _hits = [];
    private readonly List<(string Name, Score[] All, Score Beats, Score Downbeats, string Tempo)> _recordings = [];
    private readonly Dictionary<PieceFamily, List<(double, double)>> _loudness = [];
    private readonly StrokeTally _strokes = new();

    public void Add(Truth truth, Study study)
    {
        var all = new Score[Windows.Length];
        for (int w = 0; w < Windows.Length; w++)
        {
            all[w] = Score.Nothing;
            foreach (PieceFamily family in Families)
            {
                Score score = Scoring.Match(
                    [.. truth.Hits.Where(hit => hit.Piece.Family() == family).Select(hit => hit.Time)],
                    [.. study.Performance.Hits.Where(hit => hit.Piece.Family() == family).Select(hit => hit.Time.TotalSeconds)],
                    Windows[w]);
                _hits[(family, Windows[w])] = _hits.GetValueOrDefault((family, Windows[w]), Score.Nothing) + score;
                all[w] += score;
            }
        }

        foreach (PieceFamily family in Families)
            AddLoudness(family, truth, study);

        _strokes.Add(truth, study.Performance.Hits);

        // Beats past the last true one are not judged; the studied pulse may go on.
        Pulse pulse = study.Performance.Pulse;
        Score beats = Scoring.MatchBeats(truth.Beats, [.. pulse.Beats.Select(beat => beat.Time.TotalSeconds)]);
        Score downbeats = Scoring.MatchBeats(truth.Downbeats, [.. pulse.Beats.Where(beat => beat.Number == 1).Select(beat => beat.Time.TotalSeconds)]);
        _recordings.Add((truth.Name, all, beats, downbeats, $"{pulse.MeanTempo} {pulse.Meter}"));
    }

    public void Print(TextWriter output, string title, bool exactTimes)
    {
        output.WriteLine($"## {title}");
        output.WriteLine();
        var pieces = new Table("piece", "true", "F ±50 ms", "P", "R", "F ±25 ms", "audible", "F ±10 ms", "bias ms", "scatter ms", "95 % within ms", "velocity rank");
        foreach (PieceFamily family in Families)
        {
            Score wide = _hits.GetValueOrDefault((family, 50.0), Score.Nothing);
            if (wide.True + wide.Heard == 0)
                continue;
            Row(pieces, family.ToString().ToLowerInvariant(), wide, _hits[(family, 25.0)], _strokes.AudibleF(family), _hits[(family, 10.0)], Ranks.Correlation(_loudness.GetValueOrDefault(family, [])));
        }

        Score Sum(double window) => Families.Aggregate(Score.Nothing, (sum, family) => sum + _hits.GetValueOrDefault((family, window), Score.Nothing));
        Row(pieces, "all", Sum(50.0), Sum(25.0), _strokes.AudibleF(), Sum(10.0), double.NaN);
        output.WriteLine(pieces);
        output.WriteLine("Audible: F ±25 ms without strokes that are 29 dB or more under another within 25 ms, or 48 dB under the loudest.\n");
        if (!exactTimes)
            output.WriteLine("Annotated by hand: bias and scatter here include the annotators' own ±4 ms.\n");

        _strokes.Print(output, exactTimes);
        var recordings = new Table("recording", "all F ±50", "beats F ±70", "downbeats F ±70", "tempo heard");
        foreach (var (name, all, beats, downbeats, tempo) in _recordings)
            recordings.Add(name, Table.Share(all[0].F), Table.Share(beats.F), Table.Share(downbeats.F), tempo);
        recordings.Add(
            "mean",
            Table.Share(_recordings.Average(row => row.All[0].F)),
            Table.Share(_recordings.Average(row => row.Beats.F)),
            Table.Share(_recordings.Average(row => row.Downbeats.F)),
            string.Empty);
        output.WriteLine(recordings);
    }

    private static void Row(Table table, string name, Score wide, Score middle, double audible, Score narrow, double rank) => table.Add(
        name,
        wide.True.ToString(System.Globalization.CultureInfo.InvariantCulture),
        Table.Share(wide.F),
        Table.Share(wide.Precision),
        Table.Share(wide.Recall),
        Table.Share(middle.F),
        Table.Share(audible),
        Table.Share(narrow.F),
        Table.Milliseconds(middle.BiasMs),
        Table.Milliseconds(middle.ScatterMs).TrimStart('+'),
        Table.Milliseconds(Statistics.Quantile([.. middle.ErrorsMs.Select(error => Math.Abs(error - middle.BiasMs))], 0.95)).TrimStart('+'),
        Table.Share(rank));

    private void AddLoudness(PieceFamily family, Truth truth, Study study)
    {
        var heard = study.Performance.Hits.Where(hit => hit.Piece.Family() == family).ToList();
        if (!_loudness.TryGetValue(family, out var pairs))
            _loudness[family] = pairs = [];
        int next = 0;
        foreach (var (time, _, velocity) in truth.Hits.Where(hit => hit.Piece.Family() == family && hit.Velocity > 0))
        {
            while (next < heard.Count && heard[next].Time.TotalSeconds < time - 0.025)
                next++;
            if (next < heard.Count && heard[next].Time.TotalSeconds <= time + 0.025)
                pairs.Add((velocity, heard[next].Velocity));
        }
    }
}
