using System.Globalization;
using System.Numerics.Tensors;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Takes;

/// <summary>Pads of one kit differ: what one piece does against another holds that difference.</summary>
/// <param name="Spread">The slowest pad's delay less the quickest one's.</param>
public sealed record PadsDiffer(Seconds Spread, string Slowest, string Quickest) : Doubt
{
    public override string Text => string.Create(CultureInfo.InvariantCulture,
        $"The kit tells of its {Slowest} {Spread.Milliseconds:0.0} ms later than of its {Quickest}; figures of one piece against another hold that difference.");
}

/// <summary>The kit does not tell of every stroke equally late.</summary>
public sealed record KitDelayWanders(Seconds Spread) : Doubt
{
    public override string Text => string.Create(CultureInfo.InvariantCulture,
        $"The kit's delay differs by {Spread.Milliseconds:0.0} ms from stroke to stroke; looseness below that is the kit's, not the drummer's.");
}

/// <summary>
/// How much later an electronic kit tells of a stroke than it was struck: a pad is struck with a microphone beside it, and each stroke's
/// sound is held against the kit's own note.
/// </summary>
/// <remarks>
/// A stroke's moment is where its sound first reaches a twentieth of its peak, looked for shortly before the note. Sound takes 0.3 ms for
/// ten centimetres from pad to microphone; that is in the result. Usual delays are some 3 to 15 ms (from memory, no source).
/// </remarks>
public static class KitDelay
{
    /// <summary>Strokes that are asked for.</summary>
    public const int Strokes = 16;

    /// <summary>Fewer heard strokes say too little.</summary>
    public const int FewestStrokes = 8;

    /// <summary>A pad with fewer strokes is not told apart from the others.</summary>
    private const int FewestOfAPad = 4;

    /// <summary>A kit takes no longer to tell; and the microphone's own delay is known only so well. Seconds.</summary>
    private const double Longest = 0.08, After = 0.01;

    private const double ShareOfPeak = 0.05;

    /// <summary>A stroke stands this far above what was there before it.</summary>
    private const double AboveNoise = 8;

    private const double SteadyMs = 2;

    /// <summary>Pads nearer than this are alike to the ear and to every figure.</summary>
    private const double AlikeMs = 1;

    /// <param name="recording">What the microphone took in, from the moment that the notes are counted from.</param>
    /// <param name="notes">When the kit told of each stroke, and of which piece.</param>
    /// <param name="microphone">The recording delay of the microphone's own way (<see cref="CalibrationClicks"/>).</param>
    /// <returns>Positive: notes come later than the strokes. Its uncertainty holds the microphone's.</returns>
    /// <exception cref="InputException">Too few strokes were heard.</exception>
    public static Latency Measure(ReadOnlySpan<float> recording, int sampleRate, IReadOnlyList<(AudioTime Told, KitPiece Piece)> notes, Latency microphone)
    {
        ArgumentNullException.ThrowIfNull(notes);
        ArgumentNullException.ThrowIfNull(microphone);
        CalibrationClicks.CheckRate(sampleRate);
        var delays = new List<(double Delay, KitPiece Piece)>();
        foreach ((AudioTime told, KitPiece piece) in notes)
        {
            if (StruckAt(recording, sampleRate, told.TotalSeconds + microphone.Delay.Value) is { } struck)
                delays.Add((told.TotalSeconds + microphone.Delay.Value - struck, piece));
        }

        if (delays.Count < FewestStrokes)
            throw new InputException($"Only {delays.Count} of {notes.Count} strokes were heard by the microphone; at least {FewestStrokes} are needed. Hold it a hand's width from the pad, strike firmly, half a second apart, and turn the kit's own sound off.");
        DelaySpread all = DelaySpread.Of([.. delays.Select(one => one.Delay)]);
        var doubts = new List<Doubt>();
        var byPad = delays.GroupBy(one => one.Piece).Where(pad => pad.Count() >= FewestOfAPad).Select(pad => (Piece: pad.Key, Spread: DelaySpread.Of([.. pad.Select(one => one.Delay)]))).OrderBy(pad => pad.Spread.Mean).ToArray();
        if (byPad.Length > 1)
        {
            (var quickest, var slowest) = (byPad[0], byPad[^1]);
            double apart = slowest.Spread.Mean - quickest.Spread.Mean;
            if (apart * 1000 > AlikeMs && apart > slowest.Spread.HalfWidth + quickest.Spread.HalfWidth)
                doubts.Add(new PadsDiffer(Seconds.Of(apart), slowest.Piece.Name(), quickest.Piece.Name()));
        }

        if (all.Deviation * 1000 > SteadyMs && doubts.Count == 0)
            doubts.Add(new KitDelayWanders(Seconds.Of(all.Deviation)));
        double half = Math.Sqrt((all.HalfWidth * all.HalfWidth) + (microphone.Uncertainty.Value * microphone.Uncertainty.Value));
        return new Latency(Seconds.Of(all.Mean), Seconds.Of(half), Seconds.Of(all.Deviation), all.Kept, doubts) { OfKit = true };
    }

    /// <summary>When the stroke sounded that was told of at a moment of the recording; null when none stands out.</summary>
    private static double? StruckAt(ReadOnlySpan<float> recording, int rate, double told)
    {
        int from = (int)((told - Longest) * rate), to = Math.Min(recording.Length, (int)((told + After) * rate)), before = from - (int)(Longest * rate);
        if (before < 0 || to <= from)
            return null;
        float peak = TensorPrimitives.MaxMagnitude(recording[from..to]);
        float noise = Math.Abs(TensorPrimitives.MaxMagnitude(recording[before..from]));
        float least = Math.Max((float)ShareOfPeak * Math.Abs(peak), 1.5f * noise);
        if (Math.Abs(peak) < AboveNoise * noise || peak == 0)
            return null;
        for (int at = from; at < to; at++)
        {
            if (Math.Abs(recording[at]) >= least)
                return (double)at / rate;
        }

        return null;
    }
}
