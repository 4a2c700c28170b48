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

    /// <summary>The snare at the places that do not swing: backbeats, when it plays a backbeat.</summary>
    Snare,

    /// <summary>Another player or take on the same pulse, at the places that do not swing.</summary>
    SecondTrack,
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
    SwingLevel Level, IReadOnlyList<KitPiece> Pieces, Estimate Ratio, int Pairs, SwingVerdict Verdict, IReadOnlyList<Doubt> Doubts)
{
    /// <summary>The long note's share of the pair, percent: 100 · R / (1 + R). 50 = straight.</summary>
    public Estimate SharePercent { get; init; }

    /// <summary>How late the second of the pair lies after its even place, milliseconds.</summary>
    public Estimate DelayMs { get; init; }

    /// <summary>The mildest ratio that a passage like this would show as swung four times in five.</summary>
    public double SmallestRatioShown { get; init; }

    /// <summary>
    /// The ratio as the sound's onset strength alone tells it, no stroke picked out; null without sound, or when it
    /// cannot tell (<see cref="SwingFromStrength"/>).
    /// </summary>
    public double? RatioFromSound { get; init; }

    /// <summary>Highest over lowest ratio of an interval that still tells a player how to swing: 1.62 may be 1.32 to 1.98.</summary>
    public const double WidestToWrite = 1.5;

    /// <summary>Whether the interval is narrow enough to tell a player how to swing.</summary>
    public bool IsNarrow => Ratio.High <= WidestToWrite * Ratio.Low;

    /// <summary>
    /// Whether the swing deserves a line on a chart: found for sure, told finely enough to be of use, and the low end of its
    /// delay no smaller than what listeners could tell in the easiest published case, one displaced tone in an even sequence
    /// (<see cref="Audibility.DisplacedToneMs"/>; pairs outside the range of that study by its nearer end). The verdict
    /// stays what statistics say; this says what to make of it.
    /// </summary>
    public bool WorthWriting => Verdict == SwingVerdict.Swung && IsNarrow && !BelowEveryThreshold;

    private bool BelowEveryThreshold
    {
        get
        {
            // Half a pair from R = (m + d) ÷ (m − d); a figure without its delay (from elsewhere) is judged by its ratio alone.
            if (DelayMs.Value <= 0 || Ratio.Value <= 1)
                return false;
            double half = DelayMs.Value * (Ratio.Value + 1) / (Ratio.Value - 1);
            return DelayMs.Low < Audibility.DisplacedToneMs(Math.Clamp(half, 100, 1000));
        }
    }
}

/// <summary>Mean deviation of a piece from the reference at places that do not swing; milliseconds, positive = late.</summary>
/// <param name="Milliseconds">The lay-back; when not identified, the sum that is known (see the doubts).</param>
/// <param name="Beats">The same as a share of a beat.</param>
/// <param name="Hits">How many strokes it rests on.</param>
/// <param name="Identified">False when the recording cannot tell lay-back from something else.</param>
public sealed record LayBackFigure(
    KitPiece Piece, Estimate Milliseconds, double Beats, int Hits, bool Identified, IReadOnlyList<Doubt> Doubts);

/// <summary>
/// A piece at one place of the bar: how far from the reference, and how much of that is a habit of this
/// place beyond the piece's lay-back and swing. Milliseconds, positive = late.
/// </summary>
/// <param name="Beat">Beat in the bar, from 1.</param>
/// <param name="Within">Exact fraction of the beat, as written.</param>
/// <param name="Milliseconds">Mean deviation from the reference; at places that swing it holds the swing too.</param>
/// <param name="Beats">The same as a share of a beat.</param>
/// <param name="Habit">Mean deviation from what the piece's lay-back and swing foretell there; zero when not known.</param>
/// <param name="Swings">True when this place swings or may swing in this passage.</param>
public sealed record PlaceFigure(
    KitPiece Piece, int Beat, Fraction Within, Estimate Milliseconds, double Beats, Estimate Habit, int Hits, bool Swings)
{
    /// <summary>False when the piece plays at no other place of this kind, so that a habit is not told from lay-back or swing.</summary>
    public bool HabitKnown { get; init; } = true;
}

/// <summary>Random spread (standard deviation) of a piece's timing, milliseconds, after swing, lay-back, habits and tempo are taken out.</summary>
public sealed record LoosenessFigure(KitPiece Piece, Estimate Milliseconds, int Hits, IReadOnlyList<Doubt> Doubts)
{
    /// <summary>
    /// How much of the piece's timing variance is a repeated habit of its places, 0 to 1; null when the
    /// places are struck too seldom to tell.
    /// </summary>
    public double? HabitShare { get; init; }
}

/// <summary>Mean loudness of a piece at one place of the bar, dBFS.</summary>
/// <param name="Beat">Beat in the bar, from 1.</param>
/// <param name="Within">Exact fraction of the beat.</param>
public sealed record TouchFigure(KitPiece Piece, int Beat, Fraction Within, Estimate Level, int Hits)
{
    /// <summary>Level there − mean level of all the piece's strokes, dB; null when the piece plays nowhere else.</summary>
    public Estimate? Accent { get; init; }

    public IReadOnlyList<Doubt> Doubts { get; init; } = [];
}

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
    IReadOnlyList<Doubt> Doubts)
{
    /// <summary>Every piece at every place of the bar that is struck often enough: lay-back on 2 apart from 4, habits.</summary>
    public IReadOnlyList<PlaceFigure> Places { get; init; } = [];

    /// <summary>Limbs at the places that they share: foot against hand, hat against snare.</summary>
    public IReadOnlyList<TogetherFigure> Together { get; init; } = [];

    public IReadOnlyList<FlamFigure> Flams { get; init; } = [];

    /// <summary>Time from stroke to stroke of each steady hand, and how one stroke's error carries over to the next.</summary>
    public IReadOnlyList<MemoryFigure> Memory { get; init; } = [];

    /// <summary>Only for hands that play on evenly for 512 strokes and more.</summary>
    public IReadOnlyList<LongRangeFigure> LongRange { get; init; } = [];

    public IReadOnlyList<OpennessFigure> Openness { get; init; } = [];

    public IReadOnlyList<LoudAndLateFigure> LoudAndLate { get; init; } = [];

    public IReadOnlyList<GhostFigure> Ghosts { get; init; } = [];

    /// <summary>The swing of each level window by window; empty when the passage is shorter than two windows.</summary>
    public IReadOnlyList<SwingWindow> SwingOverTime { get; init; } = [];

    /// <summary>How the swing changes with the tempo; only for levels played at tempi far enough apart.</summary>
    public IReadOnlyList<SwingAgainstTempo> SwingAgainstTempo { get; init; } = [];

    /// <summary>The options that made this report.</summary>
    public FeelOptions Options { get; init; } = new();
}
