using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Takes;

/// <summary>One stroke of the passage that is copied.</summary>
/// <param name="Place">Where it is written, beats from the start of the loop; negative in a pickup.</param>
/// <param name="Sounding">Where it sounded, beats from the start of the loop: written place and deviation.</param>
internal readonly record struct ReferenceStroke(Hit Hit, double Place, double Sounding, PieceFamily Family);

/// <summary>
/// The passage that a take copies, as a loop of whole bars that may be played many times; a pickup is played once,
/// before the first time.
/// </summary>
internal sealed class ReferenceBars
{
    public ReferenceBars(Performance performance)
    {
        Performance = performance;
        Hit[] placed = [.. performance.Hits.Where(hit => hit.Position is not null)];
        if (placed.Length < 2)
            throw new InputException("The passage has no written strokes that a take could be held against.");
        int perBar = performance.Meter.BeatsPerBar;
        LastBar = placed.Max(hit => hit.Position!.Value.Bar);
        FirstBar = Math.Min(LastBar, Math.Max(1, placed.Min(hit => hit.Position!.Value.Bar)));
        Beats = (LastBar - FirstBar + 1) * perBar;
        Pulse pulse = performance.Pulse;
        double loopStart = pulse.BeatsFromFirst(new BarPosition(FirstBar, 1, Fraction.Zero)).ToDouble();
        Strokes = [.. placed.Select(hit => new ReferenceStroke(
            hit, pulse.BeatsFromFirst(hit.Position!.Value).ToDouble() - loopStart, pulse.BeatsAt(hit.Time) - loopStart, hit.Piece.Family())).OrderBy(stroke => stroke.Sounding)];
    }

    public Performance Performance { get; }
    public int FirstBar { get; }
    public int LastBar { get; }

    /// <summary>Length of the loop.</summary>
    public int Beats { get; }

    public Meter Meter => Performance.Meter;

    /// <summary>In the order in which they sound.</summary>
    public IReadOnlyList<ReferenceStroke> Strokes { get; }

    /// <summary>A stroke in one round of the loop.</summary>
    public Instance InRound(int stroke, int round) =>
        new(stroke, round, Strokes[stroke].Sounding + ((double)round * Beats), Strokes[stroke].Place + ((double)round * Beats));

    /// <summary>The written place in a take that goes round the loop: bars are numbered on, from the loop's first.</summary>
    public BarPosition PositionIn(int round, BarPosition position) =>
        new(position.Bar + (round * (LastBar - FirstBar + 1)), position.Beat, position.Within);
}
