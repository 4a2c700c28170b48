using Hindbeat.Performances;

namespace Hindbeat.Rebuilding;

/// <summary>
/// Where the pieces stand between the loudspeakers, as a right-handed drummer hears them from the
/// stool: hats left, ride and low tom right. The one who studies is a drummer; who listens from the
/// audience swaps the channels. Places are our choice, no source.
/// </summary>
internal static class Stage
{
    /// <summary>−1 = hard left, 0 = middle, +1 = hard right.</summary>
    public static double PlaceOf(KitPiece piece) => piece switch
    {
        KitPiece.Kick => 0,
        KitPiece.Snare or KitPiece.CrossStick => -0.1,
        KitPiece.HatClosed or KitPiece.HatOpen or KitPiece.HatPedal => -0.5,
        KitPiece.Crash => -0.35,
        KitPiece.Splash => -0.15,
        KitPiece.TomHigh => -0.25,
        KitPiece.TomMid => 0.15,
        KitPiece.TomLow => 0.5,
        KitPiece.Ride or KitPiece.RideBell => 0.4,
        KitPiece.China => 0.6,
        _ => 0,
    };

    /// <summary>A stereo stroke stays where it was recorded, a mono one goes to its piece's place.</summary>
    public static (float Left, float Right) GainsOf(KitSample sample, KitPiece piece) =>
        sample.IsStereo ? (1, 1) : sample.Centred ? GainsAt(0) : GainsOf(piece);

    /// <summary>Constant power: left² + right² = 1 wherever the piece stands.</summary>
    public static (float Left, float Right) GainsOf(KitPiece piece) => GainsAt(PlaceOf(piece));

    /// <param name="place">−1 = hard left, +1 = hard right.</param>
    public static (float Left, float Right) GainsAt(double place)
    {
        double angle = (place + 1) * Math.PI / 4;
        return ((float)Math.Cos(angle), (float)Math.Sin(angle));
    }
}
