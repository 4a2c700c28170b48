using System.Buffers.Binary;
using System.Text;

namespace Hindbeat.Sound;

/// <summary>
/// Cue points with names as RIFF chunks: "cue " holds the places, "LIST adtl" a "labl" for each (Multimedia
/// Programming Interface and Data Specifications 1.0, IBM and Microsoft, 1991).
/// </summary>
internal static class WavCues
{
    private const int PointBytes = 24;

    /// <summary>Both chunks, of even length; nothing when there are no cues. Places beyond 2³²−1 frames cannot be told and are left out.</summary>
    public static byte[] Chunks(IReadOnlyList<(long Frame, string Name)> cues)
    {
        (long Frame, string Name)[] told = [.. cues.Where(cue => cue.Frame <= uint.MaxValue)];
        if (told.Length == 0)
            return [];
        using var stream = new MemoryStream();
        using var writer = new BinaryWriter(stream);
        writer.Write("cue "u8);
        writer.Write(4 + (PointBytes * told.Length));
        writer.Write(told.Length);
        for (int i = 0; i < told.Length; i++)
        {
            writer.Write(i + 1);
            writer.Write((uint)told[i].Frame);
            writer.Write("data"u8);
            writer.Write(0);
            writer.Write(0);
            writer.Write((uint)told[i].Frame);
        }

        writer.Write("LIST"u8);
        long sizeAt = stream.Position;
        writer.Write(0);
        writer.Write("adtl"u8);
        for (int i = 0; i < told.Length; i++)
        {
            byte[] name = [.. Encoding.UTF8.GetBytes(told[i].Name), 0];
            writer.Write("labl"u8);
            writer.Write(4 + name.Length);
            writer.Write(i + 1);
            writer.Write(name);
            if (name.Length % 2 == 1)
                writer.Write((byte)0);
        }

        byte[] chunks = stream.ToArray();
        BinaryPrimitives.WriteInt32LittleEndian(chunks.AsSpan((int)sizeAt), (int)(chunks.Length - sizeAt - 4));
        return chunks;
    }
}
