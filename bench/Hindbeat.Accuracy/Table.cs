using System.Globalization;
using System.Text;

namespace Hindbeat.Accuracy;

/// <summary>A Markdown table whose columns line up in a terminal.</summary>
internal sealed class Table(params string[] header)
{
    private readonly List<string[]> _rows = [];

    public void Add(params string[] cells) => _rows.Add(cells);

    public static string Share(double value) => double.IsNaN(value) ? "–" : value.ToString("0.000", CultureInfo.InvariantCulture);

    public static string Milliseconds(double value) => double.IsNaN(value) ? "–" : value.ToString("+0.00;-0.00;0.00", CultureInfo.InvariantCulture);

    public override string ToString()
    {
        int[] widths = [.. header.Select((cell, i) => _rows.Select(row => row[i].Length).Append(cell.Length).Max())];
        var text = new StringBuilder();
        void Line(string[] cells) => text.Append("| ").AppendJoin(" | ", cells.Select((cell, i) => cell.PadRight(widths[i]))).AppendLine(" |");
        Line(header);
        text.Append('|').AppendJoin('|', widths.Select(width => new string('-', width + 2))).AppendLine("|");
        foreach (string[] row in _rows)
            Line(row);
        return text.ToString();
    }
}
