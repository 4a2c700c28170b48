using Hindbeat.Units;

namespace Hindbeat.Cli;

/// <summary>Writes a file wholly or not at all: into a neighbour first, which then takes its place.</summary>
internal static class OutputFile
{
    /// <exception cref="InputException">The folder does not exist or cannot be written to.</exception>
    public static void Write(string path, Action<Stream> write)
    {
        string full = Path.GetFullPath(path);
        string folder = Path.GetDirectoryName(full) ?? ".";
        if (!Directory.Exists(folder))
            throw new InputException($"There is no folder {folder} to write {Path.GetFileName(full)} into.");
        if (Directory.Exists(full))
            throw new InputException($"{path} is a folder; name a file to write.");
        string neighbour = Path.Combine(folder, $".{Path.GetFileName(full)}.{Environment.ProcessId}.part");
        try
        {
            using (FileStream stream = File.Create(neighbour))
                write(stream);
            File.Move(neighbour, full, overwrite: true);
        }
        finally
        {
            File.Delete(neighbour);
        }
    }

    public static void WriteText(string path, Action<TextWriter> write) => Write(path, stream =>
    {
        using var writer = new StreamWriter(stream);
        write(writer);
    });
}
