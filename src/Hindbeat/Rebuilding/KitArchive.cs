using System.IO.Compression;
using System.Text;
using Hindbeat.Performances;

namespace Hindbeat.Rebuilding;

/// <summary>
/// A kit in one file: 16-bit samples without loss. After four letters of magic everything is Brotli:
/// rate, name, attribution, a table of strokes (piece, layer, origin, onset, length), then each stroke's
/// samples in blocks, each block as differences of the order (0 to 3) that makes it smallest, low
/// bytes before high bytes so that the compressor sees like beside like.
/// </summary>
internal static class KitArchive
{
    private const int BlockLength = 1024;
    private const int HighestOrder = 3;

    /// <summary>More than a minute a stroke, or thousands of strokes, is no kit of ours but a damaged file.</summary>
    private const int MostSamples = 60 * 192000;
    private const int MostStrokes = 4096;

    private static readonly byte[] Magic = "HBK1"u8.ToArray();

    /// <summary>One stroke as stored.</summary>
    public sealed record Entry(KitPiece Piece, int Layer, SampleOrigin Origin, double Onset, short[] Samples);

    public static void Write(Stream stream, string name, string attribution, int sampleRate, IReadOnlyList<Entry> entries)
    {
        stream.Write(Magic);
        using var brotli = new BrotliStream(stream, new BrotliCompressionOptions { Quality = 11 }, leaveOpen: true);
        using var writer = new BinaryWriter(brotli, Encoding.UTF8);
        writer.Write(name);
        writer.Write(attribution);
        writer.Write(sampleRate);
        writer.Write(entries.Count);
        foreach (Entry entry in entries)
        {
            writer.Write(entry.Piece.Id());
            writer.Write(entry.Layer);
            writer.Write((byte)entry.Origin);
            writer.Write(entry.Onset);
            writer.Write(entry.Samples.Length);
        }

        foreach (Entry entry in entries)
            WriteSamples(writer, entry.Samples);
    }

    /// <exception cref="InvalidDataException">Not a kit file, or a damaged one.</exception>
    public static Kit Read(Stream stream)
    {
        var magic = new byte[Magic.Length];
        stream.ReadExactly(magic);
        if (!magic.AsSpan().SequenceEqual(Magic))
            throw new InvalidDataException("This is not a kit file.");
        using var brotli = new BrotliStream(stream, CompressionMode.Decompress, leaveOpen: true);
        using var reader = new BinaryReader(brotli, Encoding.UTF8);
        string name = reader.ReadString();
        string attribution = reader.ReadString();
        int sampleRate = reader.ReadInt32();
        int count = Checked(reader.ReadInt32(), MostStrokes);
        var table = new (KitPiece Piece, int Layer, SampleOrigin Origin, double Onset, int Length)[count];
        for (int i = 0; i < count; i++)
            table[i] = (KitPieces.Parse(reader.ReadString()), reader.ReadInt32(), (SampleOrigin)reader.ReadByte(), reader.ReadDouble(), Checked(reader.ReadInt32(), MostSamples));
        return new Kit(name, attribution, sampleRate, table.Select(row => new KitSample(row.Piece, row.Layer, ReadSamples(reader, row.Length), sampleRate, row.Onset, row.Origin)).ToArray());
    }

    private static int Checked(int value, int most) =>
        value >= 1 && value <= most ? value : throw new InvalidDataException($"The kit file is damaged: it gives a length of {value}.");

    private static void WriteSamples(BinaryWriter writer, short[] samples)
    {
        for (int start = 0; start < samples.Length; start += BlockLength)
        {
            int length = Math.Min(BlockLength, samples.Length - start);
            int[][] candidates = [.. Enumerable.Range(0, HighestOrder + 1).Select(order => Differences(samples, start, length, order))];
            int best = Enumerable.Range(0, candidates.Length).MinBy(order => candidates[order].Sum(difference => (long)Math.Abs(difference)));
            writer.Write((byte)best);
            // Differences of 16-bit numbers wrap at 16 bits without loss, since the sum wraps back.
            foreach (int difference in candidates[best])
                writer.Write((byte)Folded((short)difference));
            foreach (int difference in candidates[best])
                writer.Write((byte)(Folded((short)difference) >> 8));
        }
    }

    private static float[] ReadSamples(BinaryReader reader, int count)
    {
        var samples = new short[count];
        var bytes = new byte[2 * BlockLength];
        for (int start = 0; start < count; start += BlockLength)
        {
            int length = Math.Min(BlockLength, count - start);
            int order = reader.ReadByte();
            if (order > HighestOrder)
                throw new InvalidDataException($"The kit file is damaged: it asks for differences of order {order}.");
            reader.BaseStream.ReadExactly(bytes, 0, 2 * length);
            for (int i = 0; i < length; i++)
            {
                int folded = bytes[i] | (bytes[length + i] << 8);
                int difference = (folded >> 1) ^ -(folded & 1);
                samples[start + i] = (short)(difference + Predicted(samples, start + i, order));
            }
        }

        return Array.ConvertAll(samples, sample => sample / 32768f);
    }

    private static int[] Differences(short[] samples, int start, int length, int order) =>
        [.. Enumerable.Range(start, length).Select(i => samples[i] - Predicted(samples, i, order))];

    /// <summary>The polynomial through the last <paramref name="order"/> samples, carried on by one.</summary>
    private static int Predicted(short[] samples, int i, int order)
    {
        int a = i > 0 ? samples[i - 1] : 0;
        int b = i > 1 ? samples[i - 2] : 0;
        int c = i > 2 ? samples[i - 3] : 0;
        return order switch
        {
            0 => 0,
            1 => a,
            2 => (2 * a) - b,
            _ => (3 * a) - (3 * b) + c,
        };
    }

    /// <summary>Small numbers of either sign become small numbers: 0, −1, 1, −2 → 0, 1, 2, 3.</summary>
    private static ushort Folded(short value) => (ushort)((value << 1) ^ (value >> 15));
}
