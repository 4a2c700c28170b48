using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Listening;

/// <summary>Hears strokes in a sound.</summary>
public interface IListener
{
    /// <summary>Name stored with a study, so that it is known what heard its hits.</summary>
    string Name { get; }

    /// <param name="sound">Mono at <see cref="MonoSound.AnalysisRate"/>.</param>
    /// <param name="passage">The part to listen to; null = all of it. Times stay those of the recording.</param>
    /// <exception cref="InputException">Silence, no stroke at all, or only one.</exception>
    ListeningResult Listen(MonoSound sound, (AudioTime From, AudioTime To)? passage = null, IProgress<double>? progress = null, CancellationToken cancel = default);
}

/// <summary>What was heard. Hits have no written position yet.</summary>
/// <param name="Hits">Sorted by time.</param>
/// <param name="Strength">The onset strength that the hits were found in, for the pulse.</param>
public sealed record ListeningResult(IReadOnlyList<Hit> Hits, OnsetStrength Strength, IReadOnlyList<Doubt> Doubts);
