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
        _file.Do(connection =>
        {
            using SqliteTransaction transaction = connection.BeginTransaction(deferred: false);
            Write(connection, transaction, study);
            transaction.Commit();
            return true;
        });
        return study;
    }

    /// <summary>
    /// Changes the study as it is stored now, in one transaction: whoever else has changed it since one last looked, their
    /// change is in what gets changed, and none is lost.
    /// </summary>
    /// <param name="change">Gives the new study under the same id; what it throws leaves the library as it was.</param>
    /// <returns>The changed study; null when there is none of that id.</returns>
    public Study? Change(string id, Func<Study, Study> change)
    {
        ArgumentNullException.ThrowIfNull(id);
        ArgumentNullException.ThrowIfNull(change);
        return _file.Do(connection =>
        {
            using SqliteTransaction transaction = connection.BeginTransaction(deferred: false);
            if (Body(connection, id, transaction) is not { } body)
                return null;
            Study changed = change(Read(body));
            if (changed.Id != id)
                throw new ArgumentException($"The change turned the study {id} into {changed.Id}.", nameof(change));
            Write(connection, transaction, changed);
            transaction.Commit();
            return changed;
        });
    }

    private static void Write(SqliteConnection connection, SqliteTransaction transaction, Study study)
    {
        StudySummary summary = StudySummary.Of(study);
        using SqliteCommand command = connection.CreateCommand();
        command.Transaction = transaction;
        command.CommandText = """
            INSERT INTO studies (id, name, created, created_utc, bpm, meter, bars, swing_level, swing_ratio, kick_ms, snare_ms, seconds, file, body, tags, picture)
            VALUES ($id, $name, $created, $utc, $bpm, $meter, $bars, $level, $ratio, $kick, $snare, $seconds, $file, $body, $tags, $picture)
            ON CONFLICT (id) DO UPDATE SET
                name = excluded.name, created = excluded.created, created_utc = excluded.created_utc, bpm = excluded.bpm,
                meter = excluded.meter, bars = excluded.bars, swing_level = excluded.swing_level, swing_ratio = excluded.swing_ratio,
                kick_ms = excluded.kick_ms, snare_ms = excluded.snare_ms, seconds = excluded.seconds, file = excluded.file, body = excluded.body,
                tags = excluded.tags, picture = excluded.picture
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
        Bind(command, "$body", StudyBody.Write(study));
        Bind(command, "$tags", string.Join(',', summary.Tags));
        Bind(command, "$picture", StudyPicture.Write(summary.Picture));
        command.ExecuteNonQuery();
    }

    /// <summary>All studies, the newest first.</summary>
    public IReadOnlyList<StudySummary> List() => _file.Do(connection =>
    {
        using SqliteCommand command = connection.CreateCommand();
        command.CommandText = """
            SELECT id, name, created, bpm, meter, bars, swing_level, swing_ratio, kick_ms, snare_ms, seconds, file, tags, picture
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
                row.IsDBNull(11) ? null : row.GetString(11))
            {
                Tags = row.GetString(12).Split(',', StringSplitOptions.RemoveEmptyEntries),
                Picture = StudyPicture.Read(row.GetString(13)),
            });
        }

        return list;
    });

    /// <summary>The whole study; null when there is none of that id.</summary>
    /// <exception cref="InputException">It is damaged, or saved in a form that this version cannot read.</exception>
    public Study? Load(string id)
    {
        ArgumentNullException.ThrowIfNull(id);
        string? body = _file.Do(connection => Body(connection, id, null));
        return body is null ? null : Read(body);
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

    /// <summary>One answer of a listening test is kept.</summary>
    /// <param name="question">What was asked, in the asker's own short word.</param>
    public void KeepAnswer(string study, string question, bool right, DateTimeOffset when) => _file.Do(connection =>
    {
        using SqliteCommand command = connection.CreateCommand();
        command.CommandText = "INSERT INTO ear_answers (study, question, heard_right, answered_utc) VALUES ($study, $question, $right, $when)";
        Bind(command, "$study", study);
        Bind(command, "$question", question);
        Bind(command, "$right", right ? 1 : 0);
        Bind(command, "$when", when.UtcTicks);
        return command.ExecuteNonQuery();
    });

    /// <summary>How the listening tests on a study went: for each question the answers given and how many of them were right.</summary>
    public IReadOnlyDictionary<string, (int Right, int Asked)> Answers(string study) => _file.Do(connection =>
    {
        using SqliteCommand command = connection.CreateCommand();
        command.CommandText = "SELECT question, SUM(heard_right), COUNT(*) FROM ear_answers WHERE study = $study GROUP BY question";
        Bind(command, "$study", study);
        using SqliteDataReader row = command.ExecuteReader();
        var answers = new Dictionary<string, (int, int)>();
        while (row.Read())
            answers.Add(row.GetString(0), (row.GetInt32(1), row.GetInt32(2)));
        return answers;
    });

    /// <summary>A library that was copied elsewhere has its recordings beside it, not where they lay when they were studied.</summary>
    private Study Read(string body)
    {
        Study study = StudyBody.Read(body);
        return study.Source is { } source && new OwnFiles(this).Here(source) is { } here ? study with { Source = here } : study;
    }

    private static string? Body(SqliteConnection connection, string id, SqliteTransaction? transaction)
    {
        using SqliteCommand command = connection.CreateCommand();
        command.Transaction = transaction;
        command.CommandText = "SELECT body FROM studies WHERE id = $id";
        Bind(command, "$id", id);
        return command.ExecuteScalar() as string;
    }

    private static void Bind(SqliteCommand command, string name, object? value) =>
        command.Parameters.AddWithValue(name, value ?? DBNull.Value);

    /// <summary>SQLite stores NaN as NULL anyway; saying so keeps an open figure out of sorting and search.</summary>
    private static double? Finite(double? value) => value is { } number && double.IsFinite(number) ? number : null;

    private static double? Number(SqliteDataReader row, int column) => row.IsDBNull(column) ? null : row.GetDouble(column);
}
