using System.Text.RegularExpressions;
using Hindbeat.Units;

namespace Hindbeat.Studies;

/// <summary>
/// The recordings and the sound of takes that a library keeps in its own folder. Each bears a name of twenty hexadecimal digits, drawn at
/// random; by that name studies and takes are asked whether they need it, so a library that was copied or moved needs the same files.
/// </summary>
public sealed partial class OwnFiles
{
    /// <summary>Bytes of chance in a name; of a million files no two share ten.</summary>
    public const int NameBytes = 10;

    private readonly StudyLibrary _library;

    public OwnFiles(StudyLibrary library)
    {
        ArgumentNullException.ThrowIfNull(library);
        _library = library;
        Recordings = Path.Combine(library.Folder, "recordings");
        Takes = Path.Combine(library.Folder, "takes");
    }

    /// <summary>The folder of recordings that were added; it may not be there yet.</summary>
    public string Recordings { get; }

    /// <summary>The folder of takes' sound; it may not be there yet.</summary>
    public string Takes { get; }

    /// <summary>A path for a new file; its folder is there afterwards.</summary>
    /// <param name="folder"><see cref="Recordings"/> or <see cref="Takes"/>.</param>
    /// <param name="chance"><see cref="NameBytes"/> random bytes.</param>
    public static string NewPath(string folder, ReadOnlySpan<byte> chance)
    {
        if (chance.Length != NameBytes)
            throw new ArgumentException($"A name is made of {NameBytes} bytes, not {chance.Length}.", nameof(chance));
        Directory.CreateDirectory(folder);
        return Path.Combine(folder, Convert.ToHexStringLower(chance));
    }

    /// <summary>Where a recording of the library's own lies now, when it is no longer where it lay; null when it has not moved or is not the library's own.</summary>
    /// <param name="recorded">Where it lay when it was studied.</param>
    public string? Here(string recorded)
    {
        ArgumentNullException.ThrowIfNull(recorded);
        string here = Path.Combine(Recordings, LastPartOf(recorded));
        return NameOnly().IsMatch(NameOf(here)) && !File.Exists(recorded) && File.Exists(here) ? here : null;
    }

    /// <summary>Removes the files that no study and no take in the library names. What does not bear such a name is not the library's own and stays.</summary>
    /// <param name="among">Only these, by their names; null = whatever lies there.</param>
    /// <returns>How many are gone.</returns>
    /// <exception cref="InputException">The library cannot be read; nothing is removed.</exception>
    public int RemoveUnused(IEnumerable<string>? among = null)
    {
        IEnumerable<string> found = new[] { Recordings, Takes }.Where(Directory.Exists).SelectMany(Directory.EnumerateFiles).Where(path => NameOnly().IsMatch(NameOf(path)));
        if (among is not null)
            found = found.IntersectBy(among.Select(NameOf), NameOf);
        string[] files = [.. found];
        if (files.Length == 0)
            return 0;
        HashSet<string> named = NamesInTheLibrary();
        int removed = 0;
        foreach (string file in files.Where(file => !named.Contains(NameOf(file))))
        {
            try
            {
                File.Delete(file);
                removed++;
            }
            catch (Exception reason) when (reason is IOException or UnauthorizedAccessException)
            {
                // Another program has it open; it goes the next time.
            }
        }

        return removed;
    }

    /// <summary>
    /// Every such name anywhere in what is stored. The text is searched, not read: a study that is damaged, or of a newer version, keeps
    /// its recording.
    /// </summary>
    private HashSet<string> NamesInTheLibrary() => _library.File.Do(connection =>
    {
        using var command = connection.CreateCommand();
        command.CommandText = "SELECT body FROM studies UNION ALL SELECT body FROM takes";
        using var row = command.ExecuteReader();
        var names = new HashSet<string>(StringComparer.Ordinal);
        while (row.Read())
        {
            string body = row.GetString(0);
            foreach (ValueMatch match in Name().EnumerateMatches(body))
                names.Add(body.Substring(match.Index, match.Length));
        }

        return names;
    });

    /// <summary>Up to the first dot: a half-written file bears its end behind the name.</summary>
    private static string NameOf(string path) => Path.GetFileName(path).Split('.')[0];

    /// <summary>The library may have come from a system that parts folders by the other stroke.</summary>
    private static string LastPartOf(string path) => path[(path.LastIndexOfAny(['/', '\\']) + 1)..];

    [GeneratedRegex("(?<![0-9a-f])[0-9a-f]{20}(?![0-9a-f])")]
    private static partial Regex Name();

    [GeneratedRegex("^[0-9a-f]{20}$")]
    private static partial Regex NameOnly();
}
