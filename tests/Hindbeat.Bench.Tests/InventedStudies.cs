using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat.Bench.Tests;

/// <summary>
/// A library in a temporary folder with two studies of the engine's invented passage, whose every stroke is known: one with
/// its recording (the passage rendered to WAV), one whose recording is gone.
/// </summary>
internal sealed class InventedStudies
{
    private const ulong Seed = 7;

    public InventedStudies()
    {
        Folder = Directory.CreateTempSubdirectory("hindbeat-bench-").FullName;
        InventedPassage passage = InventedPassage.Make(Seed);
        // One stroke that fits no place and one that was hardly heard, as real recordings have them.
        Hit[] hits = [.. passage.Performance.Hits];
        hits[20] = hits[20] with { Position = null };
        hits[31] = hits[31] with { Confidence = 0.35 };
        var performance = new Performance(passage.Performance.Pulse, hits);
        FeelReport feel = FeelAnalysis.Measure(performance);
        string recording = Path.Combine(Folder, "late tram home.wav");
        StereoSound sound = Renderer.Render(RebuildPlan.Make(performance, feel, Dials.AsPlayed), HouseKit.Load());
        WavFile.Write(recording, sound, bits: 16);
        var info = new SoundInfo("late tram home.wav", sound.Duration.Value, sound.SampleRate, 2, new string('0', 64), "WAV, 16 bit", []);
        AudioTime to = AudioTime.Zero + sound.Duration;
        Whole = new Study("late-tram-home", "Late tram home", Created, recording, info, AudioTime.Zero, to, performance, feel, "46 bpm, half as fast", "invented", []);
        Gone = Whole with { Id = "lost", Name = "Harbour steps, second take", Source = Path.Combine(Folder, "lost.wav") };
        StudyLibrary library = StudyLibrary.Open(Folder);
        library.Save(Whole);
        library.Save(Gone);
        Summaries = library.List();
    }

    private static DateTimeOffset Created => new(2026, 1, 5, 20, 0, 0, TimeSpan.Zero);

    public string Folder { get; }
    public Study Whole { get; }
    public Study Gone { get; }
    public IReadOnlyList<StudySummary> Summaries { get; }

    public void Remove() => Directory.Delete(Folder, recursive: true);
}
