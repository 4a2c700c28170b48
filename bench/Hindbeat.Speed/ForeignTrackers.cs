using System.Diagnostics;
using System.Globalization;
using Hindbeat.Units;

namespace Hindbeat.Speed;

/// <summary>
/// Two command line programs of a general library for sound analysis (aubio, Debian package aubio-tools), timed in the same run on the same file and core: one finds
/// onsets, one beats. A whole study, which does both and much more, should take no longer than the two.
/// </summary>
internal static class ForeignTrackers
{
    private static readonly string[] Programs = ["aubioonset", "aubiotrack"];

    /// <param name="study">Seconds of processor time of a study of the file.</param>
    public static void Print(string recording, double studyWall, double study)
    {
        double wall = 0;
        double processor = 0;
        foreach (string program in Programs)
        {
            if (Time(program, recording) is not { } time)
            {
                Console.WriteLine($"{program} is not on the path; nothing to compare with (Debian: aubio-tools).");
                return;
            }

            Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{program}: {time.Wall:0.00} s, {time.Processor:0.00} s of processor time"));
            wall += time.Wall;
            processor += time.Processor;
        }

        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"a study takes {study / processor:0.00} times the processor time of both together ({studyWall / wall:0.00} by the clock)"));
    }

    /// <summary>Median of three runs; children run on the core that this process is bound to. Null where the program, or a shell that times it, is missing.</summary>
    private static (double Wall, double Processor)? Time(string program, string recording)
    {
        if (OperatingSystem.IsWindows())
            return null;
        (double Wall, double Processor)[] times = new (double, double)[3];
        for (int i = 0; i < times.Length; i++)
        {
            // The shell's own "times" says what its child used; of an ended process nobody else knows.
            var shell = new ProcessStartInfo("/bin/sh", ["-c", "command -v \"$1\" >/dev/null || exit 9; \"$1\" \"$2\" >/dev/null 2>&1 || exit 8; times", "sh", program, recording]) { RedirectStandardOutput = true };
            long start = Stopwatch.GetTimestamp();
            using Process process = Process.Start(shell)!;
            string[] words = process.StandardOutput.ReadToEnd().Split((char[])[' ', '\n', '\t'], StringSplitOptions.RemoveEmptyEntries);
            process.WaitForExit();
            if (process.ExitCode == 9)
                return null;
            if (process.ExitCode != 0)
                throw new InputException($"{program} could not read {recording}.");
            times[i] = (Stopwatch.GetElapsedTime(start).TotalSeconds, Seconds(words[^2]) + Seconds(words[^1]));
        }

        return times.OrderBy(time => time.Processor).ElementAt(1);
    }

    /// <summary>"0m1.230000s" as the shell writes it.</summary>
    private static double Seconds(string words)
    {
        string[] parts = words.TrimEnd('s').Split('m');
        return (60 * double.Parse(parts[0], CultureInfo.InvariantCulture)) + double.Parse(parts[1], CultureInfo.InvariantCulture);
    }
}
