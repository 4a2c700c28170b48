using Hindbeat.Performances;

namespace Hindbeat.Listening;

/// <summary>The bands in which a family's strokes are timed and measured, hertz.</summary>
/// <param name="Bands">Three bands where the piece speaks: what a sample's log likelihood counts when the split of two variances is sought
/// (far under 1, because neighbours in a narrow band say nearly the same; a third of these weights and ten times them were worse on four
/// training kits), and what it counts when shapes are compared (the samples that a band's width leaves independent).</param>
/// <param name="Onset">Where the recording's averaged stroke shows its first moment.</param>
/// <param name="Levels">One to four bands that show its loudness, heard for how long, and what each counts: what ranked the strokes of six training kits best.</param>
/// <param name="NetworkSays">What the network's velocity counts beside the level; what ranked the strokes of the same kits best.</param>
internal sealed record StrokeBands(
    (double Low, double High, double SplitWeight, double ShapeWeight)[] Bands, (double Low, double High) Onset, (double Low, double High, double Seconds, double Weight)[] Levels, double NetworkSays)
{
    /// <summary>The corner of the metal's highest band; lower where the recording has nothing there.</summary>
    public const double MetalHertz = 10000;

    private static readonly StrokeBands Kick = new([(30, 300, 0.003, 0.006), (300, 1500, 0.01, 0.025), (1500, 8000, 0.01, 0.15)], (30, 1500), [(30, 60, 0.030, 1), (60, 120, 0.030, 1)], 0.25);
    private static readonly StrokeBands Snare = new([(150, 800, 0.003, 0.015), (800, 2500, 0.01, 0.04), (2500, 8000, 0.01, 0.125)], (100, 8000), [(800, 2500, 0.016, 1), (500, 1000, 0.016, 1), (250, 500, 0.016, 0.5)], 0.2);
    private static readonly StrokeBands Hat = new([(MetalHertz, 20000, 0.3, 0.2), (5000, 10000, 0.01, 0.1), (2500, 5000, 0.003, 0.05)], (2500, 20000), [(MetalHertz, 20000, 0.016, 1), (1.4 * MetalHertz, 20000, 0.016, 1)], 0.1);
    private static readonly StrokeBands Cymbal = Hat with { Levels = [(MetalHertz, 20000, 0.008, 1)], NetworkSays = 0.5 };
    private static readonly StrokeBands Tom = new([(60, 400, 0.003, 0.0075), (400, 1500, 0.01, 0.025), (1500, 8000, 0.01, 0.15)], (40, 1500), [(1500, 8000, 0.008, 1), (250, 500, 0.016, 1)], 0.4);

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

    /// <summary>The bands of its loudness, the first once more where there are fewer than a bank has; metal's are moved down with its corner.</summary>
    public BandBank LevelFilters(double metalHertz) => new([.. Enumerable.Range(0, BandBank.Count).Select(i =>
    {
        (double low, double high, _, _) = Levels[i < Levels.Length ? i : 0];
        return (low >= MetalHertz ? low * metalHertz / MetalHertz : low, high);
    })]);
}
