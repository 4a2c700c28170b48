using System.Globalization;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat.Accuracy;

/// <summary>
/// The feel through the whole chain: a rendered take is heard, its pulse found, its feel measured; beside it the same
/// figures from the strokes that were rendered, on the take's own click. In between stand the parts, so that it shows
/// whose the error is: true strokes on the found pulse (pulse), heard strokes on the true click (hearing), and the heard
/// strokes moved to their true times on the true click (strokes missed or taken for others, not their times).
/// </summary>
/// <remarks>
/// Only figures that every part can tell are compared, so that the columns speak of the same takes. A take whose pulse was
/// found at another tempo is compared by its hearing alone and counted. Lay-backs are compared against the same reference.
/// </remarks>
internal sealed class FeelChain(TextWriter? details = null)
{
    private const double MatchMs = 25;
    private readonly SortedDictionary<string, List<Line>> _lines = new(StringComparer.Ordinal);
    private readonly List<string> _leftOut = [];

    /// <summary>Errors (measured − true) of the parts, and whether the last part's interval holds the truth; the pulse's parts are NaN when another tempo was found.</summary>
    private sealed record Line(double Audible, double Pulse, double Times, double Hearing, double Whole, bool Held, bool HeldOnClick, double HalfWidth);

    public void Add(GrooveTakes.Take take, Truth truth, Study heard)
    {
        Pulse click = KitMidiFile.Read(take.Path).Grid;
        Hit[] all = TrueHits(truth, withFaint: true), audible = TrueHits(truth, withFaint: false);
        IReadOnlyList<Hit> strokes = [.. heard.Performance.Hits.Select(hit => Earlier(hit))];
        FeelReport onClick = On(click, all);
        FeelReport[] parts = [On(click, audible), On(Earlier(heard.Performance.Pulse), all), On(click, AtTrueTimes(strokes, all), HearingError.Measured), On(click, strokes, HearingError.Measured), heard.Feel];
        bool otherTempo = Math.Abs((heard.Feel.Tempo.Bpm.Value / onClick.Tempo.Bpm.Value) - 1) > 0.03;
        if (otherTempo)
            _leftOut.Add($"{take.Name}: another tempo was found; only hearing is judged");

        LayBacks(take, onClick, parts, otherTempo);
        foreach (SwingLevel level in new[] { SwingLevel.Eighth, SwingLevel.Sixteenth })
        {
            string name = level == SwingLevel.Eighth ? "8ths" : "16ths";
            Note(take, $"swing of {name}, delay ms", report => Whole(report, level)?.DelayMs, onClick, parts, otherTempo);
            Note(take, $"swing of {name}, ratio", report => Whole(report, level)?.Ratio, onClick, parts, otherTempo);
            if (Whole(onClick, level) is { IsNarrow: true } && Whole(parts[^1], level) is { IsNarrow: true })
                Note(take, $"swing of {name}, ratio, where both intervals are narrow", report => Whole(report, level)?.Ratio, onClick, parts, otherTempo);
        }

        foreach (KitPiece piece in new[] { KitPiece.HatClosed, KitPiece.Kick, KitPiece.Snare })
            Note(take, $"looseness of the {piece.Name()}, ms", report => report.Looseness.FirstOrDefault(figure => figure.Piece == piece)?.Milliseconds, onClick, parts, otherTempo);
    }

    public void Print(TextWriter output)
    {
        var table = new Table(
            "figure", "takes", "audible strokes on the click", "true strokes on the found pulse", "heard strokes at true times on the click", "heard strokes on the click",
            "the whole chain", "bias (median)", "80 % within", "interval holds truth", "the same on the click", "half an interval");
        foreach ((string figure, List<Line> lines) in _lines)
        {
            Line[] whole = [.. lines.Where(line => !double.IsNaN(line.Whole))];
            table.Add(
                figure, whole.Length == lines.Count ? Count(lines.Count) : $"{Count(whole.Length)} ({Count(lines.Count)} on the click)",
                Middle(lines.Select(line => line.Audible)), Middle(whole.Select(line => line.Pulse)), Middle(lines.Select(line => line.Times)), Middle(lines.Select(line => line.Hearing)),
                Middle(whole.Select(line => line.Whole)), Number(Statistics.Median([.. whole.Select(line => line.Whole)])),
                Number(Statistics.Quantile([.. whole.Select(line => Math.Abs(line.Whole))], 0.8)),
                Share(whole.Count(line => line.Held), whole.Length), Share(lines.Count(line => line.HeldOnClick), lines.Count), Middle(whole.Select(line => line.HalfWidth)));
        }

        output.WriteLine("## Feel through the whole chain, and whose the error is");
        output.WriteLine();
        output.WriteLine("Median |error| against the rendered strokes on the takes' own click.");
        output.WriteLine();
        output.WriteLine(table);
        foreach (string reason in _leftOut)
            output.WriteLine($"{reason}.");
    }

    private static SwingFigure? Whole(FeelReport report, SwingLevel level) =>
        report.Swing.FirstOrDefault(figure => figure.Level == level) is { } figure && !figure.Doubts.OfType<SwingAndLayBackMixed>().Any() ? figure : null;

