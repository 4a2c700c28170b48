using Hindbeat.Performances;

namespace Hindbeat.Feel;

/// <summary>Another player or take that lateness is measured against.</summary>
/// <param name="Performance">Its strokes, placed on the same pulse as the passage (same bar numbers).</param>
/// <param name="Name">In words, as it stands after "the": "bass", "first take".</param>
public sealed record SecondTrack(Performance Performance, string Name);
