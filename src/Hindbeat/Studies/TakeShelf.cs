using System.Globalization;
using Hindbeat.Units;
using Microsoft.Data.Sqlite;

namespace Hindbeat.Studies;

/// <summary>The takes of a library's studies, in the same file; a study that goes takes them with it.</summary>
public sealed class TakeShelf
{
    private readonly StudyLibrary _library;

    public TakeShelf(StudyLibrary library)
    {
        ArgumentNullException.ThrowIfNull(library);
        _library = library;
    }

    /// <summary>Keeps a take.</summary>
    /// <returns>The take with its id.</returns>
    /// <exception cref="InputException">There is no such study, or the file cannot be written.</exception>
    public KeptTake Keep(KeptTake take)
    {
        ArgumentNullException.ThrowIfNull(take);
        return _library.File.Do(connection =>
        {
            using SqliteTransaction transaction = connection.BeginTransaction(deferred: false);
            using SqliteCommand count = Command(connection, transaction, "SELECT (SELECT count(*) FROM studies WHERE id = $study), (SELECT coalesce(max(number), 0) FROM takes WHERE study = $study)");
            count.Parameters.AddWithValue("$study", take.StudyId);
            long number;
            using (SqliteDataReader row = count.ExecuteReader())
            {
                row.Read();
                if (row.GetInt64(0) == 0)
                    throw new InputException($"There is no study '{take.StudyId}' in the library to keep the take with.");
                number = row.GetInt64(1) + 1;
            }

            KeptTake kept = take with { Id = string.Create(CultureInfo.InvariantCulture, $"{take.StudyId}/{number}") };
            using SqliteCommand insert = Command(connection, transaction, "INSERT INTO takes (study, number, played_utc, body) VALUES ($study, $number, $played, $body)");
            insert.Parameters.AddWithValue("$study", kept.StudyId);
            insert.Parameters.AddWithValue("$number", number);
            insert.Parameters.AddWithValue("$played", kept.Played.UtcTicks);
            insert.Parameters.AddWithValue("$body", kept.ToJson());
            insert.ExecuteNonQuery();
            transaction.Commit();
            return kept;
        });
    }

    /// <summary>A study's takes, the oldest first.</summary>
    public IReadOnlyList<KeptTake> Of(string studyId)
    {
        List<string> bodies = _library.File.Do(connection =>
        {
            using SqliteCommand command = Command(connection, null, "SELECT body FROM takes WHERE study = $study ORDER BY played_utc, number");
            command.Parameters.AddWithValue("$study", studyId);
            using SqliteDataReader row = command.ExecuteReader();
            var found = new List<string>();
            while (row.Read())
                found.Add(row.GetString(0));
            return found;
        });
        return [.. bodies.Select(KeptTake.FromJson)];
    }

    private static SqliteCommand Command(SqliteConnection connection, SqliteTransaction? transaction, string sql)
    {
        SqliteCommand command = connection.CreateCommand();
        command.Transaction = transaction;
        command.CommandText = sql;
        return command;
    }
}
