namespace Hindbeat.Bench.Adding;

/// <summary>One recording being studied.</summary>
/// <param name="fileName">As it is shown; never a path.</param>
/// <param name="studyName">What the study will be called.</param>
public sealed class StudyJob(string fileName, string studyName) : IDisposable
{
    /// <summary>How much of the whole each stage is, in order of <see cref="StudyStage"/>: listening takes nearly all of it.</summary>
    private static readonly double[] Ends = [0.1, 0.85, 0.93, 1];

    /// <summary>Reporting more often than a bar on the page can show would only cost.</summary>
    private const double Step = 0.02;

    private readonly CancellationTokenSource _cancel = new();

    public string FileName { get; } = fileName;
    public string StudyName { get; } = studyName;

    public CancellationToken Cancelled => _cancel.Token;

    public StudyStage Stage { get; private set; }

    /// <summary>0 to 1.</summary>
    public double Done { get; private set; }

    /// <summary>Why it failed; null while it has not.</summary>
    public string? Trouble { get; private set; }

    /// <summary>Id of the finished study.</summary>
    public string? StudyId { get; private set; }

    public void Cancel() => _cancel.Cancel();

    public void Dispose() => _cancel.Dispose();

    internal void Report(StudyProgress progress, Action? changed)
    {
        double start = progress.Stage == 0 ? 0 : Ends[(int)progress.Stage - 1];
        double done = start + (Math.Clamp(progress.Done, 0, 1) * (Ends[(int)progress.Stage] - start));
        if (progress.Stage == Stage && done - Done < Step)
            return;
        Stage = progress.Stage;
        Done = done;
        changed?.Invoke();
    }

    internal void Finish(string id)
    {
        Done = 1;
        StudyId = id;
    }

    internal void Fail(string trouble) => Trouble = trouble;
}
