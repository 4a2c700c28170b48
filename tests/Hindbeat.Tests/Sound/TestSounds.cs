using System.Text;

namespace Hindbeat.Tests.Sound;

/// <summary>Makes sound files byte by byte, by the published layouts, without any code under test.</summary>
internal static class TestSounds
{
    /// <summary>A folder of its own for each test, removed with it.</summary>
    internal sealed class Folder : IDisposable
    {
        private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("hindbeat-test-");

        public string Path => _folder.FullName;

        public string File(string name) => System.IO.Path.Combine(_folder.FullName, name);

        public string Write(string name, byte[] bytes)
        {
            System.IO.File.WriteAllBytes(File(name), bytes);
            return File(name);
        }

        public void Dispose() => _folder.Delete(true);
    }

    /// <summary>Sample widths as a WAV header names them.</summary>
    public enum Width
    {
        Int8,
        Int16,
        Int24,
        Int32,
        Float32,
        Float64,
    }

    /// <summary>A WAV file (RIFF/WAVE) of interleaved samples.</summary>
    /// <param name="dataSize">What the header claims; null = the truth.</param>
    /// <param name="before">Bytes of whole chunks to put before the format.</param>
    public static byte[] Wav(double[] interleaved, int channels, int rate, Width width, bool extensible = false, uint? dataSize = null, byte[]? before = null, bool riffSizeKnown = true)
    {
        int bytes = Bytes(width);
        bool isFloat = width is Width.Float32 or Width.Float64;
        var body = new MemoryStream();
        var w = new BinaryWriter(body);
        w.Write("WAVE"u8);
        w.Write(before ?? []);
        w.Write("fmt "u8);
        w.Write(extensible ? 40 : 16);
        w.Write((ushort)(extensible ? 0xFFFE : isFloat ? 3 : 1));
        w.Write((ushort)channels);
        w.Write(rate);
        w.Write(rate * channels * bytes);
        w.Write((ushort)(channels * bytes));
        w.Write((ushort)(bytes * 8));
        if (extensible)
        {
            w.Write((ushort)22);
            w.Write((ushort)(bytes * 8));
            w.Write(0);
            w.Write((ushort)(isFloat ? 3 : 1));
            w.Write([0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xAA, 0, 0x38, 0x9B, 0x71]);
        }

        w.Write("data"u8);
        w.Write(dataSize ?? (uint)(interleaved.Length * bytes));
        foreach (double sample in interleaved)
            WriteSample(w, sample, width);
        var file = new MemoryStream();
        var f = new BinaryWriter(file);
        f.Write("RIFF"u8);
        f.Write(riffSizeKnown ? (uint)body.Length : 0u);
        f.Write(body.ToArray());
        return file.ToArray();
    }

    /// <summary>An AIFF file of big-endian integers, or AIFF-C when a scheme is named ("sowt", "fl32").</summary>
    public static byte[] Aiff(double[] interleaved, int channels, int rate, int bytes, string? scheme = null, bool soundFirst = false)
    {
        byte[] samples = [.. interleaved.SelectMany(sample => AiffSample(sample, bytes, scheme))];
        byte[] common = [.. Big((short)channels), .. Big(interleaved.Length / channels), .. Big((short)(bytes * 8)), .. Extended80(rate),
            .. scheme is null ? [] : Encoding.ASCII.GetBytes(scheme), .. scheme is null ? Array.Empty<byte>() : [0, 0]];
        byte[] commonChunk = [.. "COMM"u8, .. Big(common.Length), .. common];
        byte[] soundChunk = [.. "SSND"u8, .. Big(samples.Length + 8), .. Big(0), .. Big(0), .. samples, .. samples.Length % 2 == 1 ? [(byte)0] : Array.Empty<byte>()];
        byte[] version = scheme is null ? [] : [.. "FVER"u8, .. Big(4), 0xA2, 0x80, 0x51, 0x40];
        byte[] body = [.. scheme is null ? "AIFF"u8 : "AIFC"u8, .. version, .. soundFirst ? soundChunk : commonChunk, .. soundFirst ? commonChunk : soundChunk];
        return [.. "FORM"u8, .. Big(body.Length), .. body];
    }

    /// <summary>Silence with clicks of one full sample.</summary>
    public static double[] Clicks(int frames, params int[] at)
    {
        double[] mono = new double[frames];
        foreach (int sample in at)
            mono[sample] = 0.5;
        return mono;
    }

    /// <summary>
    /// Silence with short decaying bursts, as lossy coders keep them: a 2 kHz cosine under a decay of 4 ms. Its
    /// first sample is its highest.
    /// </summary>
    public static double[] Bursts(int frames, int rate, params int[] at)
    {
        double[] mono = new double[frames];
        foreach (int start in at)
        {
            for (int i = 0; i < rate / 20 && start + i < frames; i++)
                mono[start + i] += 0.7 * Math.Exp(-i / (0.004 * rate)) * Math.Cos(2 * Math.PI * 2000 * i / rate);
        }

        return mono;
    }

    public static double[] Interleave(params double[][] channels) =>
        [.. Enumerable.Range(0, channels[0].Length).SelectMany(i => channels.Select(channel => channel[i]))];

    private static int Bytes(Width width) => width switch
    {
        Width.Int8 => 1,
        Width.Int16 => 2,
        Width.Int24 => 3,
        Width.Float64 => 8,
        _ => 4,
    };

    private static void WriteSample(BinaryWriter w, double sample, Width width)
    {
        switch (width)
        {
            case Width.Int8:
                w.Write((byte)(Math.Clamp(Math.Round(sample * 128), -128, 127) + 128));
                break;
            case Width.Int16:
                w.Write((short)Math.Clamp(Math.Round(sample * 32768), -32768, 32767));
                break;
            case Width.Int24:
                int value = (int)Math.Clamp(Math.Round(sample * 8388608), -8388608, 8388607);
                w.Write([(byte)value, (byte)(value >> 8), (byte)(value >> 16)]);
                break;
            case Width.Int32:
                w.Write((int)Math.Clamp(Math.Round(sample * 2147483648.0), int.MinValue, int.MaxValue));
                break;
            case Width.Float32:
                w.Write((float)sample);
                break;
            default:
                w.Write(sample);
                break;
        }
    }

    private static byte[] AiffSample(double sample, int bytes, string? scheme)
    {
        if (scheme == "fl32")
            return Big(BitConverter.SingleToInt32Bits((float)sample));
        long value = (long)Math.Clamp(Math.Round(sample * Math.Pow(2, (8 * bytes) - 1)), -Math.Pow(2, (8 * bytes) - 1), Math.Pow(2, (8 * bytes) - 1) - 1);
        IEnumerable<byte> littleEndian = Enumerable.Range(0, bytes).Select(i => (byte)(value >> (8 * i)));
        return [.. scheme == "sowt" ? littleEndian : littleEndian.Reverse()];
    }

    private static byte[] Big(int value) => [(byte)(value >> 24), (byte)(value >> 16), (byte)(value >> 8), (byte)value];

    private static byte[] Big(short value) => [(byte)(value >> 8), (byte)value];

    private static byte[] Extended80(int rate)
    {
        int exponent = (int)Math.Floor(Math.Log2(rate));
        ulong mantissa = (ulong)rate << (63 - exponent);
        return [.. Big((short)(exponent + 16383)), .. Big((int)(mantissa >> 32)), .. Big((int)(mantissa & 0xFFFFFFFF))];
    }
}
