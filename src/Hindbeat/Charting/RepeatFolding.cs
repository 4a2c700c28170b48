using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>
/// Finds the bars that repeat and writes them once between repeat signs. Two bars are the same when their page
/// would be: strokes, places, values and marks, not loudness or timing. What is kept stands for all: its strokes carry
/// the mean loudness and the mean deviation of their repeats.
/// </summary>
public static class RepeatFolding
{
    /// <summary>Longest stretch looked for, in bars: an eight-bar phrase.</summary>
    private const int LongestStretch = 8;

    /// <summary>A shorter stretch is preferred unless a longer one saves more bars.</summary>
    public static Chart Fold(Chart chart)
    {
        ArgumentNullException.ThrowIfNull(chart);
        string[] looks = [.. chart.Bars.Select(Look)];
        var bars = new List<ChartBar>();
        for (int at = 0; at < looks.Length;)
        {
            (int length, int times) = BestAt(looks, at, chart.Bars);
            if (times == 1)
            {
                bars.Add(chart.Bars[at++]);
                continue;
            }

            for (int i = 0; i < length; i++)
            {
                int first = at + i;
                ChartBar mean = Mean([.. Enumerable.Range(0, times).Select(round => chart.Bars[first + (round * length)])]);
                bars.Add(mean with { RepeatBegins = i == 0, RepeatTimes = i == length - 1 ? times : 1 });
            }

            at += length * times;
        }

        return chart with { Bars = bars };
    }

    /// <summary>The bars as they are played, repeats written out.</summary>
    public static IReadOnlyList<ChartBar> InPlayingOrder(IReadOnlyList<ChartBar> bars)
    {
        ArgumentNullException.ThrowIfNull(bars);
        var played = new List<ChartBar>(bars.Count);
        int begin = 0;
        for (int i = 0; i < bars.Count; i++)
        {
            if (bars[i].RepeatBegins)
                begin = i;
            played.Add(bars[i]);
            for (int round = 1; round < bars[i].RepeatTimes; round++)
                played.AddRange(bars.Skip(begin).Take(i - begin + 1));
        }

        return played;
    }

    private static (int Length, int Times) BestAt(string[] looks, int at, IReadOnlyList<ChartBar> bars)
    {
        (int Length, int Times) best = (1, 1);
        if (bars[at].IsPickup)
            return best;
        for (int length = 1; length <= LongestStretch && at + (2 * length) <= looks.Length; length++)
        {
            int times = 1;
            while (at + ((times + 1) * length) <= looks.Length && SameStretch(looks, at, at + (times * length), length))
                times++;
            if ((times - 1) * length > (best.Times - 1) * best.Length)
                best = (length, times);
        }

        return best;
    }

    private static bool SameStretch(string[] looks, int first, int second, int length) =>
        looks.AsSpan(first, length).SequenceEqual(looks.AsSpan(second, length));

    private static string Look(ChartBar bar) => string.Join('|', bar.Voices.Select(voice => string.Join(' ', voice.Events.Select(happening =>
        $"{happening.At}:{happening.Value}:{happening.Hidden}:{string.Join(',', happening.Notes.Select(note => $"{note.Piece}{note.Marks}{note.Graces.Count}{note.Stick}"))}"))));

    private static ChartBar Mean(IReadOnlyList<ChartBar> bars)
    {
        return bars[0] with { Hands = Mean(bar => bar.Hands), Feet = Mean(bar => bar.Feet) };

        ChartVoice Mean(Func<ChartBar, ChartVoice> voice) => voice(bars[0]) with
        {
            Events = [.. voice(bars[0]).Events.Select((happening, e) => happening with
            {
                Notes = [.. happening.Notes.Select((note, n) => note with
                {
                    Velocity = (int)Math.Round(bars.Average(bar => voice(bar).Events[e].Notes[n].Velocity)),
                    Deviation = Seconds.Of(bars.Average(bar => voice(bar).Events[e].Notes[n].Deviation.Value)),
                })],
            })],
        };
    }
}
