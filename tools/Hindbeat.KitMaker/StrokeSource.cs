using Hindbeat.Performances;
using Hindbeat.Rebuilding;

namespace Hindbeat.KitMaker;

/// <summary>Which recorded files become which piece.</summary>
/// <param name="Layers">The files' layer numbers, soft to loud.</param>
/// <param name="FadeSeconds">How much of the end is faded.</param>
internal sealed record StrokeSource(
    KitPiece Piece, string FileStem, int[] Layers, double FadeSeconds, SampleOrigin Origin, Func<short[], double[]> Derive)
{
    private const double CymbalFade = 0.6;
    private const double TomFade = 0.3;
    private const double ShortFade = 0.06;

    /// <summary>
    /// The right ride has six bell layers and the left one three, so both ride pieces are the right
    /// cymbal's; the left crash is the crash, so that two strokes of a piece are never two cymbals; the
    /// deeper floor tom is the low tom.
    /// </summary>
    public static IReadOnlyList<StrokeSource> All { get; } =
    [
        Recorded(KitPiece.Kick, "kick-kdruml", ShortFade),
        Recorded(KitPiece.Snare, "snare-snare", ShortFade),
        Derived(KitPiece.CrossStick, "snare-snare", 2, ShortFade, Derivation.CrossStick),
        Recorded(KitPiece.HatClosed, "hat-closed-hihatclosed", ShortFade),
        Recorded(KitPiece.HatOpen, "hat-open-hihatopen", TomFade),
        Derived(KitPiece.HatPedal, "hat-closed-hihatclosed", 2, ShortFade, Derivation.PedalHat),
        Recorded(KitPiece.Ride, "ride-rider", CymbalFade),
        Recorded(KitPiece.RideBell, "ride-bell-riderbell", CymbalFade),
        Recorded(KitPiece.Crash, "crash-crashl", CymbalFade),
        Derived(KitPiece.Splash, "crash-crashr", 2, TomFade, Derivation.Splash),
        Recorded(KitPiece.China, "china-china", CymbalFade),
        Recorded(KitPiece.TomHigh, "tom-high-tom1", TomFade),
        Recorded(KitPiece.TomMid, "tom-mid-tom2", TomFade),
        Recorded(KitPiece.TomLow, "tom-low-tom4", TomFade),
    ];

    private static StrokeSource Recorded(KitPiece piece, string stem, double fade) =>
        new(piece, stem, [1, 2, 3, 4, 5, 6], fade, SampleOrigin.Recorded, samples => Array.ConvertAll(samples, sample => (double)sample));

    private static StrokeSource Derived(KitPiece piece, string stem, int softest, double fade, Func<short[], double[]> derive) =>
        new(piece, stem, [.. Enumerable.Range(softest, 7 - softest)], fade, SampleOrigin.Derived, derive);
}
