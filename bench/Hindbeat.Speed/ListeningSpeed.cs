using System.Diagnostics;
using System.Globalization;
using Hindbeat.Listening;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Speed;

/// <summary>Where does listening spend its time? Processor time of each part, so that a busy machine disturbs little.</summary>
internal static class ListeningSpeed
{
    public static void Print(string recording, int runs)
    {
        (ListenerModel? model, string? why) = ListenerModel.Shipped();
        if (model is null)
            throw new InputException($"The learned listener cannot be timed: {why}.");
        using LoadedSound loaded = SoundLoader.Load(recording);
        MonoSound sound = loaded.Analysis;
        BandPowers powers = BandPowers.Of(sound, 0, sound.Length, null, default);
        (ListenerCurves curves, MomentViews views) = ListenerCurves.Of(model, sound, 0, sound.Length, null, default);
        ComparedMoments compared = ComparedMoments.Of(model.Comparer, views, default);
        List<CurveStroke> strokes = CurveStrokes.Find(curves, compared);
        double metal = OnsetRefiner.MetalBand(powers);
        double seconds = sound.Duration.Value;
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"listening to {seconds:0} s, {strokes.Count} strokes; processor time, median of {runs}:"));
        Line("decoding", seconds, runs, () => SoundLoader.Load(recording).Dispose());
        Line("band powers", seconds, runs, () => BandPowers.Of(sound, 0, sound.Length, null, default));
        Line("onset strength", seconds, runs, () => StrengthMeter.Measure(powers));
        Line("pictures for the network", seconds, runs, () => Fill(new ListenerPictures(sound, 0, sound.Length)));
        Line("pictures, network, what is seen at moments", seconds, runs, () => ListenerCurves.Of(model, sound, 0, sound.Length, null, default));
        Line("moments compared", seconds, runs, () => ComparedMoments.Of(model.Comparer, views, default));
        Line("strokes from curves", seconds, runs, () => CurveStrokes.Find(curves, compared));
        Line("times, each stroke by itself", seconds, runs, () => new StrokePlacer(sound, strokes, metal, StrokeTiming.Waveform).Place(default));
        Line("times by the recording's own strokes", seconds, runs, () => new StrokePlacer(sound, strokes, metal, StrokeTiming.OwnShapes).Place(default));
        double[] placed = new StrokePlacer(sound, strokes, metal, StrokeTiming.OwnShapes).Place(default);
        Line("levels and velocities", seconds, runs, () => StrokeStrengths.Of(sound, strokes, placed, metal, model.Loudness, default));
        Line("all of listening", seconds, runs, () => LearnedListener.OrSignal().Listen(sound));
    }

    private static void Fill(ListenerPictures pictures)
    {
        const int Columns = 600;
        float[] broad = new float[Columns * MelPicture.Bands];
        float[] low = new float[Columns * MelPicture.Bands];
        for (int first = 0; first < pictures.Columns; first += Columns)
            pictures.Fill(first, Math.Min(Columns, pictures.Columns - first), broad, low);
    }

    private static void Line(string what, double seconds, int runs, Action act)
    {
        act();
        double[] times = new double[runs];
        for (int i = 0; i < runs; i++)
        {
            TimeSpan before = ProcessorTime();
            act();
            times[i] = (ProcessorTime() - before).TotalSeconds;
        }

        Array.Sort(times);
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"  {what,-50} {times[runs / 2],6:0.000} s  {1000 * times[runs / 2] / seconds,6:0.00} ms a second"));
    }

    private static TimeSpan ProcessorTime()
    {
        using Process me = Process.GetCurrentProcess();
        return me.TotalProcessorTime;
    }
}
