using Hindbeat.Performances;

namespace Hindbeat.Accuracy;

/// <summary>A recording with what is truly played in it.</summary>
/// <param name="Sound">Path of the sound file.</param>
/// <param name="Hits">Seconds and piece, ascending.</param>
/// <param name="Beats">Seconds, ascending.</param>
/// <param name="Downbeats">Seconds, ascending.</param>
/// <param name="ExactTimes">False when annotated by hand: then times judge nothing below about 5 ms.</param>
/// <param name="Faint">Strokes, by index, too faint beside others to be heard; see <see cref="TakeRenderer"/>. None in real recordings.</param>
internal sealed record Truth(
    string Name,
    string Sound,
    IReadOnlyList<(double Time, KitPiece Piece, int Velocity)> Hits,
    IReadOnlyList<double> Beats,
    IReadOnlyList<double> Downbeats,
    bool ExactTimes,
    IReadOnlySet<int> Faint)
{
    /// <summary>How each stroke was played, as far as the sound shows it; empty where nothing is known of it.</summary>
    public IReadOnlyList<HitMarks> Marks { get; init; } = [];

    /// <summary>How long each hat rings by itself, as measured on the stroke alone; null for other strokes.</summary>
    public IReadOnlyList<double?> Rings { get; init; } = [];

    /// <summary>Peak of each stroke by itself, decibels against the same zero; empty for real recordings.</summary>
    public IReadOnlyList<double> Levels { get; init; } = [];

    /// <summary>Whether another piece stands in for one that the kit lacks, stroke by stroke; empty for real recordings.</summary>
    public IReadOnlyList<bool> StandIns { get; init; } = [];
}
