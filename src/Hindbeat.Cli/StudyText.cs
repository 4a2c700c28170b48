using System.Globalization;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat.Cli;

/// <summary>A study as plain text: what a drummer wants to know first, then the figures.</summary>
internal static class StudyText
{
    public static void Write(TextWriter output, Study study)
    {
        Pulse pulse = study.Performance.Pulse;
        int bars = study.Performance.Hits.Where(hit => hit.Position is not null).Select(hit => hit.Position!.Value.Bar).Distinct().Count();
        output.WriteLine(study.Name);
        output.WriteLine(Text($"{study.Performance.Hits.Count} strokes in {NumberWords.Bars(bars)} of {pulse.Meter} at {pulse.MeanTempo.Value:0.0} bpm (pulse confidence {pulse.Confidence:0.00}{(study.RunnerUp is null ? string.Empty : $"; next best: {study.RunnerUp}")})"));
        output.WriteLine();
        foreach (string sentence in FeelWords.Describe(study.Feel))
            output.WriteLine(sentence);
        output.WriteLine();
        WriteFigures(output, study.Feel);
        // Doubts about the feel are told in its words above.
        foreach (Doubt doubt in study.Doubts.DistinctBy(doubt => doubt.Text))
            output.WriteLine($"! {doubt.Text}");
    }

    /// <summary>The figures that are few; those with a line for each place of the bar are in the JSON document and on the bench.</summary>
    private static void WriteFigures(TextWriter output, FeelReport feel)
    {
        output.WriteLine($"Measured against: {feel.ReferenceName}. Intervals hold 95 %. Positive = late.");
        foreach (FeelFigureKind kind in FeelFigures.All.Where(kind => !kind.IsDetailed))
        {
            foreach (FeelLine line in kind.Lines(feel))
            {
                string strokes = line.Strokes > 0 ? $", {line.Strokes} strokes" : string.Empty;
                string verdict = line.Verdict.Length > 0 ? $"  {line.Verdict}{strokes}" : $"  {strokes.TrimStart(',', ' ')}";
                string interval = $"[{kind.FormatInterval(line.Value)}]";
                output.WriteLine($"  {kind.Name,-19} {line.Subject,-22} {kind.Format(line.Value.Value),7} {kind.Unit,-11} {interval,-22}{verdict}".TrimEnd());
            }
        }
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
