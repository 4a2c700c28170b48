using System.Globalization;
using Hindbeat.Feel;
using Hindbeat.Rebuilding;
using Hindbeat.Studies;
using Hindbeat.Takes;

namespace Hindbeat.Cli;

/// <summary>A compared take as plain text: what to work on first, then the figures side by side.</summary>
internal static class TakeText
{
    public static void Write(TextWriter output, string study, string take, TakeComparisonResult result)
    {
        AlignedTake aligned = result.Take;
        int asked = aligned.Pairs.Count + aligned.Missed.Count + aligned.Moved.Count;
        output.WriteLine($"{study}, take {take}");
        output.WriteLine(Text($"{Times(aligned.Rounds)} through at {aligned.Performance.Pulse.MeanTempo.Value:0.0} bpm, {100 * aligned.TempoRatio:0} % of the passage's tempo. {aligned.Pairs.Count} of {asked} strokes at their places; {aligned.Missed.Count} missing, {aligned.Moved.Count} at another place, {aligned.Extra.Count} added."));
        output.WriteLine();
        TakeAgenda agenda = TakeAgenda.Of(result.Advice);
        output.WriteLine(agenda.NothingNow ?? "To work on, the most telling first:");
        for (int i = 0; i < agenda.Now.Count; i++)
            output.WriteLine(Text($"  {i + 1}. {agenda.Now[i].Text}"));
        if (agenda.Later is { } later)
            output.WriteLine($"  {later}");

        output.WriteLine();
        if (result.AgainstClick is { } click)
            output.WriteLine(click.Text);
        output.WriteLine($"Measured against: {result.Reference.ReferenceName}. Intervals hold 95 %. A star marks what chance alone would hardly show. Differences are taken");
        output.WriteLine("stroke against stroke where both play, so they need not be the take's figure less the passage's.");
        foreach (FeelDifference one in result.Differences.Where(one => !one.Kind.IsDetailed || result.Reported.Contains(one)))
        {
            FeelFigureKind kind = one.Kind;
            output.WriteLine($"{(result.Reported.Contains(one) ? "*" : " ")} {kind.Name,-12} {one.Subject,-24} passage {kind.Format(one.First.Value),7}  take {kind.Format(one.Second.Value),7} {kind.Unit,-6} difference {Signed(kind, one.Difference.Value),7} {$"[{Signed(kind, one.Difference.Low)} to {Signed(kind, one.Difference.High)}]",-20}{(result.Reported.Contains(one) ? "  " + TakeAdvice.Heard(one.HeardFromTimes) : "")}".TrimEnd());
        }

        foreach (var doubt in result.Doubts)
            output.WriteLine($"! {doubt.Text}");
    }

    public static void WriteHistory(TextWriter output, IReadOnlyList<KeptTake> takes)
    {
        foreach (KeptTake take in takes)
            output.WriteLine(Text($"{take.Played:yyyy-MM-dd HH:mm}  {take.Name,-24} {take.Bpm,6:0.0} bpm  {100 * take.Found,5:0.0} % of the strokes  {take.StoodOut ?? "nothing stood out"}"));
    }

    public static void WritePlan(TextWriter output, IReadOnlyList<PracticePart> plan)
    {
        foreach (PracticePart part in plan)
            output.WriteLine(Text($"{part.Length.TotalMinutes,4:0.#} min  {part.Name}{(part.Tempo is { } tempo ? $" at {tempo.Value:0} bpm" : "")}. {part.Text}"));
        output.WriteLine();
        output.WriteLine(PracticeCare.Strain);
        output.WriteLine(PracticeCare.Repetition);
    }

    private static string Times(int rounds) => rounds switch
    {
        1 => "Once",
        2 => "Twice",
        _ => rounds.ToString(CultureInfo.InvariantCulture) + " times",
    };

    private static string Signed(FeelFigureKind kind, double value) => value > 0 && !kind.ShowsSign ? "+" + kind.Format(value) : kind.Format(value);

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
