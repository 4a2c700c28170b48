namespace Hindbeat.Bench.Desk;

/// <summary>The rebuilds that the page offers.</summary>
public enum RebuildVersion
{
    AsWritten,
    SwingOnly,
    AsPlayed,
}

/// <summary>Their names in addresses and on the page.</summary>
public static class RebuildVersions
{
    private static readonly (RebuildVersion Version, string Id, string Name)[] Table =
    [
        (RebuildVersion.AsWritten, "as-written", "as written"),
        (RebuildVersion.SwingOnly, "swing-only", "swing only"),
        (RebuildVersion.AsPlayed, "as-played", "as played"),
    ];

    public static IReadOnlyList<RebuildVersion> All { get; } = [.. Table.Select(row => row.Version)];

    public static string Id(this RebuildVersion version) => Table[(int)version].Id;

    public static string Name(this RebuildVersion version) => Table[(int)version].Name;

    public static bool TryParse(string id, out RebuildVersion version)
    {
        int row = Array.FindIndex(Table, row => row.Id == id);
        version = row < 0 ? default : Table[row].Version;
        return row >= 0;
    }
}
