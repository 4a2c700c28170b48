using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat.Cli;

/// <summary>Finds the study that a person means: an id, a name, or a document on disk.</summary>
internal static class StudyShelf
{
    /// <exception cref="InputException">No such study, or several of that name.</exception>
    public static (string Name, Performance Performance, FeelReport Feel) Find(string wanted, string libraryFolder)
    {
        FoundStudy found = FindWhole(wanted, libraryFolder);
        return (found.Name, found.Performance, found.Feel);
    }

    /// <summary>The same with where the recording lies.</summary>
    public static FoundStudy FindWhole(string wanted, string libraryFolder)
    {
        if (File.Exists(wanted))
            return FromDocument(wanted);
        StudyLibrary library = StudyLibrary.Open(libraryFolder);
        Study study = library.Load(Id(library, wanted))!;
        return new FoundStudy(study.Name, study.Performance, study.Feel, study.Source, study.From, study.To) { Kept = study };
    }

    /// <summary>A study of the library, a document on disk, or a recording or MIDI file that is studied now and not kept.</summary>
    public static (string Name, FeelReport Feel) FindOrStudy(string wanted, string libraryFolder, CommandContext context, CancellationToken cancel)
    {
        if (!File.Exists(wanted) || string.Equals(Path.GetExtension(wanted), ".json", StringComparison.OrdinalIgnoreCase))
        {
            FoundStudy found = FindWhole(wanted, libraryFolder);
            return (found.Name, found.Feel);
        }

        var progress = new ProgressLine(context.Messages, !Console.IsErrorRedirected);
        try
        {
            Study study = StudyMaker.Make(wanted, new StudyOptions { Created = context.Clock.GetUtcNow() }, progress, cancel);
            return (study.Name, study.Feel);
        }
        finally
        {
            progress.End();
        }
    }

    /// <summary>The id that a person means by an id or a name.</summary>
    public static string Id(StudyLibrary library, string wanted)
    {
        IReadOnlyList<StudySummary> all = library.List();
        if (all.Any(study => study.Id == wanted))
            return wanted;
        List<StudySummary> named = [.. all.Where(study => string.Equals(study.Name, wanted, StringComparison.OrdinalIgnoreCase))];
        return named.Count switch
        {
            1 => named[0].Id,
            0 => throw new InputException($"There is no study '{wanted}' in the library, and no file of that name; 'hindbeat list' shows what there is."),
            _ => throw new InputException($"{named.Count} studies are named '{wanted}'; use the id of one: {string.Join(", ", named.Select(study => study.Id))}."),
        };
    }

    /// <summary>A passage whose end nobody wrote down ends when the last stroke has rung.</summary>
    private const double RingSeconds = 2;

    private static FoundStudy FromDocument(string path)
    {
        StudyDocument document;
        using (FileStream stream = File.OpenRead(path))
        {
            try
            {
                document = StudyDocument.Read(stream);
            }
            catch (InputException reason)
            {
                throw new InputException($"{path} is not a hindbeat-study document ({reason.Message}) If it is a recording, study it first with 'hindbeat study'.", reason);
            }
        }

        Performance performance = document.ToPerformance();
        return new FoundStudy(
            Path.GetFileNameWithoutExtension(path), performance, FeelAnalysis.Measure(performance, new FeelOptions { Hearing = document.Recording is null ? null : HearingError.Measured }), null,
            AudioTime.FromSeconds(document.Passage?.From ?? Math.Min(0, performance.Hits[0].Time.TotalSeconds)),
            AudioTime.FromSeconds(document.Passage?.To ?? performance.Hits[^1].Time.TotalSeconds + RingSeconds));
    }
}

/// <summary>A study with what a rebuild needs of it.</summary>
/// <param name="Source">Where the recording lay; null when the study does not say.</param>
internal sealed record FoundStudy(string Name, Performance Performance, FeelReport Feel, string? Source, AudioTime From, AudioTime To)
{
    /// <summary>The library's study; null for a document on disk.</summary>
    public Study? Kept { get; init; }
}
