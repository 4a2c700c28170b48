using System.Numerics.Tensors;
using Hindbeat.Units;

namespace Hindbeat.Sound;

/// <summary>
/// Makes a recording of drums slower or faster, pitch kept, attacks untouched. Each attack is copied sample for
/// sample to its new moment; only what rings between two attacks is stretched, by a phase vocoder whose
/// frames never reach over the next attack.
/// </summary>
/// <remarks>
/// Phase vocoder with identity phase locking (J. Laroche, M. Dolson, "Improved phase vocoder time-scale
/// modification of audio", IEEE Trans. Speech and Audio Processing 7(3), 1999). Where we differ: phases
/// are carried by unit complex numbers between two frames one synthesis hop apart, so no angle is
/// unwrapped; both channels turn by the phase of their sum, which keeps the stereo picture; after each
/// attack the vocoder starts anew as an exact copy, so attack and ringing join in phase.
/// Moments: an attack at t seconds comes at t/speed within half a sample.
/// </remarks>
public static class AttackTrueStretch
{
    /// <summary>25 % to 150 % of the speed.</summary>
    public const double SlowestSpeed = 0.25;
    public const double FastestSpeed = 1.5;

    /// <summary>Copied before an onset, or a sixth of the gap to the attack before where that is less.</summary>
    private const double BeforeSeconds = 0.005;
    private const int BeforeShareOfGap = 6;

    /// <summary>This much before the next onset may already be its foot; it is not read with what rings before.</summary>
    private const double FootSeconds = 0.0003;

    /// <summary>Copied after an onset, or up to the next attack where that is nearer. In a room's microphones a snare needs up to 30 ms to its peak.</summary>
    private const double AfterSeconds = 0.034;

    /// <summary>Blend between stretched and copied sound; it ends before the onset, which is copied alone.</summary>
    private const double BlendSeconds = 0.004;
    private const double BlendShareOfBefore = 0.7;
    private const int BlendShareOfHead = 8;

    /// <summary>
    /// Attacks nearer than this are copied together. Not more: a kick 18 ms behind the hats must lie 72 ms behind
    /// them at a quarter of the speed, or the slowed recording would hide what it is slowed for; and two together are off by
    /// three times their distance there, 1.5 ms.
    /// </summary>
    private const double TogetherSeconds = 0.0005;

    /// <summary>Receives the next frames; the spans are reused after it returns.</summary>
    public delegate void Sink(ReadOnlySpan<float> left, ReadOnlySpan<float> right);

    /// <param name="sound">The passage.</param>
    /// <param name="attacks">Onsets in seconds from the sound's start, ascending; those outside are ignored.</param>
    /// <param name="speed">Share of the recording's speed, 0.25 to 1.5.</param>
    /// <exception cref="InputException">The speed is out of range, or the result too long to hold in memory.</exception>
    public static StereoSound Stretch(StereoSound sound, IReadOnlyList<double> attacks, double speed)
    {
        long length = FramesOf(sound, speed);
        if (length > Array.MaxLength)
            throw new InputException("The slowed recording is too long to hold in memory; write it to a file instead.");
        var left = new float[length];
        var right = new float[length];
        int done = 0;
        Stream(sound, attacks, speed, (l, r) =>
        {
            l.CopyTo(left.AsSpan(done));
            r.CopyTo(right.AsSpan(done));
            done += l.Length;
        });
        return new StereoSound(left, right, sound.SampleRate);
    }

    /// <summary>How long the sound becomes: its length over the speed, rounded.</summary>
    /// <exception cref="InputException">The speed is out of range.</exception>
    public static long FramesOf(StereoSound sound, double speed)
    {
        ArgumentNullException.ThrowIfNull(sound);
        if (!(speed >= SlowestSpeed && speed <= FastestSpeed))
            throw new InputException(FormattableString.Invariant($"A speed of {100 * speed:0.#} % cannot be made; give {100 * SlowestSpeed:0} to {100 * FastestSpeed:0} %."));
        return (long)Math.Round(sound.Left.Length / speed);
    }

