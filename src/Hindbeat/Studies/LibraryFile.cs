using Hindbeat.Units;
using Microsoft.Data.Sqlite;

namespace Hindbeat.Studies;

/// <summary>The SQLite file of a library: opening, its schema, and what goes wrong said in one line.</summary>
internal sealed class LibraryFile
{
    /// <summary>A writer waits this long for another before it gives up; one save takes milliseconds.</summary>
    private const int BusySeconds = 20;

    /// <summary>Each step leads from the version of its index to the next; steps are only ever added.</summary>
    private static readonly string[] Steps =
    [
        """
        CREATE TABLE studies (
            id TEXT PRIMARY KEY NOT NULL,
            name TEXT NOT NULL,
            created TEXT NOT NULL,
            created_utc INTEGER NOT NULL,
            bpm REAL NOT NULL,
            meter TEXT NOT NULL,
            bars INTEGER NOT NULL,
            swing_level TEXT,
            swing_ratio REAL,
            kick_ms REAL,
            snare_ms REAL,
            seconds REAL NOT NULL,
            file TEXT,
            body TEXT NOT NULL
        ) STRICT;
        CREATE INDEX studies_by_age ON studies (created_utc DESC);
        """,
        """
        CREATE TABLE takes (
            study TEXT NOT NULL REFERENCES studies (id) ON DELETE CASCADE,
            number INTEGER NOT NULL,
            played_utc INTEGER NOT NULL,
            body TEXT NOT NULL,
            PRIMARY KEY (study, number)
        ) STRICT;
        """,
        """
        ALTER TABLE studies ADD COLUMN tags TEXT NOT NULL DEFAULT '';
        ALTER TABLE studies ADD COLUMN picture TEXT NOT NULL DEFAULT '';
        CREATE TABLE ear_answers (
            study TEXT NOT NULL,
            question TEXT NOT NULL,
            heard_right INTEGER NOT NULL,
            answered_utc INTEGER NOT NULL
        ) STRICT;
        """,
    ];

    private readonly string _path;
    private readonly string _connection;

    private LibraryFile(string folder)
    {
        Folder = folder;
        _path = Path.Combine(folder, StudyLibrary.FileName);
        // Without the pool no handle stays open, so the folder can be moved or removed between calls.
        _connection = new SqliteConnectionStringBuilder { DataSource = _path, Pooling = false, DefaultTimeout = BusySeconds }.ToString();
    }

    public string Folder { get; }

    public static LibraryFile Open(string folder)
    {
        ArgumentException.ThrowIfNullOrEmpty(folder);
        string full = Path.GetFullPath(folder);
        try
        {
            Directory.CreateDirectory(full);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new InputException($"The library's folder {full} cannot be made: {e.Message}", e);
        }

        var file = new LibraryFile(full);
        file.Do(file.Migrate);
        return file;
    }

    /// <summary>Runs one piece of work on an open connection.</summary>
    public T Do<T>(Func<SqliteConnection, T> work)
    {
        try
        {
            using var connection = new SqliteConnection(_connection);
            connection.Open();
            Execute(connection, $"PRAGMA busy_timeout = {BusySeconds * 1000}; PRAGMA foreign_keys = ON");
            return work(connection);
        }
        catch (SqliteException e)
        {
            throw new InputException(Explain(e), e);
        }
    }

    private bool Migrate(SqliteConnection connection)
    {
        // Readers go on while one writes, and a crash leaves the last whole state.
        Execute(connection, "PRAGMA journal_mode = WAL");
        if (Version(connection) == Steps.Length)
            return true;
        using SqliteTransaction transaction = connection.BeginTransaction(deferred: false);
        // Asked again inside: another program may have done it while this one waited.
        long version = Version(connection, transaction);
        if (version > Steps.Length)
            throw new InputException($"The library {_path} comes from a newer Hindbeat (its form is {version}, this one knows {Steps.Length}); use that, or name another folder with --library.");
        for (long step = version; step < Steps.Length; step++)
            Execute(connection, Steps[step], transaction);
        Execute(connection, $"PRAGMA user_version = {Steps.Length}", transaction);
        transaction.Commit();
        return true;
    }

    private static long Version(SqliteConnection connection, SqliteTransaction? transaction = null)
    {
        using SqliteCommand command = connection.CreateCommand();
        command.Transaction = transaction;
        command.CommandText = "PRAGMA user_version";
        return (long)command.ExecuteScalar()!;
    }

    private static void Execute(SqliteConnection connection, string sql, SqliteTransaction? transaction = null)
    {
        using SqliteCommand command = connection.CreateCommand();
        command.Transaction = transaction;
        command.CommandText = sql;
        command.ExecuteNonQuery();
    }

    /// <summary>SQLite's primary result codes (https://sqlite.org/rescode.html) in words.</summary>
    private string Explain(SqliteException e) => e.SqliteErrorCode switch
    {
        5 or 6 => $"The library {_path} is being written by another program for too long; close it and try again.",
        8 or 23 => $"The library {_path} may not be written; check who owns it, or name another folder with --library.",
        10 => $"The library {_path} cannot be read or written (disk error); check the disk and keep a copy of the file.",
        11 or 26 => $"The library {_path} is damaged or not a library; move it away to start a new one, and keep it: studies may be recovered from it.",
        13 => $"The disk with the library {_path} is full.",
        14 => $"The library {_path} cannot be opened; is its folder yours to write, or is something else of that name there?",
        _ => $"The library {_path} cannot be used: {e.Message.ReplaceLineEndings(" ")}",
    };
}
