using Hindbeat.Bench.Desk;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat.Bench.Adding;

/// <summary>
/// Removes recordings and takes' sound that nothing in the library needs any more: when the bench starts, whatever deleted studies and
/// broken-off work left; when it closes, what belongs to the studies deleted in it, which cannot be brought back from then on. Only
/// the bench that is alone with a library does so, since another may hold a study that can still be brought back, or a file on its way in.
/// </summary>
internal sealed class Tidying(StudyDesk desk) : IDisposable
{
    /// <summary>Every open bench holds this file of the library's folder for reading, the one that tidies holds it alone.</summary>
    private const string HoldName = "bench-open";

    /// <summary>Another bench that tidies holds the file for some milliseconds.</summary>
    private const int Tries = 40, MillisecondsBetween = 50;

    private readonly OwnFiles _files = desk.Files;
    private FileStream? _hold;

    private string HoldPath => Path.Combine(desk.Folder, HoldName);

    public void Begin()
    {
        TidyAlone(null);
        for (int i = 0; _hold is null && i < Tries; i++)
        {
            if ((_hold = TryHold(FileAccess.Read, FileShare.Read)) is null)
                Thread.Sleep(MillisecondsBetween);
        }
    }

    public void Dispose()
    {
        _hold?.Dispose();
        if (desk.FilesOfDeleted() is { Count: > 0 } files)
            TidyAlone(files);
    }

    private void TidyAlone(IReadOnlyList<string>? among)
    {
        using FileStream? alone = TryHold(FileAccess.ReadWrite, FileShare.None);
        if (alone is null)
            return;
        try
        {
            _files.RemoveUnused(among);
        }
        catch (InputException)
        {
            // What the library needs cannot be told, so nothing goes.
        }
    }

    private FileStream? TryHold(FileAccess access, FileShare share)
    {
        try
        {
            return new FileStream(HoldPath, FileMode.OpenOrCreate, access, share);
        }
        catch (Exception reason) when (reason is IOException or UnauthorizedAccessException)
        {
            return null;
        }
    }
}
