using System.Buffers;
using System.Buffers.Binary;

namespace Hindbeat.Sound;

/// <summary>One packet of an Ogg stream. The memory is the demultiplexer's and holds until the next packet.</summary>
/// <param name="Granule">Position of the page on which the packet ends, when it is the last to end there; else −1.</param>
/// <param name="EndOfStream">On the page that closes the stream.</param>
internal readonly record struct OggPacket(ReadOnlyMemory<byte> Data, long Granule, bool EndOfStream);

/// <summary>
/// Takes the packets of the first logical stream out of an Ogg file, page by page. A page that fails its
/// checksum is dropped and counted. Source: S. Pfeiffer, RFC 3533, "The Ogg Encapsulation Format" (2003).
/// </summary>
internal sealed class OggPackets(Stream stream)
{
    private static readonly uint[] CrcTable = MakeCrcTable();

    private readonly byte[] _page = new byte[27 + 255 + (255 * 255)];
    private readonly List<(int Start, int Length, bool Complete)> _pieces = [];
    private readonly ArrayBufferWriter<byte> _packet = new();
    private int _nextPiece;
    private uint? _serial;
    private long _granule;
    private bool _endOfStream;
    private bool _midPacket;

    public int DamagedPages { get; private set; }
    public bool SawAnotherStream { get; private set; }

    /// <summary>The next packet; null at the end of the file or of the stream.</summary>
    public OggPacket? Next()
    {
        _packet.ResetWrittenCount();
        while (true)
        {
            while (_nextPiece < _pieces.Count)
            {
                (int start, int length, bool complete) = _pieces[_nextPiece++];
                _packet.Write(_page.AsSpan(start, length));
                _midPacket = !complete;
                if (!complete)
                    continue;
                bool lastOnPage = !_pieces.Skip(_nextPiece).Any(piece => piece.Complete);
                return new OggPacket(_packet.WrittenMemory, lastOnPage ? _granule : -1, _endOfStream && lastOnPage);
            }

            if (_endOfStream || !ReadPage())
                return null;
        }
    }

    private bool ReadPage()
    {
        while (FindPage())
        {
            int segments = _page[26];
            if (stream.ReadAtLeast(_page.AsSpan(27, segments), segments, false) < segments)
                return false;
            int body = 0;
            for (int i = 0; i < segments; i++)
                body += _page[27 + i];
            if (stream.ReadAtLeast(_page.AsSpan(27 + segments, body), body, false) < body)
                return false;
            if (!ChecksumHolds(27 + segments + body))
            {
                DamagedPages++;
                DropUnfinishedPacket();
                continue;
            }

            uint serial = BinaryPrimitives.ReadUInt32LittleEndian(_page.AsSpan(14));
            _serial ??= serial;
            if (serial != _serial)
            {
                SawAnotherStream = true;
                continue;
            }

            CutIntoPieces(segments);
            return true;
        }

        return false;
    }

    /// <summary>Reads on to the next "OggS" and its 27 bytes of header.</summary>
    private bool FindPage()
    {
        if (stream.ReadAtLeast(_page.AsSpan(0, 27), 27, false) < 27)
            return false;
        bool lost = false;
        while (!_page.AsSpan(0, 4).SequenceEqual("OggS"u8))
        {
            lost = true;
            _page.AsSpan(1, 26).CopyTo(_page);
            int next = stream.ReadByte();
            if (next < 0)
                return false;
            _page[26] = (byte)next;
        }

        if (lost)
        {
            DamagedPages++;
            DropUnfinishedPacket();
        }

        return true;
    }

    private void CutIntoPieces(int segments)
    {
        bool continued = (_page[5] & 1) != 0;
        _endOfStream = (_page[5] & 4) != 0;
        _granule = BinaryPrimitives.ReadInt64LittleEndian(_page.AsSpan(6));
        _pieces.Clear();
        _nextPiece = 0;
        int start = 27 + segments;
        int length = 0;
        for (int i = 0; i < segments; i++)
        {
            length += _page[27 + i];
            bool ends = _page[27 + i] < 255;
            if (!ends && i < segments - 1)
                continue;
            _pieces.Add((start, length, ends));
            start += length;
            length = 0;
        }

        // The tail of a packet whose head was lost is of no use; a head without its tail neither.
        if (continued && !_midPacket && _pieces.Count > 0)
            _nextPiece = 1;
        else if (!continued && _midPacket)
            DropUnfinishedPacket();
    }

    private void DropUnfinishedPacket()
    {
        _packet.ResetWrittenCount();
        _midPacket = false;
    }

    private bool ChecksumHolds(int length)
    {
        uint stored = BinaryPrimitives.ReadUInt32LittleEndian(_page.AsSpan(22));
        _page.AsSpan(22, 4).Clear();
        uint crc = 0;
        for (int i = 0; i < length; i++)
            crc = (crc << 8) ^ CrcTable[(crc >> 24) ^ _page[i]];
        return crc == stored;
    }

    private static uint[] MakeCrcTable()
    {
        uint[] table = new uint[256];
        for (uint i = 0; i < 256; i++)
        {
            uint value = i << 24;
            for (int bit = 0; bit < 8; bit++)
                value = (value & 0x80000000) != 0 ? (value << 1) ^ 0x04C11DB7 : value << 1;
            table[i] = value;
        }

        return table;
    }
}
