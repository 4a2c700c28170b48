using System.Globalization;
using System.Reflection;
using System.Text.Json.Serialization;
using Parquet.Serialization;

namespace Hindbeat.Studies;

/// <summary>
/// The figures of all studies of a library as one long table, a row a figure (<see cref="FigureRow"/>): as CSV (RFC 4180, UTF-8, a point for decimals, empty
/// = not known) or as Parquet (snappy), which DuckDB, Spark and pandas read as it is.
/// </summary>
public static class LibraryTable
{
    private static readonly (string Name, Func<FigureRow, object?> Value)[] Columns =
        [.. typeof(FigureRow).GetProperties(BindingFlags.Public | BindingFlags.Instance).Select(property => (property.GetCustomAttribute<JsonPropertyNameAttribute>()!.Name, (Func<FigureRow, object?>)property.GetValue))];

    /// <summary>The columns, in order.</summary>
    public static IReadOnlyList<string> ColumnNames { get; } = [.. Columns.Select(column => column.Name)];

    /// <summary>Every figure of every study, oldest study first; a study is read when its turn comes.</summary>
    public static IEnumerable<FigureRow> Rows(StudyLibrary library)
    {
        ArgumentNullException.ThrowIfNull(library);
        return library.List().Reverse().Select(summary => library.Load(summary.Id)).OfType<Study>().SelectMany(FigureRow.AllOf);
    }

    public static void WriteCsv(IEnumerable<FigureRow> rows, TextWriter writer)
    {
        ArgumentNullException.ThrowIfNull(rows);
        ArgumentNullException.ThrowIfNull(writer);
        writer.Write(string.Join(',', ColumnNames) + "\r\n");
        foreach (FigureRow row in rows)
            writer.Write(string.Join(',', Columns.Select(column => Handouts.FiguresCsv.Field(Text(column.Value(row))))) + "\r\n");
    }

    /// <param name="stream">Must be able to seek.</param>
    public static void WriteParquet(IEnumerable<FigureRow> rows, Stream stream)
    {
        ArgumentNullException.ThrowIfNull(rows);
        ArgumentNullException.ThrowIfNull(stream);
        ParquetSerializer.SerializeAsync(rows.ToList(), stream).GetAwaiter().GetResult();
    }

    private static string Text(object? value) => value switch
    {
        null => "",
        double number => number.ToString("R", CultureInfo.InvariantCulture),
        bool yes => yes ? "true" : "false",
        _ => Convert.ToString(value, CultureInfo.InvariantCulture)!,
    };
}
