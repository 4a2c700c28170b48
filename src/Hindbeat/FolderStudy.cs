using System.Runtime.ExceptionServices;
using System.Security.Cryptography;
using Hindbeat.Listening;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat;

/// <summary>How a folder is studied.</summary>
public sealed record FolderOptions
{
    public const int MostWorkers = 256;

    /// <summary>Files studied at the same time, 1 to <see cref="MostWorkers"/>; each holds one recording in memory.</summary>
    public int Workers { get; init; } = 1;

    /// <summary>Where the studies are kept beside their lines; null = nowhere.</summary>
    public StudyLibrary? Library { get; init; }

    /// <summary>When the studies were made; the engine has no clock of its own.</summary>
    public DateTimeOffset Created { get; init; } = DateTimeOffset.UnixEpoch;

    /// <summary>Null = the default listener.</summary>
    public IListener? Listener { get; init; }
}

/// <summary>What became of a file.</summary>
public enum FolderVerdict
{
    Studied,

    /// <summary>Its line was there from an earlier run.</summary>
    WasThere,

    /// <summary>It cannot be used; the others go on.</summary>
    Refused,
}

/// <param name="File">Path within the folder.</param>
/// <param name="Reason">Why it was refused, in one line; empty otherwise.</param>
/// <param name="Done">Files so far, this one included, of <paramref name="All"/>.</param>
public sealed record FolderStep(string File, FolderVerdict Verdict, string Reason, int Done, int All);

/// <param name="Refused">Files that cannot be used, each with the reason in one line, by name.</param>
public sealed record FolderOutcome(int Studied, int WereThere, IReadOnlyList<(string File, string Reason)> Refused);

/// <summary>
/// Studies every recording and MIDI file in a folder and the folders within it, several at a time, and writes a line a passage (<see cref="StudyLines"/>).
/// Started again after it was stopped or killed, it goes on where it was: a file that has its line is not studied again.
/// </summary>
/// <remarks>A study is kept in the library under an id that follows from the file, before its line is written; killed between the two, the next run takes it from there.</remarks>
public static class FolderStudy
{
    /// <summary>What is taken for a recording or MIDI; other files of a folder (covers, lists, texts) are passed over.</summary>
    private static readonly HashSet<string> Endings = new(StringComparer.OrdinalIgnoreCase)
    {
        ".wav", ".wave", ".aif", ".aiff", ".flac", ".mp3", ".ogg", ".oga", ".opus", ".m4a", ".aac", ".wma", ".mp4", ".m4v", ".mov", ".mkv", ".webm", ".avi", ".mid", ".midi",
    };

    /// <param name="lines">File of JSON lines; made, or added to.</param>
    /// <param name="progress">Told of each file, one at a time.</param>
    /// <exception cref="InputException">No such folder, nothing in it to study, or the lines cannot be written.</exception>
    /// <exception cref="OperationCanceledException">Cancelled; the files that were done have their lines.</exception>
    public static FolderOutcome Run(string folder, string lines, FolderOptions options, IProgress<FolderStep>? progress = null, CancellationToken cancel = default)
    {
        ArgumentNullException.ThrowIfNull(options);
        if (options.Workers is < 1 or > FolderOptions.MostWorkers)
            throw new InputException($"{options.Workers} files at a time cannot be studied; give 1 to {FolderOptions.MostWorkers}.");
        string[] files = Files(folder);
        using StudyLines written = StudyLines.Open(lines);
        var refused = new List<(string File, string Reason)>();
        int studied = 0, there = 0;
        var gate = new Lock();
        void Do(string file)
        {
            string name = Path.GetRelativePath(folder, file).Replace('\\', '/');
            (FolderVerdict verdict, string reason) = StudyOne(file, name, written, gate, options, cancel);
            lock (gate)
            {
                studied += verdict == FolderVerdict.Studied ? 1 : 0;
                there += verdict == FolderVerdict.WasThere ? 1 : 0;
                if (verdict == FolderVerdict.Refused)
                    refused.Add((name, reason));
                progress?.Report(new FolderStep(name, verdict, reason, studied + there + refused.Count, files.Length));
            }
        }

        try
        {
            Parallel.ForEach(files, new ParallelOptions { MaxDegreeOfParallelism = options.Workers, CancellationToken = cancel }, Do);
        }
        catch (AggregateException reason)
        {
            // A line that cannot be written stops all; the first worker to find out says why.
            ExceptionDispatchInfo.Throw(reason.InnerExceptions[0]);
        }

        return new FolderOutcome(studied, there, [.. refused.OrderBy(one => one.File, StringComparer.Ordinal)]);
    }

    private static string[] Files(string folder)
    {
        ArgumentException.ThrowIfNullOrEmpty(folder);
        if (!Directory.Exists(folder))
            throw new InputException($"There is no folder {folder}.");
        string[] files = [.. Directory.EnumerateFiles(folder, "*", new EnumerationOptions { RecurseSubdirectories = true, IgnoreInaccessible = true, AttributesToSkip = FileAttributes.Hidden | FileAttributes.System })
            .Where(file => Endings.Contains(Path.GetExtension(file))).Order(StringComparer.Ordinal)];
        return files.Length > 0 ? files : throw new InputException($"There are no recordings or MIDI files in {folder}.");
    }

    private static (FolderVerdict Verdict, string Reason) StudyOne(string file, string name, StudyLines written, Lock gate, FolderOptions options, CancellationToken cancel)
    {
        string sha256;
        Study study;
        try
        {
            sha256 = HashOf(file);
            lock (gate)
            {
                if (written.Holds(name, sha256))
                    return (FolderVerdict.WasThere, "");
            }

            study = Kept(file, StudyIds.ForFile(name, sha256), options, cancel);
        }
        catch (Exception reason) when (reason is InputException or IOException or UnauthorizedAccessException)
        {
            return (FolderVerdict.Refused, reason.Message.ReplaceLineEndings(" "));
        }

        lock (gate)
            written.Add(name, sha256, options.Library is null ? null : study.Id, StudyDocuments.From(study));
        return (FolderVerdict.Studied, "");
    }

    /// <summary>The study of a file, from the library where an earlier run got that far.</summary>
    private static Study Kept(string file, string id, FolderOptions options, CancellationToken cancel)
    {
        if (options.Library?.Load(id) is { } kept)
            return kept;
        Study study = StudyMaker.Make(file, new StudyOptions { Id = id, Created = options.Created, Listener = options.Listener }, null, cancel);
        return options.Library?.Save(study) ?? study;
    }

    private static string HashOf(string file)
    {
        using FileStream stream = File.OpenRead(file);
        return Convert.ToHexStringLower(SHA256.HashData(stream));
    }
}
