using System.CommandLine;
using System.Globalization;
using Hindbeat.Feel;
using Hindbeat.Studies;

namespace Hindbeat.Cli.Commands;

/// <summary><c>hindbeat compare FIRST SECOND</c>: in what two passages or drummers differ, by how much, and how sure.</summary>
internal static class CompareCommand
{
    public static Command Make(CommandContext context)
    {
        Argument<string> first = SharedOptions.StudyOrFileArgument("FIRST"), second = SharedOptions.StudyOrFileArgument("SECOND");
        var json = new Option<bool>("--json") { Description = "Write one JSON document with every difference." };
        Option<string?> library = SharedOptions.Library();
        var command = new Command("compare", "Set two studies (or files) side by side: each figure's difference, its interval, whether anyone could hear it.")
        {
            first, second, json, library,
        };
        command.SetAction((parsed, cancel) =>
        {
            string folder = SharedOptions.LibraryFolder(parsed, library);
            (string firstName, FeelReport one) = StudyShelf.FindOrStudy(parsed.GetValue(first)!, folder, context, cancel);
            (string secondName, FeelReport two) = StudyShelf.FindOrStudy(parsed.GetValue(second)!, folder, context, cancel);
            if (parsed.GetValue(json))
                context.Output.WriteLine(ComparisonDocument.Of(firstName, one, secondName, two).ToJson());
            else
                Write(context.Output, firstName, one, secondName, two);
            return Task.FromResult(CommandLine.Done);
        });
        return command;
    }

    private static void Write(TextWriter output, string firstName, FeelReport first, string secondName, FeelReport second)
    {
        FeelComparisonResult comparison = FeelComparison.Between(first, second);
        output.WriteLine($"First: {firstName} ({first.Tempo.Bpm.Value.ToString("0.0", CultureInfo.InvariantCulture)} bpm, measured against the {first.ReferenceName})");
        output.WriteLine($"Second: {secondName} ({second.Tempo.Bpm.Value.ToString("0.0", CultureInfo.InvariantCulture)} bpm, measured against the {second.ReferenceName})");
        output.WriteLine(FeelDistance.Between(first, second) is { } distance
            ? string.Create(CultureInfo.InvariantCulture, $"Distance {distance:0.00} (0 = no figure differs, about 1 = they differ by steps worth noticing)")
            : "They have too little in common for a distance.");
        output.WriteLine();
        foreach (string sentence in ComparisonWords.Describe(comparison))
            output.WriteLine(sentence);
        output.WriteLine();
        output.WriteLine("Difference = second − first, with its 95 % interval. Positive = more, later or louder in the second.");
        foreach (FeelDifference difference in comparison.Differences.Where(difference => !difference.Kind.IsDetailed || difference.IsSure))
        {
            FeelFigureKind kind = difference.Kind;
            string interval = $"[{kind.FormatInterval(difference.Difference)}]";
            output.WriteLine($"  {kind.Name,-19} {difference.Subject,-22} {kind.Format(difference.First.Value),7} → {kind.Format(difference.Second.Value),-7} {kind.Unit,-11} {kind.Format(difference.Difference.Value),7} {interval,-20}{(difference.IsSure ? "  sure" : string.Empty)}".TrimEnd());
        }
    }
}
