namespace Hindbeat.Rebuilding;

/// <summary>What to say beside sound that is made to be played along with, and beside a plan to practise by: one wording for console, bench and handouts.</summary>
/// <remarks>
/// A day's share of sound: 85 dB(A) for eight hours, half the time for each 3 dB more (NIOSH, Criteria for a recommended standard:
/// occupational noise exposure, 98-126, 1998), so 15 minutes at 100 dB(A). That drums reach 100 dB(A) at the stool, and
/// that short rests spare hands: common practice, no source.
/// </remarks>
public static class PracticeCare
{
    /// <summary>With any sound.</summary>
    public const string Loudness = "Start quietly: drums reach harmful levels fast on headphones.";

    /// <summary>With what is practised.</summary>
    public const string Strain =
        "Warm up first, keep the grip loose and rest when a rest is due. Stop at pain, numbness or tingling; if it comes back, see a doctor or physiotherapist who knows musicians.";

    /// <summary>With what is repeated: a set or a loop.</summary>
    public const string Repetition =
        "When you play along: protect your ears (drums reach 100 dB, where 15 minutes are a day's share), rest hands and ears every ten minutes, and stop when something hurts or the ears ring.";
}
