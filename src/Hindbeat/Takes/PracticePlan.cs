using System.Globalization;
using Hindbeat.Units;

namespace Hindbeat.Takes;

/// <summary>A part of a practice session.</summary>
/// <param name="Tempo">Null where no tempo is kept: warm-up and rests.</param>
public sealed record PracticePart(string Name, TimeSpan Length, Bpm? Tempo, string Text);

/// <summary>
/// A session of practice: warm-up, work on one thing at a time with rests between, a take at the end, and the cautions that go
/// with repeating a movement and with loud sound.
/// </summary>
/// <remarks>Warm-up, short blocks and rests are what teachers advise (common practice, no source).</remarks>
public static class PracticePlan
{
    public const int FewestMinutes = 10, MostMinutes = 120;

    private const string RestText = "Hands off the sticks, shoulders down, ears out of the sound.";

    private const double WarmUpShare = 0.15, BlockMinutes = 6, RestMinutes = 2, TakeMinutes = 2;

    /// <param name="advice">What the last take asks for, most telling first; may be empty. What can wait is left out.</param>
    /// <exception cref="InputException">Fewer than 10 minutes or more than two hours.</exception>
    public static IReadOnlyList<PracticePart> Make(int minutes, Bpm tempo, IReadOnlyList<TakeMark> takes, IReadOnlyList<TakeAdvice> advice)
    {
        ArgumentNullException.ThrowIfNull(advice);
        if (minutes is < FewestMinutes or > MostMinutes)
            throw new InputException($"A session of {minutes} minutes cannot be planned; give {FewestMinutes} to {MostMinutes}.");
        Rung rung = PracticeLadder.Next(tempo, takes);
        TakeAdvice[] work = [.. advice.Where(one => one.IsTelling)];
        double left = minutes;
        var parts = new List<PracticePart>();
        Add("Warm-up", Math.Clamp(Math.Round(WarmUpShare * minutes), 3, 10), null, "Single and double strokes and slow feet, softly; no tempo.");
        for (int block = 0; left >= BlockMinutes + TakeMinutes - 0.01; block++)
        {
            if (block > 0)
                Add("Rest", RestMinutes, null, RestText);
            if (left < TakeMinutes + 1)
                break;
            string text = work.Length > 0
                ? work[block % work.Length].Text
                : "Play along with the rebuild as played, four times round, then without it.";
            Add(work.Length > 0 ? $"Work on {work[block % work.Length].Subject}" : "Play along", Math.Min(BlockMinutes, left - TakeMinutes), rung.Tempo, text);
        }

        if (left >= RestMinutes + TakeMinutes)
            Add("Rest", RestMinutes, null, RestText);
        Add("Take", left, rung.Tempo, string.Create(CultureInfo.InvariantCulture, $"Record the passage at {rung.Tempo.Value:0} bpm ({100 * rung.Share:0} % of its tempo), four times round and more."));
        return parts;

        void Add(string name, double length, Bpm? at, string text)
        {
            parts.Add(new PracticePart(name, TimeSpan.FromMinutes(length), at, text));
            left -= length;
        }
    }
}
