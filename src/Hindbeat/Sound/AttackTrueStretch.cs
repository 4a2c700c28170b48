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

    /// <summary>Copied before an onset: heard onsets scatter by a few milliseconds.</summary>
    private const double BeforeSeconds = 0.005;

    /// <summary>Copied after an onset, or half the gap to the next where that is less. A snare needs up to 25 ms to its peak.</summary>
    private const double AfterSeconds = 0.028;

    /// <summary>Blend between stretched and copied sound.</summary>
    private const double BlendSeconds = 0.004;

    /// <summary>
    /// Attacks nearer than this are copied together. Not more: a kick 18 ms behind the hats must lie 72 ms behind
    /// them at a quarter of the speed, or the slowed recording would hide what it is slowed for.
    /// </summary>
    private const double TogetherSeconds = 0.001;

    /// <param name="sound">The passage.</param>
    /// <param name="attacks">Onsets in seconds from the sound's start, ascending; those outside are ignored.</param>
    /// <param name="speed">Share of the recording's speed, 0.25 to 1.5.</param>
    /// <exception cref="InputException">The speed is out of range.</exception>
    public static StereoSound Stretch(StereoSound sound, IReadOnlyList<double> attacks, double speed)
    {
        ArgumentNullException.ThrowIfNull(sound);
        ArgumentNullException.ThrowIfNull(attacks);
        if (!(speed >= SlowestSpeed && speed <= FastestSpeed))
            throw new InputException(FormattableString.Invariant($"A speed of {100 * speed:0.#} % cannot be made; give {100 * SlowestSpeed:0} to {100 * FastestSpeed:0} %."));
        int rate = sound.SampleRate;
        int length = (int)Math.Min(Array.MaxLength, Math.Round(sound.Left.Length / speed));
        var left = new float[length];
        var right = new float[length];
        List<(int From, int To)> groups = Groups(attacks, sound.Left.Length, rate);
        int before = (int)(BeforeSeconds * rate);
        var vocoders = new Dictionary<int, RingingStretcher>();
        for (int g = -1; g < groups.Count; g++)
        {
            // What rings from this attack (or from the sound's start) to the next one (or to its end).
            int at = g < 0 ? 0 : groups[g].From;
            int next = g + 1 < groups.Count ? groups[g + 1].From : sound.Left.Length;
            int newAt = NewPlace(at, speed);
            int newNext = g + 1 < groups.Count ? NewPlace(next, speed) : length;
            int head = g < 0 ? 0 : Math.Min(groups[g].To - at + (int)(AfterSeconds * rate), Math.Max(1, Math.Min(next - at, newNext - newAt) / 2));
            int frame = FrameFor(Math.Min(next - at, newNext - newAt));
            if (!vocoders.TryGetValue(frame, out RingingStretcher? vocoder))
                vocoders[frame] = vocoder = new RingingStretcher(frame);
            var segment = new RingingStretcher.Segment(
                From: g < 0 ? 0 : at - before, Head: head + (g < 0 ? 0 : before), To: next - before,
                NewFrom: g < 0 ? 0 : newAt - before, NewTo: newNext - (g + 1 < groups.Count ? before : 0));
            vocoder.Stretch(sound, segment, (int)(BlendSeconds * rate), left, right);
        }

        return new StereoSound(left, right, rate);
    }

    /// <summary>The new moment of an attack, in whole samples: an attack that is moved by a fraction would be interpolated.</summary>
    private static int NewPlace(int at, double speed) => (int)Math.Round(at / speed);

    /// <summary>First and last onset of each cluster, samples.</summary>
    private static List<(int From, int To)> Groups(IReadOnlyList<double> attacks, int length, int rate)
    {
        var groups = new List<(int From, int To)>();
        foreach (double attack in attacks)
        {
            int at = (int)Math.Round(attack * rate);
            if (at < (int)(BeforeSeconds * rate) || at >= length)
                continue;
            if (groups.Count > 0 && at - groups[^1].To < TogetherSeconds * rate)
                groups[^1] = (groups[^1].From, at);
            else
                groups.Add((at, at));
        }

        return groups;
    }

    /// <summary>As long as fits well into the gap: long frames for cymbals' ringing, short ones between quick strokes.</summary>
    private static int FrameFor(int gap) => gap switch
    {
        > 5000 => 2048,
        > 2500 => 1024,
        _ => 512,
    };
}
