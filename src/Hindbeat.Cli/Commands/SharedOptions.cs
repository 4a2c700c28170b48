using System.CommandLine;
using System.CommandLine.Parsing;
using System.Globalization;
using Hindbeat.Performances;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat.Cli.Commands;

/// <summary>Options and arguments that several commands share, each read strictly.</summary>
internal static class SharedOptions
{
    public static Option<string?> Library() => new("--library")
    {
        Description = "Folder of the library (default: the user's data folder).",
        HelpName = "DIR",
    };

    public static string LibraryFolder(ParseResult parsed, Option<string?> option) =>
        parsed.GetValue(option) ?? StudyLibrary.DefaultFolder();

    public static Argument<string> StudyArgument() => new("STUDY")
    {
        Description = "A study: its id or name in the library, or a hindbeat-study JSON file.",
    };

    /// <summary>A study, or a file to study on the way without keeping it.</summary>
    public static Argument<string> StudyOrFileArgument(string name) => new(name)
    {
        Description = "A study's id or name, a hindbeat-study JSON file, or a recording or kit MIDI file.",
    };

    /// <summary>A moment: seconds (12.5) or minutes and seconds (1:12.5).</summary>
    public static Option<AudioTime?> Moment(string name, string description) => new(name)
    {
        Description = description,
        HelpName = "TIME",
        CustomParser = result => Read<AudioTime?>(result, text => TryMoment(text, out double seconds) ? AudioTime.FromSeconds(seconds) : null,
            "write a time as seconds (12.5) or minutes:seconds (1:12.5)"),
    };

    public static Option<Bpm?> Tempo() => new("--bpm")
    {
        Description = "The tempo, when it is known.",
        HelpName = "BPM",
        CustomParser = result => Read<Bpm?>(result, text => TryNumber(text, out double bpm) && bpm is >= 20 and <= 400 ? Bpm.Of(bpm) : null,
            "a tempo is a number from 20 to 400"),
    };

    public static Option<Meter?> Meter() => new("--meter")
    {
        Description = "The time signature, when it is known (4/4, 6/8 …).",
        HelpName = "METER",
        CustomParser = result => Read<Meter?>(result, text =>
        {
            try
            {
                return Performances.Meter.Parse(text);
            }
            catch (FormatException)
            {
                return null;
            }
        }, "write a time signature like 4/4 or 6/8"),
    };

    /// <summary>A number within bounds.</summary>
    public static Option<double?> Number(string name, string description, double least, double most) => new(name)
    {
        Description = description,
        HelpName = "NUMBER",
        CustomParser = result => Read<double?>(result, text => TryNumber(text, out double value) && value >= least && value <= most ? value : null,
            FormattableString.Invariant($"it takes a number from {least} to {most}")),
    };

    /// <summary>A whole number within bounds.</summary>
    public static Option<int?> Whole(string name, string description, int least, int most) => new(name)
    {
        Description = description,
        HelpName = "NUMBER",
        CustomParser = result => Read<int?>(result, text => int.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out int value) && value >= least && value <= most ? value : null,
            FormattableString.Invariant($"it takes a whole number from {least} to {most}")),
    };

    private static T? Read<T>(ArgumentResult result, Func<string, T?> read, string hint)
    {
        string text = result.Tokens.Count == 0 ? string.Empty : result.Tokens[0].Value;
        T? value = read(text);
        if (value is null)
            result.AddError($"{(result.Parent as OptionResult)?.Option.Name ?? "The argument"}: '{text}' does not fit; {hint}.");
        return value;
    }

    private static bool TryNumber(string text, out double value) =>
        double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out value) && double.IsFinite(value);

    private static bool TryMoment(string text, out double seconds)
    {
        seconds = 0;
        string[] parts = text.Split(':');
        if (parts.Length > 3)
            return false;
        foreach (string part in parts)
        {
            if (!TryNumber(part, out double value) || value < 0)
                return false;
            seconds = (seconds * 60.0) + value;
        }

        return true;
    }
}
