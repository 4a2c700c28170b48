using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>Strokes of one voice at one place of a bar, before the writing is chosen.</summary>
/// <param name="At">Share of a whole note from the start of the bar.</param>
internal sealed record PlacedStroke(Fraction At, IReadOnlyList<ChartNote> Notes);