    private void LayBacks(GrooveTakes.Take take, FeelReport truth, FeelReport[] parts, bool otherTempo)
    {
        FeelReport[] compared = otherTempo ? [parts[0], parts[2], parts[3]] : parts;
        if (truth.Reference != FeelReference.TimekeepingHand)
        {
            _leftOut.Add($"{take.Name}: no hand is steady enough in truth to measure lay-back against");
            return;
        }

        if (compared.FirstOrDefault(part => part.Reference != truth.Reference || !Streams(part.ReferenceName).Intersect(Streams(truth.ReferenceName)).Any()) is { } other)
        {
            _leftOut.Add($"{take.Name}: in truth measured against the {truth.ReferenceName}, by a part of the chain against the {other.ReferenceName} (no lay-back)");
            return;
        }

        foreach (KitPiece piece in new[] { KitPiece.Kick, KitPiece.Snare })
            Note(take, $"lay-back of the {piece.Name()}, ms", report => report.LayBack.FirstOrDefault(figure => figure.Piece == piece && figure.Identified)?.Milliseconds, truth, parts, otherTempo);
    }

    private void Note(GrooveTakes.Take take, string figure, Func<FeelReport, Estimate?> of, FeelReport truth, FeelReport[] parts, bool otherTempo)
    {
        if (of(truth) is not { } right)
            return;
        Estimate?[] measured = [.. parts.Select(of)];
        if (measured[0] is null || measured[2] is null || measured[3] is null || (!otherTempo && (measured[1] is null || measured[4] is null)))
            return;
        double Error(int part) => otherTempo && part is 1 or 4 ? double.NaN : measured[part]!.Value.Value - right.Value;
        bool Holds(int part) => measured[part] is { } estimate && estimate.Low <= right.Value && right.Value <= estimate.High;
        if (!_lines.TryGetValue(figure, out var lines))
            _lines[figure] = lines = [];
        details?.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"{take.Name,-22} {figure,-54} true {right.Value,8:0.000} ± {measured[4]?.HalfWidth ?? double.NaN:0.000} ± {measured[3]?.HalfWidth ?? double.NaN:0.000} errors {Error(0),7:0.000} {Error(1),7:0.000} {Error(2),7:0.000} {Error(3),7:0.000} {Error(4),7:0.000}{(Holds(4) ? "" : " outside")}"));
        lines.Add(new Line(Error(0), Error(1), Error(2), Error(3), Error(4), Holds(4), Holds(3), measured[4]?.HalfWidth ?? double.NaN));
    }

    private static FeelReport On(Pulse pulse, IReadOnlyList<Hit> hits, HearingError? hearing = null) =>
        FeelAnalysis.Measure(PulseFinder.PlaceOn(pulse, hits).Performance, new FeelOptions { Hearing = hearing });

    /// <summary>The rendered strokes on the take's own clock; pieces that the kit lacks are what stood in for them.</summary>
    internal static Hit[] TrueHits(Truth truth, bool withFaint) =>
    [
        .. Enumerable.Range(0, truth.Hits.Count).Where(i => withFaint || !truth.Faint.Contains(i)).Select(i => truth.Hits[i])
            .Select(hit => new Hit(AudioTime.FromSeconds(hit.Time - TakeRenderer.LeadSeconds), hit.Piece, hit.Velocity, Level.FromDbfs(20 * Math.Log10(hit.Velocity / 127.0)), 1)),
    ];

    /// <summary>Heard strokes that are a true stroke of the piece (or one of its family) within 25 ms, at its time; others stay where they were heard.</summary>
    internal static List<Hit> AtTrueTimes(IReadOnlyList<Hit> heard, Hit[] truth)
    {
        var moved = new List<Hit>();
        foreach (var family in heard.GroupBy(hit => hit.Piece.Family()))
        {
            Hit[] own = [.. family.OrderBy(hit => hit.Time)], right = [.. truth.Where(hit => hit.Piece.Family() == family.Key).OrderBy(hit => hit.Time)];
            var pairs = Pairing.Nearest([.. right.Select(hit => hit.Time.TotalSeconds)], [.. own.Select(hit => hit.Time.TotalSeconds)], MatchMs).ToDictionary(pair => pair.Heard, pair => pair.True);
            moved.AddRange(own.Select((hit, i) => pairs.TryGetValue(i, out int match) ? hit with { Time = right[match].Time } : hit));
        }

        return moved;
    }

    internal static Hit Earlier(Hit hit) => hit with { Time = hit.Time - Seconds.Of(TakeRenderer.LeadSeconds), Position = null };

    private static Pulse Earlier(Pulse pulse) => new(
        pulse.Meter, [.. pulse.Beats.Select(beat => beat with { Time = beat.Time - Seconds.Of(TakeRenderer.LeadSeconds) })], pulse.Confidence, pulse.Source);

    private static readonly string[] HandStreams = ["hat", "ride"];

    /// <summary>"hats", "closed hat" and "open hat" are one hand; a hand that moves to the ride is on both.</summary>
    private static IEnumerable<string> Streams(string name) => HandStreams.Where(stream => name.Contains(stream, StringComparison.Ordinal));

    private static string Count(int count) => count.ToString(CultureInfo.InvariantCulture);

    private static string Middle(IEnumerable<double> errors) => Number(Statistics.Median([.. errors.Select(Math.Abs)]));

    private static string Number(double value) => double.IsNaN(value) ? "–" : value.ToString("0.000", CultureInfo.InvariantCulture);

    private static string Share(int some, int all) => all == 0 ? "–" : string.Create(CultureInfo.InvariantCulture, $"{100.0 * some / all:0} %");
}
