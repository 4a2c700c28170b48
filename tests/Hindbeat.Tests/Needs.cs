using System.Diagnostics;

namespace Hindbeat.Tests;

/// <summary>
/// What a test needs of the machine. Away from CI a test skips with the reason; under CI=true the lack
/// fails, so that a check cannot silently stop being made. Use with [SkippableFact] / [SkippableTheory].
/// </summary>
internal static class Needs
{
    /// <summary>The system's ffmpeg, to make and to read compressed sound.</summary>
    public static void Ffmpeg() => Tool("ffmpeg", "-version");

    /// <summary>A program on the search path.</summary>
    /// <param name="name">Its command.</param>
    /// <param name="harmless">An argument with which it starts and ends at once.</param>
    public static void Tool(string name, string harmless = "--version") =>
        That(Starts(name, harmless), $"This test needs '{name}' on the search path.");

    /// <summary>Anything else that may be missing: a file, a browser, a share.</summary>
    public static void That(bool present, string reason)
    {
        if (!present && Environment.GetEnvironmentVariable("CI") == "true")
            Assert.Fail($"{reason} CI must have it: a skipped check there would go unseen.");
        Skip.IfNot(present, reason);
    }

    /// <summary>Runs a tool and returns its standard output; fails with its standard error when it fails.</summary>
    public static string Run(string name, params string[] arguments)
    {
        var start = new ProcessStartInfo(name) { RedirectStandardOutput = true, RedirectStandardError = true, RedirectStandardInput = true };
        foreach (string argument in arguments)
            start.ArgumentList.Add(argument);
        using Process process = Process.Start(start)!;
        process.StandardInput.Close();
        Task<string> errors = process.StandardError.ReadToEndAsync();
        string output = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        Assert.True(process.ExitCode == 0, $"{name} ended with {process.ExitCode}: {errors.Result}");
        return output;
    }

    private static bool Starts(string name, string harmless)
    {
        try
        {
            var start = new ProcessStartInfo(name) { RedirectStandardOutput = true, RedirectStandardError = true };
            start.ArgumentList.Add(harmless);
            using Process process = Process.Start(start)!;
            process.StandardOutput.ReadToEnd();
            process.WaitForExit();
            return true;
        }
        catch (System.ComponentModel.Win32Exception)
        {
            return false;
        }
    }
}
