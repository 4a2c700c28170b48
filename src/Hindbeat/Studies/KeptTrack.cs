using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Pulses;

namespace Hindbeat.Studies;

/// <summary>
/// The strokes of another track that a study's feel is measured against, kept so that they can be placed again when the
/// pulse is corrected.
/// </summary>
/// <param name="Name">In words, as it stands after "the": "bass", "first take".</param>
/// <param name="Hits">On the clock of the study's recording; places do not matter.</param>
public sealed record KeptTrack(string Name, IReadOnlyList<Hit> Hits)
{
    /// <summary>The track as a reference on a study's pulse.</summary>
    internal SecondTrack PlacedOn(Pulse pulse) => new(PulseFinder.PlaceOn(pulse, Hits).Performance, Name);
}
