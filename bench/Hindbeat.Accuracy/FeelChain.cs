using System.Globalization;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Studies;

namespace Hindbeat.Accuracy;

/// <summary>
/// The feel through the whole chain: a rendered take is heard, its pulse found, its feel measured; beside it the same
/// figures from the take's own MIDI on its own click. Only figures that both can tell, against the same reference, at
/// the same tempo, are compared; what is left out is counted.
/// </summary>
internal sealed class FeelChain
{
    private readonly SortedDictionary<string, List<(double Error, bool Held)>> _errors = new(StringComparer.Ordinal);
    private readonly List<string> _leftOut = [];

    public void Add(GrooveTakes.Take take, double mostSeconds, Study heard)
    {
        KitMidi midi = KitMidiFile.Read(take.Path);
        FeelReport truth = FeelAnalysis.Measure(PulseFinder.PlaceOn(midi.Grid, [.. midi.Hits.Where(hit => hit.Time.TotalSeconds <= mostSeconds)]).Performance);
        FeelReport feel = heard.Feel;
        if (Math.Abs((feel.Tempo.Bpm.Value / truth.Tempo.Bpm.Value) - 1) > 0.03)
        {
            _leftOut.Add($"{take.Name}: another tempo was found");
            return;
        }

        bool sameReference = truth.Reference == FeelReference.TimekeepingHand && feel.Reference == FeelReference.TimekeepingHand
            && Stream(truth.ReferenceName) == Stream(feel.ReferenceName);
        if (!sameReference)
            _leftOut.Add($"{take.Name}: measured against the {feel.ReferenceName}, in truth against the {truth.ReferenceName} (lay-back only)");
        foreach (LayBackFigure figure in feel.LayBack.Where(figure => sameReference && figure.Identified && figure.Piece is KitPiece.Kick or KitPiece.Snare))
        {
            if (truth.LayBack.FirstOrDefault(other => other.Piece == figure.Piece && other.Identified) is { } other)
                Note($"lay-back of the {figure.Piece.Name()}, ms", figure.Milliseconds, other.Milliseconds.Value);
        }

        foreach (SwingFigure figure in feel.Swing.GroupBy(figure => figure.Level).Select(level => level.First()))
        {
            SwingFigure? other = truth.Swing.FirstOrDefault(other => other.Level == figure.Level);
            if (other is null || Mixed(figure) || Mixed(other))
                continue;
            string level = figure.Level == SwingLevel.Eighth ? "8ths" : "16ths";
            Note($"swing of {level}, ratio", figure.Ratio, other.Ratio.Value);
            if (figure.IsNarrow && other.IsNarrow)
                Note($"swing of {level}, ratio, where both intervals are narrow", figure.Ratio, other.Ratio.Value);
        }

        foreach (LoosenessFigure figure in feel.Looseness.Where(figure => figure.Piece is KitPiece.Kick or KitPiece.Snare or KitPiece.HatClosed))
        {
            if (truth.Looseness.FirstOrDefault(other => other.Piece == figure.Piece) is { } other)
                Note($"looseness of the {figure.Piece.Name()}, ms", figure.Milliseconds, other.Milliseconds.Value);
        }
    }

    public void Print(TextWriter output)
    {
        var table = new Table("figure", "takes", "median |error|", "bias (median)", "80 % within", "interval holds truth");
        foreach ((string figure, List<(double Error, bool Held)> errors) in _errors)
        {
            double[] sizes = [.. errors.Select(error => Math.Abs(error.Error))];
            table.Add(
                figure, errors.Count.ToString(CultureInfo.InvariantCulture), Number(Statistics.Median(sizes)),
                Number(Statistics.Median([.. errors.Select(error => error.Error)])), Number(Statistics.Quantile(sizes, 0.8)),
                string.Create(CultureInfo.InvariantCulture, $"{100.0 * errors.Count(error => error.Held) / errors.Count:0} %"));
        }

        output.WriteLine("## Feel through the whole chain, against the takes' own MIDI on its click");
        output.WriteLine();
        output.WriteLine(table);
        foreach (string reason in _leftOut)
            output.WriteLine($"Left out: {reason}.");
    }

    private static bool Mixed(SwingFigure figure) => figure.Doubts.OfType<SwingAndLayBackMixed>().Any();

    /// <summary>"hats", "closed hat" and "open hat" are one hand.</summary>
    private static string Stream(string name) => name.Contains("hat", StringComparison.Ordinal) ? "hats" : "ride";

    private static string Number(double value) => value.ToString("0.000", CultureInfo.InvariantCulture);

    private void Note(string figure, Estimate heard, double truth)
    {
        if (!_errors.TryGetValue(figure, out var errors))
            _errors[figure] = errors = [];
        errors.Add((heard.Value - truth, heard.Low <= truth && truth <= heard.High));
    }
}