    /// <summary>
    /// The same piece by piece, from attack to attack: beside the recording itself nothing is held but the longest piece.
    /// </summary>
    public static void Stream(StereoSound sound, IReadOnlyList<double> attacks, double speed, Sink sink, CancellationToken cancel = default)
    {
        ArgumentNullException.ThrowIfNull(attacks);
        ArgumentNullException.ThrowIfNull(sink);
        long length = FramesOf(sound, speed);
        if (speed == 1)
        {
            sink(sound.Left, sound.Right);
            return;
        }

        int rate = sound.SampleRate;
        List<Attack> places = Places(attacks, sound.Left.Length, rate, speed);
        int after = (int)(AfterSeconds * rate);
        int blend = (int)(BlendSeconds * rate);
        int foot = (int)(FootSeconds * rate);
        var vocoders = new Dictionary<int, RingingStretcher>();
        var end = new Attack(sound.Left.Length, length, 0);
        // What is left of one piece while the next one fades in over it.
        var restLeft = new float[blend];
        var restRight = new float[blend];
        for (int i = -1; i < places.Count; i++)
        {
            cancel.ThrowIfCancellationRequested();
            // What rings from this attack (or from the sound's start) to the next one (or to its end).
            Attack here = i < 0 ? new Attack(0, 0, 0) : places[i];
            Attack next = i + 1 < places.Count ? places[i + 1] : end;
            int frames = (int)(next.NewAt - next.Before - here.NewAt + here.Before);
            if (frames <= 0)
                continue;
            int to = next.At - Math.Min(foot, next.Before);
            int room = Math.Min(to - here.At, frames - here.Before);
            int head = i < 0 ? 0 : here.Before + Math.Min(after, Math.Max(1, room));
            int frame = FrameFor((int)Math.Min(next.At - here.At, next.NewAt - here.NewAt));
            if (!vocoders.TryGetValue(frame, out RingingStretcher? vocoder))
                vocoders[frame] = vocoder = new RingingStretcher(frame);
            int blendIn = BlendOf(here);
            int blendOut = BlendOf(next);
            vocoder.Stretch(sound, new RingingStretcher.Segment(
                From: here.At - here.Before, Head: head, To: to, Length: frames,
                BlendIn: blendIn, BlendHead: Math.Min(blend, head / BlendShareOfHead), BlendOut: blendOut));
            Span<float> left = vocoder.Left[..frames];
            Span<float> right = vocoder.Right[..frames];
            TensorPrimitives.Add(left[..blendIn], restLeft.AsSpan(0, blendIn), left);
            TensorPrimitives.Add(right[..blendIn], restRight.AsSpan(0, blendIn), right);
            vocoder.Left.Slice(frames, blendOut).CopyTo(restLeft);
            vocoder.Right.Slice(frames, blendOut).CopyTo(restRight);
            sink(left, right);
        }

        int BlendOf(Attack attack) => Math.Min(blend, (int)(BlendShareOfBefore * attack.Before));
    }

    /// <summary>An attack in samples, where it comes to lie, and how much before it is copied with it.</summary>
    private readonly record struct Attack(int At, long NewAt, int Before);

    /// <summary>Attacks as far apart as they must be. New moments are whole samples: an attack moved by a fraction would be interpolated.</summary>
    private static List<Attack> Places(IReadOnlyList<double> attacks, int length, int rate, double speed)
    {
        int most = (int)(BeforeSeconds * rate);
        var places = new List<Attack>();
        foreach (double attack in attacks)
        {
            int at = (int)Math.Round(attack * rate);
            if (at < 0 || at >= length)
                continue;
            long newAt = (long)Math.Round(at / speed);
            if (places.Count == 0)
            {
                places.Add(new Attack(at, newAt, (int)Math.Min(most, Math.Min(at, newAt))));
                continue;
            }

            int gap = (int)Math.Min(at - places[^1].At, newAt - places[^1].NewAt);
            if (gap >= TogetherSeconds * rate)
                places.Add(new Attack(at, newAt, Math.Min(most, gap / BeforeShareOfGap)));
        }

        return places;
    }

    /// <summary>As long as fits well into the gap: long frames for cymbals' ringing, short ones between quick strokes.</summary>
    private static int FrameFor(int gap) => gap switch
    {
        > 5000 => 2048,
        > 2500 => 1024,
        > 1200 => 512,
        > 600 => 256,
        _ => 128,
    };
}
