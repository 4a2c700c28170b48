using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Listening;

/// <summary>
/// Hears strokes with a trained network that says what was struck and about when; a second one weighs every stroke beside all others of the passage; the waveform says exactly when and
/// how loud.
/// </summary>
/// <remarks>docs/decisions/listening-learned.md says what each step adds.</remarks>
public sealed class LearnedListener : IListener
{
    /// <summary>The network looks this far to either side of a passage: more than the half second it needs around a stroke.</summary>
    private static readonly Seconds Margin = Seconds.FromMilliseconds(1000);

    /// <summary>A recording that begins on a stroke is heard from this many samples (0.25 s) before it begins, in silence: in the first column nothing rises that was not seen lower before.</summary>
    private const int Quiet = 25 * ListenerPictures.Hop;

    private readonly ListenerModel _model;
    private readonly StrokeTiming _timing;

    private readonly bool _compares;

    private LearnedListener(ListenerModel model, StrokeTiming timing, bool compares) => (_model, _timing, _compares) = (model, timing, compares);

    public string Name => "learned 2";

    /// <summary>The learned listener; the signal listener, with a doubt, where the model cannot run.</summary>
    public static IListener OrSignal() => OrSignal(ListenerModel.Shipped());

    /// <param name="loaded">The model, or why there is none.</param>
    internal static IListener OrSignal((ListenerModel? Model, string? Why) loaded) =>
        loaded.Model is null ? new FallbackListener(loaded.Why!) : new LearnedListener(loaded.Model, StrokeTiming.OwnShapes, compares: true);

    /// <summary>With times followed less far or strokes not compared, to measure what each step adds.</summary>
    /// <exception cref="InputException">The model cannot run here.</exception>
    internal static LearnedListener Only(StrokeTiming timing, bool compares = true)
    {
        (ListenerModel? model, string? why) = ListenerModel.Shipped();
        return new LearnedListener(model ?? throw new InputException($"The learned listener cannot be used: {why}."), timing, compares);
    }

    public ListeningResult Listen(MonoSound sound, (AudioTime From, AudioTime To)? passage = null, IProgress<double>? progress = null, CancellationToken cancel = default)
    {
        ArgumentNullException.ThrowIfNull(sound);
        (AudioTime from, AudioTime to, long first, long end) = ListenedPassage.Of(sound, passage, Margin);
        BandPowers powers = BandPowers.Of(sound, first, end, null, cancel);
        ListenedPassage.RefuseSilence(powers);
        OnsetStrength strength = StrengthMeter.Measure(powers);
        bool fromBeginning = first == 0;
        long quiet = fromBeginning ? -Quiet : first;
        (ListenerCurves curves, MomentViews views) = ListenerCurves.Of(_model, sound, quiet, end, progress, cancel);
        List<CurveStroke> strokes = _compares
            ? CurveStrokes.Find(curves, ComparedMoments.Of(_model.Comparer, views, cancel))
            : CurveStrokes.Find(curves, _model.Thresholds);
        double metalHertz = OnsetRefiner.MetalBand(powers);
        List<Hit> timed = Timed(sound, metalHertz, strokes, from, to, cancel);
        List<Hit> hits = FlamFinder.Merge(fromBeginning ? FirstMoment.Judge(timed) : timed);
        ListenedPassage.RefuseFewStrokes(hits);
        List<(int, int)> clear = [.. hits.Where(hit => hit.Confidence >= 0.8).Select(hit => powers.FrameOf(hit.Time.ToSample(MonoSound.AnalysisRate))).Select(frame => (frame, frame))];
        Hit[] graded = StrokeLevels.Mark(hits);
        return new ListeningResult(StrokeMarks.Add(graded, powers, metalHertz), strength, ListeningCheck.Doubts(sound, powers, clear, hits, first, end));
    }

    private List<Hit> Timed(MonoSound sound, double metalHertz, List<CurveStroke> strokes, AudioTime from, AudioTime to, CancellationToken cancel)
    {
        double[] placed = new StrokePlacer(sound, strokes, metalHertz, _timing).Place(cancel);
        (Level Level, int Velocity)[] strengths = StrokeStrengths.Of(sound, strokes, placed, metalHertz, _model.Loudness, cancel);
        List<Hit> hits = [];
        for (int i = 0; i < strokes.Count; i++)
        {
            AudioTime time = AudioTime.FromSample(Math.Max(0, placed[i]), MonoSound.AnalysisRate);
            if (time >= from && time < to)
                hits.Add(new Hit(time, strokes[i].Piece, strengths[i].Velocity, strengths[i].Level, _compares ? HitConfidence.Of(strokes[i].Certainty, HitConfidence.AsSaid) : HitConfidence.Of(strokes[i].Certainty, _model.Calibration[(int)strokes[i].Family])));
        }

        hits.Sort((a, b) => a.Time != b.Time ? a.Time.CompareTo(b.Time) : a.Piece.CompareTo(b.Piece));
        return hits;
    }

    /// <summary>The signal listener, saying why the better one was not used.</summary>
    private sealed class FallbackListener(string why) : IListener
    {
        private readonly SignalListener _signal = new();

        public string Name => _signal.Name;

        public ListeningResult Listen(MonoSound sound, (AudioTime From, AudioTime To)? passage, IProgress<double>? progress, CancellationToken cancel)
        {
            ListeningResult heard = _signal.Listen(sound, passage, progress, cancel);
            return heard with { Doubts = [.. heard.Doubts, new HeardWithoutModel(why)] };
        }
    }
}
