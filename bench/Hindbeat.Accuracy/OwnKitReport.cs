using System.Globalization;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat.Accuracy;

/// <summary>A recording rebuilt as played on its own kit and on the house kit: which stroke sounds nearer to the original?</summary>
internal sealed class OwnKitReport
{
    private readonly List<(string Recording, KitPiece Piece, double Own, double House)> _strokes = [];

    /// <summary>Strokes that could not play their own sound, since every other stroke was kept out of the kit.</summary>
    private readonly List<(string Recording, KitPiece Piece, double Own, double House)> _borrowed = [];

    /// <param name="folder">Where to leave the sounds for listening and looking; null = nowhere.</param>
    public void Add(string recording, string? folder)
    {
        Study study = StudyMaker.Make(recording, new StudyOptions());
        StereoSound sound = SoundLoader.LoadStereo(recording);
        float[] original = Mono(sound);
        Kit own = OwnKit.Cut(sound, AudioTime.Zero, study.Performance, HouseKit.Load()).Kit;
        var plan = RebuildPlan.Make(study.Performance, study.Feel, Dials.AsPlayed);
        var options = new RenderOptions { From = AudioTime.Zero };
        StereoSound onOwn = Renderer.Render(plan, own, MonoSound.AnalysisRate, options);
        StereoSound onHouse = Renderer.Render(plan, HouseKit.Load(), MonoSound.AnalysisRate, options);
        float[] a = AtLevelOf(original, Mono(onOwn), study);
        float[] b = AtLevelOf(original, Mono(onHouse), study);
        string name = Path.GetFileNameWithoutExtension(recording);
        foreach (Hit hit in study.Performance.Hits)
        {
            double time = hit.Time.TotalSeconds;
            _strokes.Add((name, hit.Piece, SpectralDistance.Of(original, a, time), SpectralDistance.Of(original, b, time)));
        }

        foreach (int parity in new[] { 0, 1 })
        {
            Kit half = own.With(sample => sample.Source is not { } from || from.Number % 2 == parity);
            float[] c = AtLevelOf(original, Mono(Renderer.Render(plan, half, MonoSound.AnalysisRate, options)), study);
            for (int i = 0; i < study.Performance.Hits.Count; i++)
            {
                Hit hit = study.Performance.Hits[i];
                if (i % 2 == parity || !half.Pieces.Contains(hit.Piece) || half.StrokesOf(hit.Piece)[0].Source is null)
                    continue;
                _borrowed.Add((name, hit.Piece, SpectralDistance.Of(original, c, hit.Time.TotalSeconds), SpectralDistance.Of(original, b, hit.Time.TotalSeconds)));
            }
        }

        if (folder is null)
            return;
        Directory.CreateDirectory(folder);
        WavFile.Write(Path.Combine(folder, $"{name}-original.wav"), new StereoSound(original, original, MonoSound.AnalysisRate), 16);
        WavFile.Write(Path.Combine(folder, $"{name}-own-kit.wav"), onOwn, 16);
        WavFile.Write(Path.Combine(folder, $"{name}-house-kit.wav"), onHouse, 16);
    }

    public void Print(TextWriter output)
    {
        output.WriteLine("## Own kit against house kit: log-spectral distance per stroke to the original, dB (median)");
        output.WriteLine();
        var table = new Table("of", "strokes", "own kit", "house kit", "own / house");
        foreach (var group in _strokes.GroupBy(stroke => stroke.Recording))
            Row(table, group.Key, [.. group]);
        foreach (var group in _strokes.GroupBy(stroke => stroke.Piece).OrderBy(group => group.Key))
            Row(table, group.Key.Name(), [.. group]);
        Row(table, "all", _strokes);
        Row(table, "on another stroke's sound", _borrowed);
        output.WriteLine(table);
    }

    private static void Row(Table table, string name, List<(string Recording, KitPiece Piece, double Own, double House)> strokes)
    {
        double own = Statistics.Median([.. strokes.Select(stroke => stroke.Own)]);
        double house = Statistics.Median([.. strokes.Select(stroke => stroke.House)]);
        table.Add(name, strokes.Count.ToString(CultureInfo.InvariantCulture), own.ToString("0.0", CultureInfo.InvariantCulture), house.ToString("0.0", CultureInfo.InvariantCulture), Table.Share(own / house));
    }

    private static float[] Mono(StereoSound sound)
    {
        float[] mono = [.. sound.Left.Zip(sound.Right, (left, right) => 0.5f * (left + right))];
        return Resampler.Resample(mono, sound.SampleRate, MonoSound.AnalysisRate);
    }

    /// <summary>One gain for the whole: equal power through the strokes' first 50 ms.</summary>
    private static float[] AtLevelOf(float[] original, float[] rebuilt, Study study)
    {
        double a = 0;
        double b = 0;
        foreach (Hit hit in study.Performance.Hits)
        {
            int from = (int)(hit.Time.TotalSeconds * MonoSound.AnalysisRate);
            for (int i = Math.Max(0, from); i < Math.Min(from + 2205, Math.Min(original.Length, rebuilt.Length)); i++)
            {
                a += original[i] * original[i];
                b += rebuilt[i] * rebuilt[i];
            }
        }

        float gain = (float)Math.Sqrt(a / b);
        return [.. rebuilt.Select(sample => sample * gain)];
    }
}
