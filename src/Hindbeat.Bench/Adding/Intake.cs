using System.Security.Cryptography;
using Hindbeat.Bench.Desk;
using Hindbeat.Sound;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat.Bench.Adding;

/// <summary>
/// Recordings on their way into the library: received, heard, studied. Work goes on when the page that began it is closed. A
/// recording is kept in the library's folder under a name drawn at random; the name it came with is only ever shown.
/// </summary>
public sealed class Intake(StudyDesk desk) : IDisposable
{
    /// <summary>Forty minutes of 24-bit stereo at 96 kHz, or an evening's MP3.</summary>
    public const long LargestFile = 1L << 30;

    private const int LongestName = 120;

    private readonly Lock _gate = new();
    private readonly List<StudyJob> _jobs = [];
    private readonly SemaphoreSlim _oneAtATime = new(1);
    private readonly CancellationTokenSource _closing = new();

    /// <summary>A job has begun, moved on or ended. Raised on any thread.</summary>
    public event Action? Changed;

    /// <summary>Under way or failed; the newest last.</summary>
    public IReadOnlyList<StudyJob> Jobs
    {
        get
        {
            lock (_gate)
                return [.. _jobs];
        }
    }

    /// <summary>Takes a file in; when this returns it lies in the library and is being studied.</summary>
    /// <exception cref="InputException">Too large, empty, or nothing that can be read; nothing is left behind.</exception>
    public async Task<StudyJob> ReceiveAsync(Stream body, string shownName, CancellationToken cancel)
    {
        string name = ShownName(shownName);
        string path = OwnFiles.NewPath(desk.Files.Recordings, RandomNumberGenerator.GetBytes(OwnFiles.NameBytes));
        try
        {
            long length = await CopyAsync(body, path, cancel).ConfigureAwait(false);
            if (length == 0)
                throw new InputException($"{name} is empty.");
            await Task.Run(() => CheckReadable(path, name), cancel).ConfigureAwait(false);
        }
        catch
        {
            File.Delete(path);
            throw;
        }

        return Begin(new StudyJob(name, Path.GetFileNameWithoutExtension(name)), path, owned: true, new StudyOptions());
    }

    /// <summary>Studies a part of a study's recording on its own.</summary>
    /// <exception cref="InputException">The study has no recording any more.</exception>
    public StudyJob StudyPassage(Study study, AudioTime from, AudioTime to, string name)
    {
        ArgumentNullException.ThrowIfNull(study);
        if (study.Source is not { } source || !File.Exists(source))
            throw new InputException("The recording is not there any more, so no part of it can be studied.");
        return Begin(new StudyJob(study.Recording?.File ?? Path.GetFileName(source), name), source, owned: false, new StudyOptions { From = from, To = to });
    }

    /// <summary>Stops a job, or takes a failed one off the list.</summary>
    public void Dismiss(StudyJob job)
    {
        ArgumentNullException.ThrowIfNull(job);
        job.Cancel();
        lock (_gate)
            _jobs.Remove(job);
        Changed?.Invoke();
    }

    public void Dispose()
    {
        _closing.Cancel();
        _closing.Dispose();
        _oneAtATime.Dispose();
    }

    /// <summary>The last part of what a browser called the file, without signs that no name needs.</summary>
    internal static string ShownName(string name)
    {
        string last = name[(name.LastIndexOfAny(['/', '\\', ':']) + 1)..];
        string plain = new string([.. last.Where(letter => !char.IsControl(letter))]).Trim();
        if (plain.Length == 0 || plain.All(letter => letter == '.'))
            return "recording";
        return plain.Length > LongestName ? plain[..LongestName] : plain;
    }

    private StudyJob Begin(StudyJob job, string path, bool owned, StudyOptions options)
    {
        lock (_gate)
            _jobs.Add(job);
        Changed?.Invoke();
        _ = RunAsync(job, path, owned, options);
        return job;
    }

    private async Task RunAsync(StudyJob job, string path, bool owned, StudyOptions options)
    {
        using var both = CancellationTokenSource.CreateLinkedTokenSource(job.Cancelled, _closing.Token);
        try
        {
            await _oneAtATime.WaitAsync(both.Token).ConfigureAwait(false);
            try
            {
                Study study = await Task.Run(() => StudyMaker.Make(
                    path, options with { Name = job.StudyName, Created = desk.Now }, new Steps(step => job.Report(step, Changed)), both.Token), both.Token).ConfigureAwait(false);
                both.Token.ThrowIfCancellationRequested();
                Study added = desk.Add(study.Recording is { } recording ? study with { Recording = recording with { File = job.FileName } } : study);
                job.Finish(added.Id);
                lock (_gate)
                    _jobs.Remove(job);
                owned = false;
            }
            finally
            {
                _oneAtATime.Release();
            }
        }
        catch (OperationCanceledException)
        {
            lock (_gate)
                _jobs.Remove(job);
        }
        catch (ObjectDisposedException)
        {
            // The bench is closing.
        }
        catch (Exception reason) when (reason is InputException or IOException or UnauthorizedAccessException)
        {
            job.Fail(reason.Message.Replace(path, job.FileName, StringComparison.Ordinal));
        }
        finally
        {
            if (owned)
                File.Delete(path);
            Changed?.Invoke();
        }
    }

    private static async Task<long> CopyAsync(Stream body, string path, CancellationToken cancel)
    {
        FileStream file = new(path, FileMode.CreateNew, FileAccess.Write, FileShare.None, 1 << 16, FileOptions.Asynchronous);
        await using (file.ConfigureAwait(false))
        {
            byte[] buffer = new byte[1 << 16];
            long total = 0;
            int read;
            while ((read = await body.ReadAsync(buffer, cancel).ConfigureAwait(false)) > 0)
            {
                total += read;
                if (total > LargestFile)
                    throw new InputException($"The file is larger than {LargestFile >> 20} MB; cut out the passage first.");
                await file.WriteAsync(buffer.AsMemory(0, read), cancel).ConfigureAwait(false);
            }

            return total;
        }
    }

    private static void CheckReadable(string path, string name)
    {
        using FileStream stream = File.OpenRead(path);
        Span<byte> start = stackalloc byte[4];
        if (stream.ReadAtLeast(start, 4, throwOnEndOfStream: false) == 4 && start.SequenceEqual("MThd"u8))
            return;
        try
        {
            using ISoundReader reader = SoundFile.Open(path);
        }
        catch (InputException reason)
        {
            throw new InputException(reason.Message.Replace(path, name, StringComparison.Ordinal), reason);
        }
    }

    private sealed class Steps(Action<StudyProgress> report) : IProgress<StudyProgress>
    {
        public void Report(StudyProgress value) => report(value);
    }
}
