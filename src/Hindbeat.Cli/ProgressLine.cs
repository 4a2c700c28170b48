using System.Globalization;

namespace Hindbeat.Cli;

/// <summary>
/// Tells how far a study is on one line of standard error: in place on a terminal, once a stage elsewhere
/// (a log should not hold a hundred percentages).
/// </summary>
internal sealed class ProgressLine(TextWriter messages, bool onTerminal) : IProgress<StudyProgress>
{
    private StudyStage? _stage;
    private int _percent = -1;

    public void Report(StudyProgress value)
    {
        int percent = (int)(Math.Clamp(value.Done, 0, 1) * 100);
        if (onTerminal && (value.Stage != _stage || percent != _percent))
            messages.Write(string.Create(CultureInfo.InvariantCulture, $"\r{Name(value.Stage),-24}{percent,4} %"));
        else if (!onTerminal && value.Stage != _stage)
            messages.WriteLine(Name(value.Stage));
        (_stage, _percent) = (value.Stage, percent);
    }

    /// <summary>Clears the line, so that what follows starts afresh.</summary>
    public void End()
    {
        if (onTerminal && _stage is not null)
            messages.Write("\r" + new string(' ', 32) + "\r");
    }

    private static string Name(StudyStage stage) => stage switch
    {
        StudyStage.Reading => "reading the sound",
        StudyStage.Listening => "listening for strokes",
        StudyStage.Pulse => "finding the pulse",
        _ => "measuring the feel",
    };
}
