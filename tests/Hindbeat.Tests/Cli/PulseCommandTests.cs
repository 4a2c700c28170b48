using System.Globalization;
using Hindbeat.Cli;
using Hindbeat.Performances;
using Hindbeat.Studies;

namespace Hindbeat.Tests.Cli;

/// <summary>
/// Correcting the pulse of a kept study as a person would, from a take of the Groove MIDI Dataset (Gillick et al., ICML 2019, CC BY 4.0;
/// origin beside the file): 92 bpm in 4/4, tick 0 a downbeat.
/// </summary>
public sealed class PulseCommandTests : IDisposable
{
    private const double Beat = 60.0 / 92;

    private readonly string _folder = Directory.CreateTempSubdirectory("hindbeat-pulse-").FullName;

    private readonly string _take = Path.Combine(LayerTests.RepositoryRoot(), "tests", "data", "groove-midi", "25_hiphop_92_beat_4-4.mid");

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    private Study Kept
    {
        get
        {
            StudyLibrary library = StudyLibrary.Open(Path.Combine(_folder, "library"));
            return library.Load(library.List().Single().Id)!;
        }
    }

    [Theory]
    [InlineData("halve", 46, "4/4", "--halve")]
    [InlineData("double", 184, "4/4", "--double")]
    [InlineData("meter 3/4", 92, "3/4", "--meter", "3/4")]
    [InlineData("bpm 46", 46, "4/4", "--bpm", "46")]
    public async Task A_correction_is_kept_and_done_again_after_a_new_listening(string words, double bpm, string meter, params string[] options)
    {
        await Study();
        int strokes = Kept.Performance.Hits.Count;
        string messages = await Run(["pulse", Kept.Id, .. options]);
        Assert.Contains($"Corrected and kept: {words}", messages, StringComparison.Ordinal);
        AssertPulse();
        await Run("edit", Kept.Id, "--listen-again");
        AssertPulse();

        void AssertPulse()
        {
            Assert.Equal(bpm, Kept.Performance.Pulse.MeanTempo.Value, 0.01 * bpm);
            Assert.Equal(Meter.Parse(meter), Kept.Performance.Meter);
            Assert.Equal(strokes, Kept.Performance.Hits.Count);
            Assert.Single(Kept.Corrections);
        }
    }

    [Fact]
    public async Task Bar_one_and_a_moved_beat_lie_where_they_were_set_after_a_new_listening()
    {
        await Study();
        await Run("pulse", Kept.Id, "--bar-one", Seconds(2 * Beat), "--beat", "2.3=" + Seconds((8.05 * Beat)));
        for (int round = 0; round < 2; round++)
        {
            Pulse pulse = Kept.Performance.Pulse;
            Assert.Equal(2 * Beat, pulse.Beats.Single(beat => beat is { Bar: 1, Number: 1 }).Time.TotalSeconds, 2);
            Assert.Equal(8.05 * Beat, pulse.Beats.Single(beat => beat is { Bar: 2, Number: 3 }).Time.TotalSeconds, 4);
            Assert.Equal(PulseSource.ByHand, pulse.Source);
            await Run("edit", Kept.Id, "--listen-again");
        }
    }

    [Fact]
    public async Task Taps_in_a_file_state_the_tempo()
    {
        await Study();
        // Taps a tenth of a second late on every beat at half the tempo, one left out, one uneven by 15 ms.
        double[] taps = [.. new[] { 0, 1, 2, 3, 5, 6, 7, 8 }.Select(k => 0.1 + (k * 2 * Beat) + (k == 3 ? 0.015 : 0))];
        string file = Path.Combine(_folder, "taps.txt");
        File.WriteAllLines(file, ["# tapped along", .. taps.Select(Seconds)]);
        string messages = await Run("pulse", Kept.Id, "--taps", file);
        Assert.Contains("8 taps: 46.0 bpm.", messages, StringComparison.Ordinal);
        Assert.Equal(46, Kept.Performance.Pulse.MeanTempo.Value, 0.1);
    }

    [Theory]
    [InlineData("0.5\nhalf\n1.5\n2\n2.5", "Line 2 of")]
    [InlineData("0.5\n1.0", "too few")]
    public async Task Taps_that_are_none_change_nothing(string text, string reason)
    {
        await Study();
        string file = Path.Combine(_folder, "taps.txt");
        File.WriteAllText(file, text);
        using var output = new StringWriter();
        using var messages = new StringWriter();
        Assert.Equal(1, await CommandLine.RunAsync(["pulse", Kept.Id, "--taps", file, "--library", Path.Combine(_folder, "library")], output, messages));
        Assert.Contains(reason, messages.ToString(), StringComparison.Ordinal);
        Assert.Empty(Kept.Corrections);
    }

    private Task<string> Study() => Run("study", _take, "--name", "pier");

    private async Task<string> Run(params string[] args)
    {
        using var output = new StringWriter();
        using var messages = new StringWriter();
        int code = await CommandLine.RunAsync([.. args, "--library", Path.Combine(_folder, "library")], output, messages);
        Assert.True(code == 0, messages.ToString());
        return messages.ToString();
    }

    private static string Seconds(double seconds) => seconds.ToString("0.####", CultureInfo.InvariantCulture);
}
