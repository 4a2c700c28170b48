using System.CommandLine;
using System.Globalization;
using System.Text.Json;
using Hindbeat.Feel;
using Hindbeat.Studies;

namespace Hindbeat.Cli.Commands;

/// <summary><c>hindbeat like STUDY</c>: the library's studies, those that feel most like this one first.</summary>
internal static class LikeCommand
{
    /// <summary>A kind of figure nearer than this is named as alike, one farther than <see cref="Apart"/> as apart.</summary>
    private const double Alike = 0.5;
    private const double Apart = 1;

    private static readonly JsonSerializerOptions Json = new() { PropertyNamingPolicy = JsonNamingPolicy.CamelCase, WriteIndented = true };

    private sealed record Kin(string Id, string Name, double Bpm, double? Distance, IReadOnlyList<FeelDistancePart> Parts);

    public static Command Make(CommandContext context)
    {
        Argument<string> study = SharedOptions.StudyOrFileArgument("STUDY");
        Option<double?> most = SharedOptions.Number("--most", "How many to list (default: all).", 1, 1_000_000);
        var json = new Option<bool>("--json") { Description = "Write a JSON list." };
        Option<string?> library = SharedOptions.Library();
        var command = new Command("like", "Search the library for studies that feel like this one: swing, lay-back, looseness, accents and ghosts; tempo and notes do not count.")
        {
            study, most, json, library,
        };
        command.SetAction((parsed, cancel) =>
        {
            string folder = SharedOptions.LibraryFolder(parsed, library), wanted = parsed.GetValue(study)!;
            StudyLibrary shelf = StudyLibrary.Open(folder);
            string? own = File.Exists(wanted) ? null : StudyShelf.Id(shelf, wanted);
            (string name, FeelReport feel) = StudyShelf.FindOrStudy(wanted, folder, context, cancel);
            Kin[] others = [.. shelf.List().Where(other => other.Id != own).Select(other => shelf.Load(other.Id)).OfType<Study>()
                .Select(other => new Kin(other.Id, other.Name, Math.Round(other.Feel.Tempo.Bpm.Value, 1), Rounded(FeelDistance.Between(feel, other.Feel)), [.. FeelDistance.Parts(feel, other.Feel).Select(part => part with { Distance = Math.Round(part.Distance, 4) })]))
                .OrderBy(other => other.Distance ?? double.PositiveInfinity).ThenBy(other => other.Name, StringComparer.Ordinal)
                .Take((int)(parsed.GetValue(most) ?? int.MaxValue))];
            if (parsed.GetValue(json))
            {
                context.Output.WriteLine(JsonSerializer.Serialize(others, Json));
                return Task.FromResult(CommandLine.Done);
            }

            context.Messages.WriteLine(others.Length == 0
                ? $"The library in {folder} holds no other study to compare with."
                : $"Nearest in feel to {name} first; 0 = no figure differs, about 1 = they differ by steps worth noticing.");
            foreach (Kin other in others)
                context.Output.WriteLine(Line(other));
            return Task.FromResult(CommandLine.Done);
        });
        return command;
    }

    private static string Line(Kin other)
    {
        if (other.Distance is not { } distance)
            return $"-\t{other.Id}\t{Bpm(other.Bpm)}\t{other.Name}\ttoo little in common";
        string alike = string.Join(", ", other.Parts.Where(part => part.Distance < Alike).Select(part => part.Name));
        string apart = string.Join(", ", other.Parts.Where(part => part.Distance > Apart).OrderByDescending(part => part.Distance).Select(part => part.Name));
        string words = string.Join("; ", new[] { alike.Length > 0 ? $"alike in {alike}" : "", apart.Length > 0 ? $"apart in {apart}" : "" }.Where(part => part.Length > 0));
        return $"{distance.ToString("0.00", CultureInfo.InvariantCulture)}\t{other.Id}\t{Bpm(other.Bpm)}\t{other.Name}\t{words}".TrimEnd('\t');
    }

    private static double? Rounded(double? value) => value is { } number ? Math.Round(number, 4) : null;

    private static string Bpm(double bpm) => string.Create(CultureInfo.InvariantCulture, $"{bpm:0.0} bpm");
}
