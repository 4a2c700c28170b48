using System.Globalization;
using Hindbeat.Feel;

namespace Hindbeat.Handouts;

/// <summary>Every figure as a table for spreadsheets and statistics: RFC 4180, a point for decimals, UTF-8.</summary>
public static class FiguresCsv
{
    public const string Header = "figure,subject,value,low,high,unit,strokes,known,verdict";

    public static void Write(FeelReport report, TextWriter writer)
    {
        ArgumentNullException.ThrowIfNull(report);
        ArgumentNullException.ThrowIfNull(writer);
        writer.Write(Header + "\r\n");
        foreach (string row in Rows(report))
            writer.Write(row + "\r\n");
    }

    /// <summary>One row a figure, without line ends.</summary>
    public static IEnumerable<string> Rows(FeelReport report) => FeelFigures.All.SelectMany(kind => kind.Lines(report).Select(line => string.Join(
        ',', Field(kind.Id), Field(line.Subject), Number(line.Value.Value), Number(line.Value.Low), Number(line.Value.High), Field(kind.Unit),
        line.Strokes.ToString(CultureInfo.InvariantCulture), line.Known ? "yes" : "no", Field(line.Verdict))));

    /// <summary>Quoted where it holds a comma, a quote or a line end; a quote inside is doubled.</summary>
    public static string Field(string text) =>
        text.AsSpan().IndexOfAny(",\"\r\n") < 0 ? text : $"\"{text.Replace("\"", "\"\"", StringComparison.Ordinal)}\"";

    private static string Number(double value) => double.IsFinite(value) ? value.ToString("R", CultureInfo.InvariantCulture) : "";
}
