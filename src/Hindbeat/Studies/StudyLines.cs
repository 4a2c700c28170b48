using System.Text.Json;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Studies;

/// <summary>
/// Studies of a folder's files as JSON lines, one a passage: <c>{"file", "sha256", "id", "study"}</c>, the file's path within the folder, the hash of its
/// bytes, its id in the library (null when it is not kept there) and the hindbeat-study document. Each line is on the disk before the next is begun,
/// so whoever is killed loses at most the line being written; what is left of it is cut off when the file is opened again.
/// </summary>
public sealed class StudyLines : IDisposable
{
    private readonly FileStream _stream;
    private readonly HashSet<(string File, string Sha256)> _there = [];

    private StudyLines(FileStream stream) => _stream = stream;

    /// <summary>Whole lines that were found on opening, and those added since.</summary>
    public int Count => _there.Count;

    /// <summary>Opens a file to add to it; makes it when it is not there. Until disposed nobody else can write to it.</summary>
    /// <exception cref="InputException">Not a file of such lines, in use by another, or not to be written.</exception>
    public static StudyLines Open(string path)
    {
        ArgumentException.ThrowIfNullOrEmpty(path);
        FileStream stream;
        try
        {
            stream = new FileStream(path, FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.Read);
        }
        catch (Exception reason) when (reason is IOException or UnauthorizedAccessException)
        {
            throw new InputException($"{path} cannot be written: {reason.Message} Is another run still writing to it?", reason);
        }

        var lines = new StudyLines(stream);
        try
        {
            lines.ReadThere(path);
        }
        catch
        {
            stream.Dispose();
            throw;
        }

        return lines;
    }

    /// <summary>Whether this file, with these bytes, has its line.</summary>
    public bool Holds(string file, string sha256) => _there.Contains((file, sha256));

    /// <summary>Adds a line and waits until it is on the disk.</summary>
    public void Add(string file, string sha256, string? id, StudyDocument study)
    {
        ArgumentNullException.ThrowIfNull(study);
        using var whole = new MemoryStream();
        study.Write(whole);
        using JsonDocument document = JsonDocument.Parse(whole.GetBuffer().AsMemory(0, (int)whole.Length));
        using var line = new MemoryStream();
        using (var json = new Utf8JsonWriter(line))
        {
            json.WriteStartObject();
            json.WriteString("file", file);
            json.WriteString("sha256", sha256);
            json.WriteString("id", id);
            json.WritePropertyName("study");
            document.RootElement.WriteTo(json);
            json.WriteEndObject();
        }

        line.WriteByte((byte)'\n');
        _stream.Write(line.GetBuffer(), 0, (int)line.Length);
        _stream.Flush(flushToDisk: true);
        _there.Add((file, sha256));
    }

    public void Dispose() => _stream.Dispose();

    private void ReadThere(string path)
    {
        long whole = 0;
        var reader = new LineReader(_stream);
        for (int number = 1; reader.Next() is { } line; number++)
        {
            try
            {
                using JsonDocument json = JsonDocument.Parse(line);
                _there.Add((json.RootElement.GetProperty("file").GetString()!, json.RootElement.GetProperty("sha256").GetString()!));
            }
            catch (Exception reason) when (reason is JsonException or KeyNotFoundException or InvalidOperationException)
            {
                throw new InputException($"Line {number} of {path} is no study; is it another file? Name a new one.", reason);
            }

            whole += line.Length + 1;
        }

        if (whole == 0 && _stream.Length > 0 && !reader.RestStartsWith("{\"file\""u8))
            throw new InputException($"{path} holds something else than studies; name a new file.");
        _stream.SetLength(whole);
        _stream.Position = whole;
    }

    /// <summary>Lines that end in a line feed; what follows the last one is left over.</summary>
    private sealed class LineReader(FileStream stream)
    {
        private readonly byte[] _buffer = new byte[1 << 16];
        private readonly List<byte> _line = [];
        private int _at, _end;

        public byte[]? Next()
        {
            _line.Clear();
            for (;;)
            {
                if (_at == _end)
                    (_at, _end) = (0, stream.Read(_buffer));
                if (_end == 0)
                    return null;
                int feed = Array.IndexOf(_buffer, (byte)'\n', _at, _end - _at), to = feed < 0 ? _end : feed;
                _line.AddRange(_buffer.AsSpan(_at, to - _at));
                _at = feed < 0 ? _end : feed + 1;
                if (feed >= 0)
                    return [.. _line];
            }
        }

        /// <summary>Whether what is left over is the start of such a line.</summary>
        public bool RestStartsWith(ReadOnlySpan<byte> start)
        {
            byte[] rest = [.. _line];
            return rest.AsSpan().StartsWith(start) || start.StartsWith(rest);
        }
    }
}
