using Hindbeat.Rebuilding;

namespace Hindbeat.Bench.Desk;

/// <summary>The rebuilds that the page offers.</summary>
public enum RebuildVersion
{
    AsWritten,
    SwingOnly,
    AsPlayed,
}

/// <summary>Their names in addresses and on the page, and the dials behind them.</summary>
public static class RebuildVersions
{
    private static readonly (RebuildVersion Version, string Id, string Name, Dials Dials)[] Table =
    [
        (RebuildVersion.AsWritten, "as-written", "as written", Rebuilding.Dials.AsWritten),
        (RebuildVersion.SwingOnly, "swing-only", "swing only", Rebuilding.Dials.SwingOnly),
        (RebuildVersion.AsPlayed, "as-played", "as played", Rebuilding.Dials.AsPlayed),
    ];

    public static IReadOnlyList<RebuildVersion> All { get; } = [.. Table.Select(row => row.Version)];

    public static string Id(this RebuildVersion version) => Table[(int)version].Id;

    public static string Name(this RebuildVersion version) => Table[(int)version].Name;

    public static Dials Dials(this RebuildVersion version) => Table[(int)version].Dials;

    public static bool TryParse(string id, out RebuildVersion version)
    {
        int row = Array.FindIndex(Table, row => row.Id == id);
        version = row < 0 ? default : Table[row].Version;
        return row >= 0;
    }
}
