using System.Globalization;
using System.Security.Cryptography;
using System.Text;

namespace Hindbeat.Studies;

/// <summary>
/// Ids of studies: the name in plain letters and a few signs that tell it from others of that name, like
/// "blue-room-take-3-k7q2m9xd". They name files and stand in addresses, so they hold only a–z, 0–9 and hyphens.
/// </summary>
public static class StudyIds
{
    private const int LongestName = 40;
    private const int Signs = 8;

    /// <summary>No letters that are taken for each other or that spell words.</summary>
    private const string Alphabet = "23456789bcdfghjkmnpqrstvwxz";

    /// <summary>
    /// The id that a new study gets. It follows from what the study is (name, moment, file, passage), not from
    /// chance: saving the same study twice gives one study.
    /// </summary>
    public static string For(Study study)
    {
        ArgumentNullException.ThrowIfNull(study);
        string facts = string.Create(CultureInfo.InvariantCulture,
            $"{study.Name}\n{study.Created.UtcTicks}\n{study.Source}\n{study.Recording?.Sha256}\n{study.From.TotalSeconds:R}\n{study.To.TotalSeconds:R}");
        return Of(study.Name, facts);
    }

    /// <summary>The id of a file's study within a folder: the same file at the same place always has the same.</summary>
    /// <param name="file">Its path within the folder.</param>
    /// <param name="sha256">Of its bytes.</param>
    public static string ForFile(string file, string sha256) => Of(Path.GetFileNameWithoutExtension(file), $"{file}\n{sha256}");

    private static string Of(string name, string facts)
    {
        byte[] hash = SHA256.HashData(Encoding.UTF8.GetBytes(facts));
        ulong number = BitConverter.ToUInt64(hash);
        var id = new StringBuilder(Plain(name));
        if (id.Length > 0)
            id.Append('-');
        for (int i = 0; i < Signs; i++)
        {
            id.Append(Alphabet[(int)(number % (ulong)Alphabet.Length)]);
            number /= (ulong)Alphabet.Length;
        }

        return id.ToString();
    }

    /// <summary>True for what may name a study: 1 to 80 of a–z, 0–9 and hyphens.</summary>
    public static bool IsValid(string? id) =>
        id is { Length: > 0 and <= 80 } && id.All(c => char.IsAsciiLetterLower(c) || char.IsAsciiDigit(c) || c == '-');

    /// <summary>Plain letters and digits; other letters fall away, everything else becomes single hyphens.</summary>
    private static string Plain(string name)
    {
        var plain = new StringBuilder();
        foreach (char c in name)
        {
            if (plain.Length >= LongestName)
                break;
            if (char.IsAsciiLetterOrDigit(c))
                plain.Append(char.ToLowerInvariant(c));
            else if (!char.IsLetter(c) && plain.Length > 0 && plain[^1] != '-')
                plain.Append('-');
        }

        return plain.ToString().Trim('-');
    }
}
