namespace Hindbeat.Feel;

/// <summary>
/// What hearing adds to an interval when strokes come from sound: strokes missed, taken for another piece, or timed by what
/// sounds with them. No number of bars averages that out. Half widths become √((factor · half)² + (1.96 · error)²), to
/// each side; applied to lay-backs, places, habits and swings, and the factor to looseness on its logarithm.
/// </summary>
/// <param name="ErrorMs">
/// Standard error that stays in a long passage, milliseconds, at least 0: of a piece against another, and of one kind of
/// place against another of the same piece.
/// </param>
/// <param name="Factor">By how much more a passage's own scatter counts than if every stroke were heard, at least 1.</param>
public sealed record HearingError(double ErrorMs, double Factor)
{
    /// <summary>
    /// The trained listener's, chosen on 60 training takes of the Groove MIDI Dataset, each rendered in two views of a recorded kit, so
    /// that about 94 of 100 intervals hold the truth there (docs/decisions/feel-hearing.md).
    /// </summary>
    public static HearingError Measured { get; } = new(2, 1.5);

    /// <summary>An interval of a difference of times, in seconds.</summary>
    internal static Estimate? Widen(Estimate? interval, HearingError? hearing) =>
        interval is { } estimate && hearing is not null ? Widen(estimate, hearing.Factor, hearing.ErrorMs / 1000) : interval;

    internal static Estimate Widen(Estimate estimate, double factor, double standardError)
    {
        double more = StudentT.Normal975 * standardError;
        double Half(double half) => Math.Sqrt((factor * factor * half * half) + (more * more));
        return new Estimate(estimate.Value, estimate.Value - Half(estimate.Value - estimate.Low), estimate.Value + Half(estimate.High - estimate.Value));
    }
}
