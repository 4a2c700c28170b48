using Hindbeat.Performances;

namespace Hindbeat.Feel;

/// <summary>
/// Which pieces one limb usually plays as one stream (common practice, no source): open and closed hat
/// are one hand, ride and bell are one, snare and cross-stick are one. A stream shares its swing.
/// </summary>
internal static class Hand
{
    public static KitPiece StreamOf(KitPiece piece) => piece switch
    {
        KitPiece.HatOpen => KitPiece.HatClosed,
        KitPiece.RideBell => KitPiece.Ride,
        KitPiece.CrossStick => KitPiece.Snare,
        KitPiece.TomMid or KitPiece.TomLow => KitPiece.TomHigh,
        KitPiece.Splash or KitPiece.China => KitPiece.Crash,
        _ => piece,
    };

    /// <summary>"hats", "ride": the stream in words; the piece's own name when only one piece of it is played.</summary>
    public static string Name(IReadOnlyList<KitPiece> pieces) => pieces.Count == 1
        ? pieces[0].Name()
        : StreamOf(pieces[0]) switch
        {
            KitPiece.HatClosed => "hats",
            KitPiece.Ride => "ride and bell",
            KitPiece.Snare => "snare and cross-stick",
            KitPiece.TomHigh => "toms",
            KitPiece.Crash => "crashes",
            _ => string.Join(" and ", pieces.Select(piece => piece.Name())),
        };

    /// <summary>Streams that can keep time: the hand on the hats and the hand on the ride.</summary>
    public static bool KeepsTime(KitPiece stream) => stream is KitPiece.HatClosed or KitPiece.Ride;
}
