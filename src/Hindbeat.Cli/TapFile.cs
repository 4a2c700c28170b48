using System.Globalization;
using Hindbeat.Units;

namespace Hindbeat.Cli;

/// <summary>Taps written down elsewhere: the seconds of each tap, a line a tap; what follows them on a line is left alone.</summary>
internal static class TapFile
{
    /// <exception cref="InputException">There is no such file, or a line does not begin with seconds.</exception>
    public static IReadOnlyList<double> Read(string path)
    {
        string[] lines;
        try
        {
            lines = File.ReadAllLines(path);
        }
        catch (Exception reason) when (reason is FileNotFoundException or DirectoryNotFoundException)
        {
            throw new InputException($"There is no file {path}.", reason);
        }

        List<double> taps = [];
        for (int i = 0; i < lines.Length; i++)
        {
            string first = lines[i].Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries).FirstOrDefault() ?? string.Empty;
            if (first.Length == 0 || first[0] == '#')
                continue;
            if (!double.TryParse(first, NumberStyles.Float, CultureInfo.InvariantCulture, out double seconds) || !double.IsFinite(seconds))
                throw new InputException($"Line {i + 1} of {path} begins with '{first}', which is not the seconds of a tap.");
            taps.Add(seconds);
        }

        return taps;
    }
}
