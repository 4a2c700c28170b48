using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Feel;

/// <summary>What deviations are measured against.</summary>
public enum FeelReference
{
    /// <summary>The hand that keeps time on hats or ride: the default when it is steady.</summary>
    TimekeepingHand,

    /// <summary>The mean of the whole kit.</summary>
    WholeKit,

    /// <summary>The pulse itself, when it is a click.</summary>
    Click,
}

/// <summary>The note value that swings: the pair is two 8ths or two 16ths.</summary>
public enum SwingLevel
{
    Eighth,
    Sixteenth,
}

public enum SwingVerdict
{
    Straight,
    Swung,
    Undecided,
}

/// <summary>A measured value with its 95 % interval (resampled by bar). Low ≤ Value ≤ High is usual but not promised.</summary>
public readonly record struct Estimate(double Value, double Low, double High)
{
    public double HalfWidth => (High - Low) / 2.0;
}

/// <summary>Long : short of a pair. Ratio is dimensionless, 1 = straight, 2 = triplet.</summary>
/// <param name="Pieces">The pieces whose strokes make the pairs.</param>
/// <param name="Pairs">How many off-beat strokes the figure rests on.</param>
public sealed record SwingFigure(
    SwingLevel Level, IReadOnlyList<KitPiece> Pieces, Estimate Ratio, int Pairs, SwingVerdict Verdict, IReadOnlyList<Doubt> Doubts);

/// <summary>Mean deviation of a piece from the reference at places that do not swing; milliseconds, positive = late.</summary>
/// <param name="Milliseconds">The lay-back; when not identified, the sum that is known (see the doubts).</param>
/// <param name="Beats">The same as a share of a beat.</param>
/// <param name="Hits">How many strokes it rests on.</param>
/// <param name="Identified">False when the recording cannot tell lay-back from something else.</param>
public sealed record LayBackFigure(
    KitPiece Piece, Estimate Milliseconds, double Beats, int Hits, bool Identified, IReadOnlyList<Doubt> Doubts);

/// <summary>Random spread (standard deviation) of a piece's timing, milliseconds, after swing, lay-back and tempo are taken out.</summary>
public sealed record LoosenessFigure(KitPiece Piece, Estimate Milliseconds, int Hits, IReadOnlyList<Doubt> Doubts);

/// <summary>Mean loudness of a piece at one place of the bar, dBFS.</summary>
/// <param name="Beat">Beat in the bar, from 1.</param>
/// <param name="Within">Exact fraction of the beat.</param>
public sealed record TouchFigure(KitPiece Piece, int Beat, Fraction Within, Estimate Level, int Hits);

/// <summary>Tempo of the passage and its drift.</summary>
/// <param name="Bpm">Mean tempo.</param>
/// <param name="DriftBpmPerMinute">Slope of a straight line through the tempo.</param>
public sealed record TempoFigure(Bpm Bpm, Estimate DriftBpmPerMinute, IReadOnlyList<(AudioTime Time, Bpm Bpm)> Curve);

/// <summary>Everything measured of a passage's feel.</summary>
/// <param name="ReferenceName">The reference in words: "closed hat".</param>
public sealed record FeelReport(
    FeelReference Reference,
    string ReferenceName,
    IReadOnlyList<SwingFigure> Swing,
    IReadOnlyList<LayBackFigure> LayBack,
    IReadOnlyList<LoosenessFigure> Looseness,
    IReadOnlyList<TouchFigure> Touch,
    TempoFigure Tempo,
    IReadOnlyList<Doubt> Doubts);
