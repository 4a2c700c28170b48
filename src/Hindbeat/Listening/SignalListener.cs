using System.Numerics.Tensors;
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

    /// <summary>Steady noise or a held tone gives a few doubtful moments; a passage worth a study has two strokes surer than this.</summary>
    private const double SureEnough = 0.8;

    /// <summary>Pieces struck within this time are one stroke of the player.</summary>
    private static readonly Seconds OneMoment = Seconds.FromMilliseconds(50);

    /// <summary>−100 dBFS: below lies nothing that a microphone heard.</summary>
    private const float SilentPower = 1e-10f;

    private readonly PieceTemplates _templates = PieceTemplates.Generic();
    private readonly StrokeJudge _judge = StrokeJudge.Shipped();

    public string Name => "signal 1";

    public ListeningResult Listen(MonoSound sound, (AudioTime From, AudioTime To)? passage = null, IProgress<double>? progress = null, CancellationToken cancel = default)
    {
        ArgumentNullException.ThrowIfNull(sound);
        if (sound.SampleRate != MonoSound.AnalysisRate)
            throw new ArgumentException($"Listening works at {MonoSound.AnalysisRate} Hz, the sound is at {sound.SampleRate} Hz.", nameof(sound));
        (AudioTime from, AudioTime to) = PassageLimits(sound, passage);
        long first = Math.Max(0, (long)(from - Margin).ToSample(MonoSound.AnalysisRate));
        long end = Math.Min(sound.Length, (long)Math.Ceiling((to + Margin).ToSample(MonoSound.AnalysisRate)));

        BandPowers powers = BandPowers.Of(sound, first, end, progress, cancel);
        RefuseSilence(powers);
        OnsetStrength strength = StrengthMeter.Measure(powers);
        HeardMoments heard = HeardMoments.Find(powers, strength, _templates, cancel);
        List<Hit> hits = FlamFinder.Merge(Refined(sound, powers, heard, from, to, cancel));
        List<Hit> sure = hits.FindAll(hit => hit.Confidence >= SureEnough);
        if (sure.Count == 0)
            throw new InputException("No drum stroke was heard; is this a recording of drums, and does the passage lie where they play?");
        if (sure[^1].Time - sure[0].Time < OneMoment)
            throw new InputException($"Only one stroke was heard, at {sure[0].Time.TotalSeconds:0.00} s; a study needs a passage of several.");
        return new ListeningResult(StrokeLevels.Grade(hits), strength, ListeningCheck.Doubts(sound, powers, heard, hits, first, end));
    }

    private static (AudioTime From, AudioTime To) PassageLimits(MonoSound sound, (AudioTime From, AudioTime To)? passage)
    {
        AudioTime length = AudioTime.Zero + sound.Duration;
        if (sound.Length == 0)
            throw new InputException("The recording holds no sound at all.");
        if (passage is not { } limits)
            return (AudioTime.Zero, length);
        if (limits.From >= limits.To)
            throw new InputException($"The passage ends at {limits.To.TotalSeconds:0.###} s, not after its start at {limits.From.TotalSeconds:0.###} s.");
        if (limits.From >= length || limits.To <= AudioTime.Zero)
            throw new InputException($"The passage from {limits.From.TotalSeconds:0.###} s lies outside the recording of {length.TotalSeconds:0.###} s; are the times in seconds?");
        return (limits.From < AudioTime.Zero ? AudioTime.Zero : limits.From, limits.To > length ? length : limits.To);
    }

    private static void RefuseSilence(BandPowers powers)
    {
        float loudest = 0;
        for (int i = 0; i < powers.Frames; i++)
        {
            float power = TensorPrimitives.Sum(powers.At(i));
            if (!float.IsFinite(power))
                throw new InputException("The recording holds samples that are not numbers; was the file damaged or written by a faulty program?");
            loudest = Math.Max(loudest, power);
        }

        if (loudest < SilentPower)
            throw new InputException("The recording is silent here; is it the right channel and passage?");
    }

    private List<Hit> Refined(MonoSound sound, BandPowers powers, HeardMoments heard, AudioTime from, AudioTime to, CancellationToken cancel)
    {
        List<Hit> hits = [];
        OnsetRefiner refiner = new(OnsetRefiner.MetalBand(powers));
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
