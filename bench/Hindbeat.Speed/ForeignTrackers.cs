using System.ComponentModel;
using System.Diagnostics;
using System.Globalization;

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

    /// <summary>Median of three runs; children run on the core that this process is bound to. Null where the program is missing.</summary>
    private static (double Wall, double Processor)? Time(string program, string recording)
    {
        (double Wall, double Processor)[] times = new (double, double)[3];
        for (int i = 0; i < times.Length; i++)
        {
            try
            {
                long start = Stopwatch.GetTimestamp();
                using Process process = Process.Start(new ProcessStartInfo(program, [recording]) { RedirectStandardOutput = true, RedirectStandardError = true })!;
                process.ErrorDataReceived += (_, _) => { };
                process.BeginErrorReadLine();
                process.StandardOutput.ReadToEnd();
                process.WaitForExit();
                times[i] = (Stopwatch.GetElapsedTime(start).TotalSeconds, process.TotalProcessorTime.TotalSeconds);
                if (process.ExitCode != 0)
                    throw new InvalidOperationException($"{program} gave exit code {process.ExitCode}.");
            }
            catch (Win32Exception)
            {
                return null;
            }
        }

        return times.OrderBy(time => time.Processor).ElementAt(1);
    }
}
