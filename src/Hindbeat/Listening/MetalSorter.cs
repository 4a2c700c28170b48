using Hindbeat.Performances;

namespace Hindbeat.Listening;

/// <summary>
/// Closed or open hat, ride, bell or crash: by how the stroke sounds on, and by what the hand keeps time on just there.
/// </summary>
/// <remarks>
/// The limits were read off single strokes of L. Muldjord's kit and rendered takes: above 5 kHz a closed hat has fallen to
/// 0–0.05 of its attack after 105–186 ms, a ride to 0.3–0.4, an open hat to 0.5–0.6, a crash has grown to 0.7–2.5. A ride
/// and a half-open hat overlap; there the strokes around decide, since time is kept on one of them for bars on end.
/// </remarks>
internal sealed class MetalSorter
{
    private const float SustainedLate = 0.11f;
    private const float SustainedBody = 0.5f;
    private const float OpenLate = 0.3f;
    private const float CrashLate = 0.7f;
    private const float CrashBody = 0.45f;
    private const float CrashBodyAlone = 1.2f;

    /// <summary>A snare struck at the same time sounds on in the highs by itself.</summary>
    private const float SnareLate = 0.3f;

    /// <summary>Strokes to either side that say what time is kept on: about two bars of eighths.</summary>
    private const int Reach = 16;

    /// <summary>A crash is no softer than this under the usual stroke on metal, in dB.</summary>
    private const float CrashBelow = 6f;

    /// <summary>A bell is louder than the ride around it by this, in dB, and less bright by this factor.</summary>
    private const float BellAbove = 5f;
    private const float BellBrightness = 0.7f;

    private readonly (MetalSound Sound, bool WithSnare)[] _strokes;

    /// <param name="strokes">All strokes on metal of the passage in order, and whether a snare or tom was struck with each.</param>
    public MetalSorter((MetalSound Sound, bool WithSnare)[] strokes) => _strokes = strokes;

    public KitPiece[] Sort()
    {
        KitPiece[] pieces = new KitPiece[_strokes.Length];
        for (int i = 0; i < pieces.Length; i++)
            pieces[i] = Piece(i);
        return pieces;
    }

    private KitPiece Piece(int i)
    {
        (MetalSound sound, bool withSnare) = _strokes[i];
        (bool onRide, float level, float brightness) = Around(i);
        if (sound.Level >= level - CrashBelow && IsCrash(sound))
            return KitPiece.Crash;
        if (onRide)
            return sound.Level >= level + BellAbove && sound.Brightness <= brightness * BellBrightness && !withSnare ? KitPiece.RideBell : KitPiece.Ride;
        bool open = sound.Late is { } late ? late >= (withSnare ? SnareLate + OpenLate : OpenLate) : sound.Body >= SustainedBody && !withSnare;
        return open ? KitPiece.HatOpen : KitPiece.HatClosed;
    }

    private static bool IsCrash(MetalSound sound) =>
        sound.Late is { } late ? late >= CrashLate && sound.Body >= CrashBody : sound.Body >= CrashBodyAlone;

    private (bool OnRide, float Level, float Brightness) Around(int i)
    {
        List<float> levels = [];
        List<float> brightnesses = [];
        int sustained = 0;
        int judged = 0;
        for (int j = Math.Max(0, i - Reach); j <= Math.Min(_strokes.Length - 1, i + Reach); j++)
        {
            MetalSound sound = _strokes[j].Sound;
            levels.Add(sound.Level);
            brightnesses.Add(sound.Brightness);
            if (_strokes[j].WithSnare || IsCrash(sound) || sound.Body is not { } body)
                continue;
            judged++;
            if (sound.Late is { } late ? late >= SustainedLate : body >= SustainedBody)
                sustained++;
        }

        levels.Sort();
        brightnesses.Sort();
        return (2 * sustained > judged, levels[levels.Count / 2], brightnesses[brightnesses.Count / 2]);
    }
}
