using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Listening;

/// <summary>
/// Hears strokes by signal processing: onset strength in bands, candidate moments, each explained as a sum of piece
/// templates that adapt to the recording, the evidence weighed, the time refined on the waveform.
/// </summary>
/// <remarks>docs/decisions/listening-first.md says why it is built so and what it reaches.</remarks>
public sealed class SignalListener : IListener
{
    /// <summary>Sound this long to either side of the passage is heard too, so that what rings at its start is no stroke.</summary>
    private static readonly Seconds Margin = Seconds.FromMilliseconds(250);

    private readonly PieceTemplates _templates = PieceTemplates.Generic();
    private readonly StrokeJudge _judge = StrokeJudge.Shipped();

    public string Name => "signal 1";

    public ListeningResult Listen(MonoSound sound, (AudioTime From, AudioTime To)? passage = null, IProgress<double>? progress = null, CancellationToken cancel = default)
    {
        ArgumentNullException.ThrowIfNull(sound);
        (AudioTime from, AudioTime to, long first, long end) = ListenedPassage.Of(sound, passage, Margin);

        BandPowers powers = BandPowers.Of(sound, first, end, progress, cancel);
        ListenedPassage.RefuseSilence(powers);
        OnsetStrength strength = StrengthMeter.Measure(powers);
        HeardMoments heard = HeardMoments.Find(powers, strength, _templates, cancel);
        double metalHertz = OnsetRefiner.MetalBand(powers);
        List<Hit> hits = FlamFinder.Merge(Refined(sound, powers, metalHertz, heard, from, to, cancel));
        ListenedPassage.RefuseFewStrokes(hits);
        return new ListeningResult(StrokeMarks.Add(StrokeLevels.Grade(hits), powers, metalHertz), strength, ListeningCheck.Doubts(sound, powers, [.. heard.Moments.Select(moment => moment.Candidate).Where(candidate => candidate.Rise >= 1).Select(candidate => (candidate.Frame, candidate.LastFrame))], hits, first, end));
    }

    private List<Hit> Refined(MonoSound sound, BandPowers powers, double metalHertz, HeardMoments heard, AudioTime from, AudioTime to, CancellationToken cancel)
    {
        List<Hit> hits = [];
        OnsetRefiner refiner = new(metalHertz);
        foreach (HeardStroke stroke in StrokeSorter.Strokes(powers, heard, _judge))
        {
            cancel.ThrowIfCancellationRequested();
            AudioTime time = AudioTime.FromSample(Math.Max(0, refiner.Refine(sound, stroke.Coarse, stroke.Family)), MonoSound.AnalysisRate);
            Level level = Level.FromAmplitude(Math.Sqrt(heard.Power(heard.Moments[stroke.Moment], stroke.Family)));
            if (time >= from && time < to)
                hits.Add(new Hit(time, stroke.Piece, 64, level, stroke.Probability));
        }

        hits.Sort((a, b) => a.Time != b.Time ? a.Time.CompareTo(b.Time) : a.Piece.CompareTo(b.Piece));
        return hits;
    }
}
