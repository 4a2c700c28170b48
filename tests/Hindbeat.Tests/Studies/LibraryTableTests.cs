using System.Reflection;
using System.Text.Json.Serialization;
using DuckDB.NET.Data;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Studies;

namespace Hindbeat.Tests.Studies;

/// <summary>The library's table, read back by a reader that is not ours (DuckDB), and against the figures that it was made of.</summary>
public sealed class LibraryTableTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("hindbeat-table-").FullName;
    private readonly StudyLibrary _library;
    private readonly int _figures;

    public LibraryTableTests()
    {
        _library = StudyLibrary.Open(Path.Combine(_folder, "library"));
        for (ulong seed = 1; seed <= 3; seed++)
        {
            Performance played = InventedPassage.Make(seed).Performance;
            Study study = _library.Save(SampleStudies.Of($"Brass mill, \"take\" {seed}") with { Performance = played, Feel = FeelAnalysis.Measure(played), Tags = ["slow", "brushes"] });
            _figures += FeelFigures.All.Sum(kind => kind.Lines(study.Feel).Count());
        }
    }

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void DuckDb_reads_every_row_and_column_of_the_parquet_file_with_its_value()
    {
        string path = Path.Combine(_folder, "figures.parquet");
        using (FileStream stream = File.Create(path))
            LibraryTable.WriteParquet(LibraryTable.Rows(_library), stream);
        Assert.Equal(string.Join(',', LibraryTable.ColumnNames), Ask($"SELECT string_agg(column_name, ',') FROM (DESCRIBE SELECT * FROM '{path}')"));
        PropertyInfo[] columns = typeof(FigureRow).GetProperties();
        List<object?[]> read = Rows($"SELECT {string.Join(',', columns.Select(column => $"\"{column.GetCustomAttribute<JsonPropertyNameAttribute>()!.Name}\""))} FROM '{path}'");
        Assert.Equal(_figures, read.Count);
        Assert.Equal(LibraryTable.Rows(_library).Select(row => columns.Select(column => column.GetValue(row))), read);
    }

    [Fact]
    public void DuckDb_reads_the_same_from_the_csv_file()
    {
        string csv = Path.Combine(_folder, "figures.csv"), parquet = Path.Combine(_folder, "figures.parquet");
        using (var writer = new StreamWriter(csv))
            LibraryTable.WriteCsv(LibraryTable.Rows(_library), writer);
        using (FileStream stream = File.Create(parquet))
            LibraryTable.WriteParquet(LibraryTable.Rows(_library), stream);
        Assert.Equal((long)_figures, Ask($"SELECT count(*) FROM '{csv}'"));
        Assert.Equal(0L, Ask($"SELECT count(*) FROM (SELECT study, name, figure, \"of\", value, low, high, strokes FROM '{parquet}' EXCEPT SELECT study, name, figure, \"of\", value, low, high, strokes FROM '{csv}')"));
    }

    [Fact]
    public void A_figure_of_a_place_names_piece_and_place_apart()
    {
        FigureRow[] rows = [.. LibraryTable.Rows(_library)];
        Assert.Contains(rows, row => row is { Figure: "places", Piece: "kick", Place: "beat 1" });
        Assert.Contains(rows, row => row is { Figure: "lay-back", Piece: "kick", Place: null });
        Assert.All(rows.Where(row => row.Figure == "swing-ratio"), row => Assert.Null(row.Piece));
    }

    [Fact]
    public void Every_column_is_described()
    {
        string page = File.ReadAllText(Path.Combine(LayerTests.RepositoryRoot(), "docs", "library-table.md"));
        Assert.All(LibraryTable.ColumnNames, column => Assert.Contains($"| `{column}` |", page, StringComparison.Ordinal));
    }

    private static object? Ask(string sql) => Assert.Single(Assert.Single(Rows(sql)));

    /// <summary>All rows at once: each question opens a database of its own.</summary>
    private static List<object?[]> Rows(string sql)
    {
        using var connection = new DuckDBConnection("DataSource=:memory:");
        connection.Open();
        using DuckDBCommand command = connection.CreateCommand();
        command.CommandText = sql;
        using DuckDBDataReader reader = command.ExecuteReader();
        List<object?[]> rows = [];
        while (reader.Read())
            rows.Add([.. Enumerable.Range(0, reader.FieldCount).Select(column => reader.IsDBNull(column) ? null : reader.GetValue(column))]);
        return rows;
    }
}
