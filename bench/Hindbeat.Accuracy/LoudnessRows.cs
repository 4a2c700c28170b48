using Hindbeat.Listening;
using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Accuracy;

/// <summary>
/// What the listener knows of each heard stroke's loudness beside what was rendered, for training/fit_loudness.py. Single precision, a row a stroke: take, piece heard, piece struck (−1 = none within
/// 25 ms), velocity, level rendered (decibels between peaks), then what is known and the estimates as <see cref="LoudnessFeatures"/> has them.
/// </summary>
internal static class LoudnessRows
{
    private const double WindowMs = 25;
    private const double LeftOut = 0.2;

    /// <param name="seed">0 = takes as they were played; else of four takes one is, in one velocities are shuffled among each piece's strokes, in two strokes are left out as well and in one of these velocities are drawn anew.</param>
    public static void Write(string path, IReadOnlyList<GrooveTakes.Take> takes, RecordedKit kit, double seconds, int seed)
    {
        (ListenerModel? model, string? why) = ListenerModel.Shipped();
        if (model is null)
            throw new InputException($"The learned listener cannot be used: {why}.");
        using var file = new BinaryWriter(File.Create(path));
        string wav = Path.GetTempFileName();
        for (int take = 0; take < takes.Count; take++)
        {
            var random = new Random((seed * 1000) + take);
            int way = seed == 0 ? 0 : (seed + take) % 4;
            Truth truth = TakeRenderer.Render(takes[take], kit, seconds, wav, altered: hits => Altered(hits, random, way));
            using LoadedSound loaded = SoundLoader.Load(wav);
            Write(file, take, truth, loaded.Analysis, model);
        }

        File.Delete(wav);
    }

    private static void Write(BinaryWriter file, int take, Truth truth, MonoSound sound, ListenerModel model)
    {
        BandPowers powers = BandPowers.Of(sound, 0, sound.Length, null, default);
        (ListenerCurves curves, MomentViews views) = ListenerCurves.Of(model, sound, 0, sound.Length, null, default);
        List<CurveStroke> strokes = CurveStrokes.Find(curves, ComparedMoments.Of(model.Comparer, views, default));
        double metalHertz = OnsetRefiner.MetalBand(powers);
        double[] placed = new StrokePlacer(sound, strokes, metalHertz, StrokeTiming.OwnShapes).Place(default);
        LoudnessFeatures features = StrokeStrengths.Features(sound, strokes, placed, metalHertz, default);
        Dictionary<int, int> struck = Paired(truth, strokes, placed);
        for (int i = 0; i < strokes.Count; i++)
        {
            bool has = struck.TryGetValue(i, out int j);
            file.Write((float)take);
            file.Write((float)(int)strokes[i].Piece);
            file.Write(has ? (float)(int)truth.Hits[j].Piece : -1);
            file.Write(has ? (float)truth.Hits[j].Velocity : 0);
            file.Write(has ? (float)truth.Levels[j] : 0);
            foreach (float value in features.KnownOf(i))
                file.Write(value);
            foreach (float value in features.EstimatesOf(i))
                file.Write(value);
        }
    }

    /// <summary>The true stroke of each heard one, by index; families by themselves.</summary>
    private static Dictionary<int, int> Paired(Truth truth, List<CurveStroke> strokes, double[] placed)
    {
        Dictionary<int, int> struck = [];
        foreach (PieceFamily family in Enum.GetValues<PieceFamily>())
        {
            int[] mine = [.. Enumerable.Range(0, truth.Hits.Count).Where(i => truth.Hits[i].Piece.Family() == family)];
            int[] heard = [.. Enumerable.Range(0, strokes.Count).Where(i => strokes[i].Family == family).OrderBy(i => placed[i])];
            foreach (var (i, j) in Pairing.Nearest([.. mine.Select(i => truth.Hits[i].Time)], [.. heard.Select(i => placed[i] / MonoSound.AnalysisRate)], WindowMs))
                struck[heard[j]] = mine[i];
        }

        return struck;
    }

    private static List<Hit> Altered(List<Hit> hits, Random random, int way)
    {
        if (way >= 2)
            hits = [.. hits.Where(_ => random.NextDouble() >= LeftOut)];
        foreach (var piece in Enumerable.Range(0, hits.Count).GroupBy(i => hits[i].Piece))
        {
            int[] strokes = [.. piece];
            int[] velocities = [.. strokes.Select(i => hits[i].Velocity)];
            (int least, int most) = (random.Next(5, 60), random.Next(80, 128));
            if (way == 3)
                velocities = [.. velocities.Select(_ => random.Next(least, most))];
            else if (way > 0)
                random.Shuffle(velocities);
            for (int k = 0; k < strokes.Length; k++)
                hits[strokes[k]] = hits[strokes[k]] with { Velocity = velocities[k] };
        }

        return hits;
    }
}
