using Hindbeat.Performances;

namespace Hindbeat.Listening;

/// <summary>The bands in which a family's strokes are timed and measured, hertz.</summary>
/// <param name="Bands">Three bands where the piece speaks: what a sample's log likelihood counts when the split of two variances is sought
/// (far under 1, because neighbours in a narrow band say nearly the same; a third of these weights and ten times them were worse on four
/// training kits), and what it counts when shapes are compared (the samples that a band's width leaves independent).</param>
/// <param name="Onset">Where the recording's averaged stroke shows its first moment.</param>
/// <param name="Levels">One to three bands of <see cref="StrokePowers"/> that show its loudness, heard for how long, and what each counts: what ranked the strokes of six training kits best.</param>
/// <param name="NetworkSays">What the network's velocity counts beside the level, before company is parted; what ranked the strokes of the same kits best.</param>
internal sealed record StrokeBands(
    (double Low, double High, double SplitWeight, double ShapeWeight)[] Bands, (double Low, double High) Onset, (int Band, LevelSpan Span, double Weight)[] Levels, double NetworkSays)
{
    /// <summary>The corner of the metal's highest band; lower where the recording has nothing there.</summary>
    public const double MetalHertz = 10000;

    private static readonly StrokeBands Kick = new([(30, 300, 0.003, 0.006), (300, 1500, 0.01, 0.025), (1500, 8000, 0.01, 0.15)], (30, 1500), [(0, LevelSpan.Long, 1), (1, LevelSpan.Long, 1)], 0.25);
    private static readonly StrokeBands Snare = new([(150, 800, 0.003, 0.015), (800, 2500, 0.01, 0.04), (2500, 8000, 0.01, 0.125)], (100, 8000), [(5, LevelSpan.Middle, 1), (4, LevelSpan.Middle, 1), (3, LevelSpan.Middle, 0.5)], 0.2);
    private static readonly StrokeBands Hat = new([(MetalHertz, 20000, 0.3, 0.2), (5000, 10000, 0.01, 0.1), (2500, 5000, 0.003, 0.05)], (2500, 20000), [(9, LevelSpan.Middle, 1), (10, LevelSpan.Middle, 1)], 0.1);
    private static readonly StrokeBands Cymbal = Hat with { Levels = [(9, LevelSpan.Short, 1), (10, LevelSpan.Short, 1)], NetworkSays = 0.5 };
    private static readonly StrokeBands Tom = new([(60, 400, 0.003, 0.0075), (400, 1500, 0.01, 0.025), (1500, 8000, 0.01, 0.15)], (40, 1500), [(11, LevelSpan.Short, 1), (3, LevelSpan.Middle, 1)], 0.4);

    public static StrokeBands Of(PieceFamily family) => family switch
    {
        PieceFamily.Kick => Kick,
        PieceFamily.Snare => Snare,
        PieceFamily.Tom => Tom,
        PieceFamily.Cymbal => Cymbal,
        _ => Hat,
    };

    /// <summary>Shapes are first laid on strokes by these bands, every so many samples: those whose waves are long against that step.</summary>
    public (int First, int End, int Step) Coarse => Bands[0].Low < MetalHertz ? (0, 2, 4) : (2, 3, 2);

    /// <summary>The three bands and the onset's as filters that run side by side.</summary>
    /// <param name="metalHertz">From where up strokes on metal are timed.</param>
    public BandBank Filters(double metalHertz) => new([.. Bands.Select(band => (band.Low == MetalHertz ? metalHertz : band.Low, band.High)), Onset]);
}
