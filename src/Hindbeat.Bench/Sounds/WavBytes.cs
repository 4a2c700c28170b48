using System.Buffers.Binary;
using Hindbeat.Sound;

namespace Hindbeat.Bench.Sounds;

/// <summary>A sound as a 16-bit WAV in memory.</summary>
internal static class WavBytes
{
    private const int HeaderLength = 44;

    public static byte[] Of(StereoSound sound)
    {
        int data = sound.Left.Length * 4;
        byte[] bytes = new byte[HeaderLength + data];
        Span<byte> header = bytes;
        "RIFF"u8.CopyTo(header);
        BinaryPrimitives.WriteInt32LittleEndian(header[4..], HeaderLength - 8 + data);
        "WAVEfmt "u8.CopyTo(header[8..]);
        BinaryPrimitives.WriteInt32LittleEndian(header[16..], 16);
        BinaryPrimitives.WriteInt16LittleEndian(header[20..], 1);
        BinaryPrimitives.WriteInt16LittleEndian(header[22..], 2);
        BinaryPrimitives.WriteInt32LittleEndian(header[24..], sound.SampleRate);
        BinaryPrimitives.WriteInt32LittleEndian(header[28..], sound.SampleRate * 4);
        BinaryPrimitives.WriteInt16LittleEndian(header[32..], 4);
        BinaryPrimitives.WriteInt16LittleEndian(header[34..], 16);
        "data"u8.CopyTo(header[36..]);
        BinaryPrimitives.WriteInt32LittleEndian(header[40..], data);
        Span<byte> body = header[HeaderLength..];
        for (int i = 0; i < sound.Left.Length; i++)
        {
            BinaryPrimitives.WriteInt16LittleEndian(body[(i * 4)..], Sample(sound.Left[i]));
            BinaryPrimitives.WriteInt16LittleEndian(body[((i * 4) + 2)..], Sample(sound.Right[i]));
        }

        return bytes;
    }

    private static short Sample(float value) => (short)Math.Round(Math.Clamp(value, -1f, 1f) * short.MaxValue);
}
