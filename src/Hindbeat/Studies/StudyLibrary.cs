using System.Globalization;
using Hindbeat.Feel;
using Hindbeat.Units;
using Microsoft.Data.Sqlite;

namespace Hindbeat.Studies;

/// <summary>
/// The studies of one user, in a SQLite file of a folder. Every call opens the file anew, so an instance may be
/// used from several threads and the file by several programs at once; a writer waits for another.
/// </summary>
public sealed class StudyLibrary
{
    public const string FileName = "library.db";

    private readonly LibraryFile _file;

    private StudyLibrary(LibraryFile file) => _file = file;

    public string Folder => _file.Folder;

    internal LibraryFile File => _file;

    /// <summary>Opens the library of a folder; makes both when they are not there.</summary>
    /// <exception cref="InputException">The folder cannot be written, or the file is damaged or from a newer version.</exception>
    public static StudyLibrary Open(string folder) => new(LibraryFile.Open(folder));

    /// <summary>
    /// Where the library lies unless told otherwise: "hindbeat" in the user's data folder ($XDG_DATA_HOME or
    /// ~/.local/share; %LOCALAPPDATA%; ~/Library/Application Support).
    /// </summary>
    /// <param name="environment">Looks up an environment variable; null = the process's own.</param>
    /// <exception cref="InputException">The system names no such folder.</exception>
    public static string DefaultFolder(Func<string, string?>? environment = null) => LibraryPlace.Default(
        environment ?? Environment.GetEnvironmentVariable,
        OperatingSystem.IsWindows() ? LibraryPlace.Family.Windows : OperatingSystem.IsMacOS() ? LibraryPlace.Family.Mac : LibraryPlace.Family.Unix);

    /// <summary>Adds a study, or replaces the one with its id.</summary>
    /// <returns>The study with its id: one is given when it has none yet.</returns>
    /// <exception cref="InputException">The id is not one, or the file cannot be written.</exception>
    public Study Save(Study study)
    {
        ArgumentNullException.ThrowIfNull(study);
        if (study.Id.Length == 0)
            study = study with { Id = StudyIds.For(study) };
        if (!StudyIds.IsValid(study.Id))
            throw new InputException($"'{study.Id}' cannot be the id of a study; ids hold only a to z, 0 to 9 and hyphens.");
        StudySummary summary = StudySummary.Of(study);
        string body = StudyBody.Write(study);
        _file.Do(connection =>
        {
            using SqliteTransaction transaction = connection.BeginTransaction(deferred: false);
            using SqliteCommand command = connection.CreateCommand();
            command.Transaction = transaction;
            command.CommandText = """
                INSERT INTO studies (id, name, created, created_utc, bpm, meter, bars, swing_level, swing_ratio, kick_ms, snare_ms, seconds, file, body)
                VALUES ($id, $name, $created, $utc, $bpm, $meter, $bars, $level, $ratio, $kick, $snare, $seconds, $file, $body)
                ON CONFLICT (id) DO UPDATE SET
                    name = excluded.name, created = excluded.created, created_utc = excluded.created_utc, bpm = excluded.bpm,
                    meter = excluded.meter, bars = excluded.bars, swing_level = excluded.swing_level, swing_ratio = excluded.swing_ratio,
                    kick_ms = excluded.kick_ms, snare_ms = excluded.snare_ms, seconds = excluded.seconds, file = excluded.file, body = excluded.body
                """;
            Bind(command, "$id", summary.Id);
            Bind(command, "$name", summary.Name);
            Bind(command, "$created", summary.Created.ToString("O", CultureInfo.InvariantCulture));
            Bind(command, "$utc", summary.Created.UtcTicks);
            Bind(command, "$bpm", summary.Bpm);
            Bind(command, "$meter", summary.Meter);
            Bind(command, "$bars", summary.Bars);
            Bind(command, "$level", summary.SwingLevel?.ToString());
            Bind(command, "$ratio", Finite(summary.SwingRatio));
            Bind(command, "$kick", Finite(summary.KickLayBackMs));
            Bind(command, "$snare", Finite(summary.SnareLayBackMs));
            Bind(command, "$seconds", summary.Seconds);
            Bind(command, "$file", summary.File);
            Bind(command, "$body", body);
            command.ExecuteNonQuery();
            transaction.Commit();
            return true;
        });
        return study;
    }

    /// <summary>All studies, the newest first.</summary>
    public IReadOnlyList<StudySummary> List() => _file.Do(connection =>
    {
        using SqliteCommand command = connection.CreateCommand();
        command.CommandText = """
            SELECT id, name, created, bpm, meter, bars, swing_level, swing_ratio, kick_ms, snare_ms, seconds, file
            FROM studies ORDER BY created_utc DESC, id
            """;
        using SqliteDataReader row = command.ExecuteReader();
        var list = new List<StudySummary>();
        while (row.Read())
        {
            list.Add(new StudySummary(
                row.GetString(0),
                row.GetString(1),
                DateTimeOffset.Parse(row.GetString(2), CultureInfo.InvariantCulture, DateTimeStyles.RoundtripKind),
                row.GetDouble(3),
                row.GetString(4),
                row.GetInt32(5),
                row.IsDBNull(6) || !Enum.TryParse(row.GetString(6), out SwingLevel level) ? null : level,
                Number(row, 7),
                Number(row, 8),
                Number(row, 9),
                row.GetDouble(10),
                row.IsDBNull(11) ? null : row.GetString(11)));
        }

        return list;
    });

    /// <summary>The whole study; null when there is none of that id.</summary>
    /// <exception cref="InputException">It is damaged, or saved in a form that this version cannot read.</exception>
    public Study? Load(string id)
    {
        ArgumentNullException.ThrowIfNull(id);
        string? body = _file.Do(connection =>
        {
            using SqliteCommand command = connection.CreateCommand();
            command.CommandText = "SELECT body FROM studies WHERE id = $id";
            Bind(command, "$id", id);
            return command.ExecuteScalar() as string;
        });
        return body is null ? null : StudyBody.Read(body);
    }

    /// <returns>False when there was none of that id.</returns>
    public bool Delete(string id)
    {
        ArgumentNullException.ThrowIfNull(id);
        return _file.Do(connection =>
        {
            using SqliteCommand command = connection.CreateCommand();
            command.CommandText = "DELETE FROM studies WHERE id = $id";
            Bind(command, "$id", id);
            return command.ExecuteNonQuery() > 0;
        });
    }

    private static void Bind(SqliteCommand command, string name, object? value) =>
        command.Parameters.AddWithValue(name, value ?? DBNull.Value);

    /// <summary>SQLite stores NaN as NULL anyway; saying so keeps an open figure out of sorting and search.</summary>
    private static double? Finite(double? value) => value is { } number && double.IsFinite(number) ? number : null;

    private static double? Number(SqliteDataReader row, int column) => row.IsDBNull(column) ? null : row.GetDouble(column);
}
