using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>
/// Finds the bars that repeat and writes them once between repeat signs. Two bars are the same when their page
/// would be: strokes, places, values and marks, not loudness or timing. On request bars also are when they are alike
/// (<see cref="LikeBars"/>). What is kept stands for all: its strokes carry the mean loudness and the mean deviation of
/// their repeats.
/// </summary>
public static class RepeatFolding
{
    /// <summary>Longest stretch looked for, in bars: an eight-bar phrase.</summary>
    private const int LongestStretch = 8;

    /// <summary>A shorter stretch is preferred unless a longer one saves more bars.</summary>
    /// <param name="alike">Bars that are alike repeat too, not only those that look the same.</param>
    public static Chart Fold(Chart chart, bool alike = false)
    {
        ArgumentNullException.ThrowIfNull(chart);
        string[] looks = [.. chart.Bars.Select(Look)];
        LikeBars? like = alike ? new LikeBars(chart) : null;
        bool Same(int first, int second) => looks[first] == looks[second] || like?.Are(first, second) == true;
        var bars = new List<ChartBar>();
        for (int at = 0; at < looks.Length;)
        {
            (int length, int times) = BestAt(Same, at, chart.Bars);
            if (times == 1)
            {
                bars.Add(chart.Bars[at++]);
                continue;
            }

            for (int i = 0; i < length; i++)
            {
                int first = at + i;
                List<int> rounds = [.. Enumerable.Range(0, times).Select(round => first + (round * length))];
                ChartBar mean = rounds.TrueForAll(bar => looks[bar] == looks[first]) || like is null
                    ? Mean([.. rounds.Select(bar => chart.Bars[bar])])
                    : like.Core(rounds) with { Number = chart.Bars[first].Number };
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

    private static (int Length, int Times) BestAt(Func<int, int, bool> same, int at, IReadOnlyList<ChartBar> bars)
    {
        (int Length, int Times) best = (1, 1);
        if (bars[at].IsPickup)
            return best;
        for (int length = 1; length <= LongestStretch && at + (2 * length) <= bars.Count; length++)
        {
            int times = 1;
            while (at + ((times + 1) * length) <= bars.Count && Enumerable.Range(at, length).All(bar => same(bar, bar + (times * length))))
                times++;
            if ((times - 1) * length > (best.Times - 1) * best.Length)
                best = (length, times);
        }

        return best;
    }

    private static string Look(ChartBar bar) => $"{bar.Meter}{bar.Start}" + string.Join('|', bar.Voices.Select(voice => string.Join(' ', voice.Events.Select(happening =>
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
