using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;

namespace Hindbeat.Cli;

/// <summary>Writes a rebuild as WAV.</summary>
internal static class RebuildFiles
{
    private const int SampleRate = 44100;

    /// <param name="performance">The passage.</param>
    /// <param name="feel">Its measured feel.</param>
    /// <param name="dials">How much of it the rebuild keeps.</param>
    /// <param name="bits">16 or 24.</param>
    /// <param name="stream">Seekable; left open.</param>
    public static void Write(Performance performance, FeelReport feel, Dials dials, int bits, Stream stream)
    {
        using var wav = new WavWriter(stream, SampleRate, bits);
        Renderer.Stream(RebuildPlan.Make(performance, feel, dials), HouseKit.Load(), SampleRate, wav.Write);
        wav.Complete();
    }
}
