using System.Numerics.Tensors;
using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Listening;

/// <summary>The part of a recording that is listened to, and what makes it unfit for it.</summary>
/// <param name="From">Strokes from here on count.</param>
/// <param name="To">Strokes before this count.</param>
/// <param name="First">First sample to listen to: a margin before the passage where there is one.</param>
/// <param name="End">One past the last sample to listen to.</param>
internal readonly record struct ListenedPassage(AudioTime From, AudioTime To, long First, long End)
{
    /// <summary>Steady noise or a held tone gives a few doubtful moments; a passage worth a study has two strokes surer than this.</summary>
    private const double SureEnough = 0.8;

    /// <summary>Pieces struck within this time are one stroke of the player.</summary>
    private static readonly Seconds OneMoment = Seconds.FromMilliseconds(50);

    /// <summary>−100 dBFS: below lies nothing that a microphone heard.</summary>
    private const float SilentPower = 1e-10f;

    /// <exception cref="InputException">No sound, or a passage that is empty or lies outside of it.</exception>
    public static ListenedPassage Of(MonoSound sound, (AudioTime From, AudioTime To)? passage, Seconds margin)
    {
        if (sound.SampleRate != MonoSound.AnalysisRate)
            throw new ArgumentException($"Listening works at {MonoSound.AnalysisRate} Hz, the sound is at {sound.SampleRate} Hz.", nameof(sound));
        (AudioTime from, AudioTime to) = Limits(sound, passage);
        long first = Math.Max(0, (long)((from.TotalSeconds - margin.Value) * MonoSound.AnalysisRate));
        long end = Math.Min(sound.Length, (long)Math.Ceiling((to + margin).ToSample(MonoSound.AnalysisRate)));
        return new ListenedPassage(from, to, first, end);
    }

    /// <exception cref="InputException">Silence, or samples that are not numbers.</exception>
    public static void RefuseSilence(BandPowers powers)
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

    /// <exception cref="InputException">No stroke at all, or only one.</exception>
    public static void RefuseFewStrokes(List<Hit> hits)
    {
        List<Hit> sure = hits.FindAll(hit => hit.Confidence >= SureEnough);
        if (sure.Count == 0)
            throw new InputException("No drum stroke was heard; is this a recording of drums, and does the passage lie where they play?");
        if (sure[^1].Time - sure[0].Time < OneMoment)
            throw new InputException($"Only one stroke was heard, at {sure[0].Time.TotalSeconds:0.00} s; a study needs a passage of several.");
    }

    private static (AudioTime From, AudioTime To) Limits(MonoSound sound, (AudioTime From, AudioTime To)? passage)
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
}
