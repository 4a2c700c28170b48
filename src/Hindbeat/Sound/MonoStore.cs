using System.Buffers;
using System.Runtime.InteropServices;
using Hindbeat.Units;
using Microsoft.Win32.SafeHandles;

namespace Hindbeat.Sound;

/// <summary>
/// Gathers the analysis sound. Up to <see cref="LongestInMemory"/> samples stay in memory; a longer sound
/// moves to a temporary file, which the system deletes when it is closed.
/// </summary>
internal sealed class MonoStore : IDisposable
{
    /// <summary>
    /// 5 minutes at 44.1 kHz, 53 MB: most pieces. Ten minutes in memory took 106 MB of the 300 that a whole study may take. Writing three minutes to the file and reading
    /// them again four times was 9 % of a study's processor time.
    /// </summary>
    public const long LongestInMemory = 300L * MonoSound.AnalysisRate;

    private const int BlockLength = 1 << 20;

    private readonly int _sampleRate;
    private readonly long _longestInMemory;
    private readonly List<float[]> _blocks = [];
    private SafeFileHandle? _file;
    private long _length;
    private long _inFile;
    private bool _expectsLong;
    private bool _handedOver;

    public MonoStore(int sampleRate, long longestInMemory = LongestInMemory)
    {
        _sampleRate = sampleRate;
        _longestInMemory = longestInMemory;
    }

    /// <summary>
    /// Says how much of the whole has been appended so far. What will not stay in memory goes to the file from the first full block on: five minutes gathered first were
    /// 50 MB that lay about until the next collection of everything, while the passage was listened to.
    /// </summary>
    /// <param name="share">0 to 1; 0 where it cannot be known.</param>
    public void Expect(double share) => _expectsLong = share > 0 && _length / share > _longestInMemory;

    public void Append(ReadOnlySpan<float> samples)
    {
        while (!samples.IsEmpty)
        {
            int within = (int)((_length - _inFile) % BlockLength);
            int block = (int)((_length - _inFile) / BlockLength);
            if (block == _blocks.Count)
                _blocks.Add(ArrayPool<float>.Shared.Rent(BlockLength));
            int count = Math.Min(samples.Length, BlockLength - within);
            samples[..count].CopyTo(_blocks[block].AsSpan(within));
            samples = samples[count..];
            _length += count;
            if (_file is not null || _expectsLong ? within + count == BlockLength : _length > _longestInMemory)
                Spill();
        }
    }

    /// <summary>The gathered sound; owns the temporary file from here on.</summary>
    public MonoSound ToSound()
    {
        _handedOver = true;
        if (_file is null)
            return new Blocks(_blocks, _length, _sampleRate);
        Spill();
        GiveBack(_blocks);
        return new InFile(_file, _length, _sampleRate);
    }

    public void Dispose()
    {
        if (_handedOver)
            return;
        _file?.Dispose();
        GiveBack(_blocks);
    }

    /// <summary>Blocks come from the shared pool: fresh pages for each study were 3 % of its time, and left behind they lay about until the next collection of everything.</summary>
    private static void GiveBack(List<float[]> blocks)
    {
        foreach (float[] block in blocks)
            ArrayPool<float>.Shared.Return(block);
        blocks.Clear();
    }

    private void Spill()
    {
        try
        {
            _file ??= OpenTemporary();
            foreach (float[] block in _blocks)
            {
                int count = (int)Math.Min(BlockLength, _length - _inFile);
                RandomAccess.Write(_file, MemoryMarshal.AsBytes(block.AsSpan(0, count)), _inFile * sizeof(float));
                _inFile += count;
            }
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new InputException($"A long recording is kept in the temporary folder {Path.GetTempPath()}, which cannot take it: {e.Message}", e);
        }

        // One block is enough from now on: it is written each time it is full. The others are left to the collector, for the pool would keep them while this sound is studied.
        if (_blocks.Count > 1)
            _blocks.RemoveRange(1, _blocks.Count - 1);
    }

    private static SafeFileHandle OpenTemporary()
    {
        string path = Path.Combine(Path.GetTempPath(), $"hindbeat-{Guid.NewGuid():N}.samples");
        SafeFileHandle handle = File.OpenHandle(path, FileMode.CreateNew, FileAccess.ReadWrite, FileShare.None, FileOptions.DeleteOnClose | FileOptions.RandomAccess);
        // Where a name may go while the file is open, it goes now: a killed process then leaves nothing behind.
        if (!OperatingSystem.IsWindows())
            File.Delete(path);
        return handle;
    }

    private sealed class Blocks(List<float[]> blocks, long length, int sampleRate) : MonoSound
    {
        public override int SampleRate => sampleRate;
        public override long Length => length;

        public override void Read(long start, Span<float> destination)
        {
            (long from, long to) = Inside(start, destination, length);
            while (from < to)
            {
                int within = (int)(from % BlockLength);
                int count = (int)Math.Min(BlockLength - within, to - from);
                blocks[(int)(from / BlockLength)].AsSpan(within, count).CopyTo(destination[(int)(from - start)..]);
                from += count;
            }
        }

        protected override void Dispose(bool disposing)
        {
            if (disposing)
                GiveBack(blocks);
            base.Dispose(disposing);
        }
    }

    private sealed class InFile(SafeFileHandle file, long length, int sampleRate) : MonoSound
    {
        public override int SampleRate => sampleRate;
        public override long Length => length;

        public override void Read(long start, Span<float> destination)
        {
            (long from, long to) = Inside(start, destination, length);
            if (to <= from)
                return;
            Span<byte> bytes = MemoryMarshal.AsBytes(destination.Slice((int)(from - start), (int)(to - from)));
            long offset = from * sizeof(float);
            while (!bytes.IsEmpty)
            {
                int got = RandomAccess.Read(file, bytes, offset);
                if (got == 0)
                    throw new EndOfStreamException("The temporary file of this sound was cut short by another program.");
                bytes = bytes[got..];
                offset += got;
            }
        }

        protected override void Dispose(bool disposing)
        {
            if (disposing)
                file.Dispose();
            base.Dispose(disposing);
        }
    }

    /// <summary>The part of the asked-for stretch that exists; silence is written over the rest.</summary>
    private static (long From, long To) Inside(long start, Span<float> destination, long length)
    {
        long from = Math.Max(0, start);
        long to = Math.Min(length, start + destination.Length);
        if (to - from < destination.Length)
            destination.Clear();
        return (from, to);
    }
}
