using Hindbeat.Performances;

namespace Hindbeat.Bench.Wording;

/// <summary>From the top of the page to its foot: cymbals above drums above feet, as on the staff (common practice, no source).</summary>
internal static class PieceOrder
{
    private static readonly KitPiece[] TopToBottom =
    [
        KitPiece.Splash, KitPiece.China, KitPiece.Crash, KitPiece.RideBell, KitPiece.Ride, KitPiece.HatOpen, KitPiece.HatClosed,
        KitPiece.TomHigh, KitPiece.TomMid, KitPiece.CrossStick, KitPiece.Snare, KitPiece.TomLow, KitPiece.Kick, KitPiece.HatPedal, KitPiece.Other,
    ];

    /// <summary>The pieces that were struck, each once.</summary>
    public static IReadOnlyList<KitPiece> Of(IEnumerable<Hit> hits) => Of(hits.Select(hit => hit.Piece));

    /// <summary>Each once, in order.</summary>
    public static IReadOnlyList<KitPiece> Of(IEnumerable<KitPiece> pieces)
    {
        HashSet<KitPiece> struck = [.. pieces];
        return [.. TopToBottom.Where(struck.Contains)];
    }
}
