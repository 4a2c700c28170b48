namespace Hindbeat.Performances;

/// <summary>Ids, families, limbs and General MIDI keys of the kit pieces.</summary>
public static class KitPieces
{
    private static readonly (KitPiece Piece, string Id, string Name, PieceFamily Family, Limb Limb, int MidiKey)[] Table =
    [
        // Keys: General MIDI Level 1 percussion key map.
        (KitPiece.Kick, "kick", "kick", PieceFamily.Kick, Limb.Foot, 36),
        (KitPiece.Snare, "snare", "snare", PieceFamily.Snare, Limb.Hand, 38),
        (KitPiece.CrossStick, "cross-stick", "cross-stick", PieceFamily.Snare, Limb.Hand, 37),
        (KitPiece.HatClosed, "hat-closed", "closed hat", PieceFamily.Hat, Limb.Hand, 42),
        (KitPiece.HatOpen, "hat-open", "open hat", PieceFamily.Hat, Limb.Hand, 46),
        (KitPiece.HatPedal, "hat-pedal", "pedal hat", PieceFamily.Hat, Limb.Foot, 44),
        (KitPiece.Ride, "ride", "ride", PieceFamily.Cymbal, Limb.Hand, 51),
        (KitPiece.RideBell, "ride-bell", "ride bell", PieceFamily.Cymbal, Limb.Hand, 53),
        (KitPiece.Crash, "crash", "crash", PieceFamily.Cymbal, Limb.Hand, 49),
        (KitPiece.Splash, "splash", "splash", PieceFamily.Cymbal, Limb.Hand, 55),
        (KitPiece.China, "china", "china", PieceFamily.Cymbal, Limb.Hand, 52),
        (KitPiece.TomHigh, "tom-high", "high tom", PieceFamily.Tom, Limb.Hand, 48),
        (KitPiece.TomMid, "tom-mid", "mid tom", PieceFamily.Tom, Limb.Hand, 45),
        (KitPiece.TomLow, "tom-low", "low tom", PieceFamily.Tom, Limb.Hand, 43),
        (KitPiece.Other, "other", "other", PieceFamily.Other, Limb.Hand, 39),
    ];

    public static IReadOnlyList<KitPiece> All { get; } = [.. Table.Select(row => row.Piece)];

    public static string Id(this KitPiece piece) => Table[(int)piece].Id;

    /// <summary>The name a drummer reads, in lower case: "closed hat".</summary>
    public static string Name(this KitPiece piece) => Table[(int)piece].Name;

    public static PieceFamily Family(this KitPiece piece) => Table[(int)piece].Family;

    public static Limb PlayedBy(this KitPiece piece) => Table[(int)piece].Limb;

    /// <summary>General MIDI Level 1 percussion key.</summary>
    public static int GeneralMidiKey(this KitPiece piece) => Table[(int)piece].MidiKey;

    /// <exception cref="FormatException">Not the id of a kit piece.</exception>
    public static KitPiece Parse(string id) =>
        TryParse(id, out KitPiece piece)
            ? piece
            : throw new FormatException($"'{id}' is not a kit piece; the pieces are {string.Join(", ", Table.Select(row => row.Id))}.");

    public static bool TryParse(string? id, out KitPiece piece)
    {
        foreach (var row in Table)
        {
            if (row.Id == id)
            {
                piece = row.Piece;
                return true;
            }
        }

        piece = KitPiece.Other;
        return false;
    }
}
