namespace Hindbeat.Rebuilding;

/// <summary>
/// The kit that is always there: a real rock kit recorded by L. Muldjord (CC BY 4.0), six loudness
/// layers a piece, made into one embedded file by tools/Hindbeat.KitMaker. See
/// docs/decisions/rebuild-house-kit.md for what is recorded and what is derived.
/// </summary>
public static class HouseKit
{
    private const string Resource = "Hindbeat.Rebuilding.HouseKit.bin";

    private static readonly Lazy<Kit> Loaded = new(Read);

    /// <summary>Unpacked once a process, then shared.</summary>
    public static Kit Load() => Loaded.Value;

    private static Kit Read()
    {
        using Stream stream = typeof(HouseKit).Assembly.GetManifestResourceStream(Resource)
            ?? throw new InvalidOperationException($"The engine was built without its kit ({Resource}).");
        return KitArchive.Read(stream);
    }
}
