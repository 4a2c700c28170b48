using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Tests.Pulses;

/// <summary>Invented performances with a known pulse.</summary>
internal static class Grooves
{
    /// <summary>One stroke of a pattern: beats from the bar's start, piece, velocity.</summary>
    public readonly record struct Stroke(double Beat, KitPiece Piece, int Velocity);

    /// <summary>Kick on 1 and 3 (and a push), backbeat on 2 and 4, eighths on the hat.</summary>
    public static Stroke[] Rock { get; } =
    [
        new(0, KitPiece.Kick, 110), new(1, KitPiece.Snare, 112), new(2, KitPiece.Kick, 105), new(2.5, KitPiece.Kick, 95), new(3, KitPiece.Snare, 114),
        .. Enumerable.Range(0, 8).Select(i => new Stroke(i / 2.0, KitPiece.HatClosed, i % 2 == 0 ? 85 : 65)),
    ];

    /// <summary>Sixteenths on the hat, ghost strokes, kick on 1, the "a" of 1 and the "and" of 3.</summary>
    public static Stroke[] Sixteenths { get; } =
    [
        new(0, KitPiece.Kick, 112), new(0.75, KitPiece.Kick, 90), new(1, KitPiece.Snare, 112), new(1.75, KitPiece.Snare, 30), new(2.25, KitPiece.Snare, 28),
        new(2.5, KitPiece.Kick, 100), new(3, KitPiece.Snare, 114),
        .. Enumerable.Range(0, 16).Select(i => new Stroke(i / 4.0, KitPiece.HatClosed, i % 4 == 0 ? 88 : i % 2 == 0 ? 72 : 55)),
    ];

    /// <summary>Plays a bar's pattern: <paramref name="time"/> maps (bar, beat in bar) to seconds.</summary>
    public static List<Hit> Play(IReadOnlyList<Stroke> pattern, int bars, Func<int, Stroke, double> time, bool crashOnOne = true)
    {
        List<Hit> hits = [];
        for (int bar = 0; bar < bars; bar++)
        {
            foreach (Stroke stroke in pattern)
                hits.Add(Of(time(bar, stroke), stroke.Piece, stroke.Velocity));
            if (crashOnOne && bar % 8 == 0)
                hits.Add(Of(time(bar, new Stroke(0, KitPiece.Crash, 110)), KitPiece.Crash, 110));
        }

        return hits;
    }

    public static List<Hit> Steady(IReadOnlyList<Stroke> pattern, int bars, double bpm, double start = 0.5, int beatsPerBar = 4) =>
        Play(pattern, bars, (bar, stroke) => start + (((bar * beatsPerBar) + stroke.Beat) * 60 / bpm));

    public static Hit Of(double seconds, KitPiece piece, int velocity = 100) =>
        new(AudioTime.FromSeconds(seconds), piece, velocity, Level.FromDbfs(-20), 1);
}
