namespace Hindbeat.Sound;

/// <summary>A recording made ready for listening. Disposing it gives back memory and any temporary file.</summary>
public sealed class LoadedSound(MonoSound analysis, SoundInfo info) : IDisposable
{
    /// <summary>Mono at <see cref="MonoSound.AnalysisRate"/>.</summary>
    public MonoSound Analysis { get; } = analysis;

    public SoundInfo Info { get; } = info;

    public void Dispose() => Analysis.Dispose();
}
