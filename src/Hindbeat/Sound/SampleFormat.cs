using System.Buffers.Binary;
using System.Numerics;
using System.Runtime.InteropServices;

namespace Hindbeat.Sound;

/// <summary>How one sample lies in a file.</summary>
internal enum SampleEncoding
{
    UnsignedInteger,
    SignedInteger,
    Float,
}

/// <summary>
/// Turns a file's bytes into floats with full scale = ±1. Integers of n bits are divided by 2^(n−1), so
/// that the most negative one becomes exactly −1; 24 bits and fewer come through a float unchanged.
/// </summary>
internal readonly record struct SampleFormat(SampleEncoding Encoding, int Bytes, bool BigEndian)
{
    private const float Scale8 = 1f / (1 << 7);
    private const float Scale16 = 1f / (1 << 15);
    private const float Scale24 = 1f / (1 << 23);
    private const double Scale32 = 1.0 / (1L << 31);

    public bool IsKnown => Encoding switch
    {
        SampleEncoding.Float => Bytes is 4 or 8,
        SampleEncoding.UnsignedInteger => Bytes == 1,
        _ => Bytes is >= 1 and <= 4,
    };

    /// <summary>"24 bit", "32 bit float".</summary>
    public string Words => Encoding == SampleEncoding.Float ? $"{Bytes * 8} bit float" : $"{Bytes * 8} bit";

    /// <param name="bytes">A whole number of samples.</param>
    public void Unpack(ReadOnlySpan<byte> bytes, Span<float> samples)
    {
        int count = bytes.Length / Bytes;
        samples = samples[..count];
        if (Encoding == SampleEncoding.Float && Bytes == 4 && !BigEndian && BitConverter.IsLittleEndian)
        {
            MemoryMarshal.Cast<byte, float>(bytes).CopyTo(samples);
            return;
        }

        int done = (Encoding, Bytes, BigEndian) switch
        {
            (SampleEncoding.SignedInteger, 2, false) when BitConverter.IsLittleEndian => Shorts(MemoryMarshal.Cast<byte, short>(bytes), samples),
            (SampleEncoding.SignedInteger, 3, false) => Triples(bytes, samples),
            _ => 0,
        };
        for (int i = done; i < count; i++)
            samples[i] = One(bytes.Slice(i * Bytes, Bytes));
    }

    /// <summary>The commonest format, eight or sixteen samples at once; says how many it did.</summary>
    private static int Shorts(ReadOnlySpan<short> shorts, Span<float> samples)
    {
        int i = 0;
        for (; i + Vector<short>.Count <= shorts.Length; i += Vector<short>.Count)
        {
            Vector.Widen(new Vector<short>(shorts[i..]), out Vector<int> low, out Vector<int> high);
            (Vector.ConvertToSingle(low) * Scale16).CopyTo(samples[i..]);
            (Vector.ConvertToSingle(high) * Scale16).CopyTo(samples[(i + Vector<int>.Count)..]);
        }

        return i;
    }

    /// <summary>24 bits read as the upper three bytes of four that begin one byte early; says how many it did.</summary>
    private static int Triples(ReadOnlySpan<byte> bytes, Span<float> samples)
    {
        const int Above = 8;
        for (int i = 1; i < samples.Length; i++)
            samples[i] = (BinaryPrimitives.ReadInt32LittleEndian(bytes[((3 * i) - 1)..]) >> Above) * Scale24;
        if (samples.Length > 0)
            samples[0] = (((sbyte)bytes[2] << 16) | (bytes[1] << 8) | bytes[0]) * Scale24;
        return samples.Length;
    }

    private float One(ReadOnlySpan<byte> b) => (Encoding, Bytes, BigEndian) switch
    {
        (SampleEncoding.SignedInteger, 2, false) => BinaryPrimitives.ReadInt16LittleEndian(b) * Scale16,
        (SampleEncoding.SignedInteger, 3, false) => (((sbyte)b[2] << 16) | (b[1] << 8) | b[0]) * Scale24,
        (SampleEncoding.SignedInteger, 4, false) => (float)(BinaryPrimitives.ReadInt32LittleEndian(b) * Scale32),
        (SampleEncoding.SignedInteger, 2, true) => BinaryPrimitives.ReadInt16BigEndian(b) * Scale16,
        (SampleEncoding.SignedInteger, 3, true) => (((sbyte)b[0] << 16) | (b[1] << 8) | b[2]) * Scale24,
        (SampleEncoding.SignedInteger, 4, true) => (float)(BinaryPrimitives.ReadInt32BigEndian(b) * Scale32),
        (SampleEncoding.SignedInteger, 1, _) => (sbyte)b[0] * Scale8,
        (SampleEncoding.UnsignedInteger, 1, _) => (b[0] - 128) * Scale8,
        (SampleEncoding.Float, 4, false) => BinaryPrimitives.ReadSingleLittleEndian(b),
        (SampleEncoding.Float, 4, true) => BinaryPrimitives.ReadSingleBigEndian(b),
        (SampleEncoding.Float, 8, false) => (float)BinaryPrimitives.ReadDoubleLittleEndian(b),
        (SampleEncoding.Float, 8, true) => (float)BinaryPrimitives.ReadDoubleBigEndian(b),
        _ => throw new InvalidOperationException($"No samples of {Words} are known."),
    };
}
