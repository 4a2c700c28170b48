namespace Hindbeat.Sound;

/// <summary>Writes a sound that lies in memory; for long ones see <see cref="WavWriter"/>.</summary>
public static class WavFile
{
    /// <summary>
    /// Writes the whole file or none: it appears under its name only when it is complete. A file of that name
    /// is replaced.
    /// </summary>
    /// <param name="bits">16 (dithered) or 24.</param>
    /// <returns>How many samples lay beyond full scale and were written as full scale.</returns>
    /// <exception cref="Units.InputException">The file cannot be written there.</exception>
    public static long Write(string path, StereoSound sound, int bits = 24, ulong ditherSeed = WavWriter.DefaultDitherSeed)
    {
        ArgumentNullException.ThrowIfNull(sound);
        using WavWriter writer = WavWriter.ToFile(path, sound.SampleRate, bits, ditherSeed);
        writer.Write(sound.Left, sound.Right);
        writer.Complete();
        return writer.Clipped;
    }

    /// <summary>The same into a stream, which stays open; it need not be able to seek.</summary>
    public static long Write(Stream stream, StereoSound sound, int bits = 24, ulong ditherSeed = WavWriter.DefaultDitherSeed)
    {
        ArgumentNullException.ThrowIfNull(sound);
        using var writer = new WavWriter(stream, sound.SampleRate, bits, sound.Left.Length, ditherSeed);
        writer.Write(sound.Left, sound.Right);
        writer.Complete();
        return writer.Clipped;
    }
}
