using System.Buffers.Binary;
using System.Numerics.Tensors;
using Hindbeat.Sound;

namespace Hindbeat.Bench.Sounds;

/// <summary>
/// The outline that the page draws before the sound itself has come: the lowest and the highest sample of both channels in every
/// <see cref="Step"/> frames, as pairs of 16-bit numbers (little-endian, full scale 32767). Three minutes are a quarter of a megabyte;
/// the sound is thirty.
/// </summary>
internal static class SoundOutline
{
    /// <summary>Frames a pair; peaks.js halves from there on.</summary>
    public const int Step = 128;

    public static byte[] Of(StereoSound sound)
    {
        int steps = (sound.Left.Length + Step - 1) / Step;
        byte[] bytes = new byte[4 * steps];
        for (int i = 0; i < steps; i++)
        {
            int from = i * Step, count = Math.Min(Step, sound.Left.Length - from);
            ReadOnlySpan<float> left = sound.Left.AsSpan(from, count), right = sound.Right.AsSpan(from, count);
            Write(bytes.AsSpan(4 * i), Math.Min(TensorPrimitives.Min(left), TensorPrimitives.Min(right)));
            Write(bytes.AsSpan((4 * i) + 2), Math.Max(TensorPrimitives.Max(left), TensorPrimitives.Max(right)));
        }

        return bytes;
    }

    private static void Write(Span<byte> at, float sample) =>
        BinaryPrimitives.WriteInt16LittleEndian(at, (short)Math.Round(Math.Clamp(sample, -1, 1) * short.MaxValue));
}
