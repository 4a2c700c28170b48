using Hindbeat.Performances;

namespace Hindbeat.Sound;

/// <summary>What is known of a recording's file.</summary>
/// <param name="File">File name without its folder.</param>
/// <param name="Seconds">Length.</param>
/// <param name="SampleRate">The file's own rate in hertz.</param>
/// <param name="Channels">The file's own channel count.</param>
/// <param name="Sha256">Of the file's bytes, lower-case hex.</param>
/// <param name="Format">In words: "WAV, 24 bit".</param>
/// <param name="Doubts">What makes times taken from this file less sure.</param>
public sealed record SoundInfo(
    string File, double Seconds, int SampleRate, int Channels, string Sha256, string Format, IReadOnlyList<Doubt> Doubts);
