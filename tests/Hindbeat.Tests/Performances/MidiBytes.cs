using System.Buffers.Binary;
using System.Text;

namespace Hindbeat.Tests.Performances;

/// <summary>Writes Standard MIDI Files byte by byte, so that reading is not tested against the library that reads.</summary>
internal static class MidiBytes
{
    public static byte[] File(int format, int division, params byte[][] tracks)
    {
        List<byte> bytes = [.. "MThd"u8, 0, 0, 0, 6, .. Big16(format), .. Big16(tracks.Length), .. Big16(division)];
        foreach (byte[] track in tracks)
        {
            byte[] length = new byte[4];
            BinaryPrimitives.WriteInt32BigEndian(length, track.Length);
            bytes.AddRange([.. "MTrk"u8, .. length, .. track]);
        }

        return [.. bytes];
    }

    public static byte[] Track(params byte[][] events) => [.. events.SelectMany(e => e), 0, 0xFF, 0x2F, 0];

    public static byte[] Tempo(int delta, int microseconds) => [.. Variable(delta), 0xFF, 0x51, 3, (byte)(microseconds >> 16), (byte)(microseconds >> 8), (byte)microseconds];

    public static byte[] Signature(int delta, int numerator, int power) => [.. Variable(delta), 0xFF, 0x58, 4, (byte)numerator, (byte)power, 24, 8];

    public static byte[] On(int delta, int key, int velocity = 100, int channel = 10) => [.. Variable(delta), (byte)(0x90 | (channel - 1)), (byte)key, (byte)velocity];

    public static byte[] Off(int delta, int key, int channel = 10) => [.. Variable(delta), (byte)(0x80 | (channel - 1)), (byte)key, 64];

    /// <summary>A note-on without its status byte: running status.</summary>
    public static byte[] Running(int delta, int key, int velocity) => [.. Variable(delta), (byte)key, (byte)velocity];

    public static byte[] Text(string text) => [0, 0xFF, 1, (byte)text.Length, .. Encoding.ASCII.GetBytes(text)];

    private static byte[] Big16(int value) => [(byte)(value >> 8), (byte)value];

    private static byte[] Variable(int value)
    {
        List<byte> bytes = [(byte)(value & 0x7F)];
        while ((value >>= 7) > 0)
            bytes.Insert(0, (byte)((value & 0x7F) | 0x80));
        return [.. bytes];
    }
}
