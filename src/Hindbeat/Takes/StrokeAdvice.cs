using System.Globalization;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Takes;

/// <summary>
/// Strokes that are left out, added, moved or played on another piece again and again at one place of the bar, a piece's places in one sentence.
/// What happens in every bar comes before what happens once in a phrase.
/// </summary>
internal static class StrokeAdvice
{
    /// <summary>A place left out or added in at least this share of its turns is worth a word.</summary>
    private const double OftenWrong = 0.25;

    /// <summary>At least so many times: once is a slip.</summary>
    private const int MoreThanASlip = 2;

    /// <summary>One stroke wrong in every bar weighs as much as a difference of five times what listeners could tell.</summary>
    private const double EveryBar = 5;

    /// <summary>A piece that comes as often, but in other bars, is varied, not forgotten.</summary>
    private const double Varied = 0.5;

    /// <summary>What was heard as another of the same family may be a mistake of hearing: one open hat in seven is (docs/accuracy.md).</summary>
    private const double EasilyConfused = 0.1;

    /// <summary>So many places are named.</summary>
    private const int MostPlaces = 4;

    /// <summary>In a subject no more are.</summary>
    private const int NamedInBrief = 2;

    /// <param name="Count">How often it went wrong.</param>
    /// <param name="Of">How often it was asked for; 0 = never.</param>
    private readonly record struct Wrong(KitPiece Piece, int Beat, Fraction Within, int Count, int Of)
    {
        public string Place => FeelFigures.Count(Beat, Within);
    }

    /// <param name="heard">Whether strokes were heard, in passage or take: what sounds alike is then easily taken for one another.</param>
    public static IEnumerable<TakeAdvice> Of(AlignedTake take, bool heard)
    {
        double bars = Bars(take);
        Dictionary<(KitPiece, int, Fraction), int> asked = Counts(take.Pairs.Select(one => one.Reference).Concat(take.Missed.Select(one => one.Reference)).Concat(take.Moved.Select(one => one.Reference)));
        Dictionary<(KitPiece, int, Fraction), int> missed = Counts(take.Missed.Select(one => one.Reference)), added = Counts(take.Extra.Where(hit => hit.Position is not null));
        var (gone, more, varied) = (new List<Wrong>(), new List<Wrong>(), new List<Wrong>());
        foreach (var (piece, beat, within) in missed.Keys.Union(added.Keys))
        {
            int m = missed.GetValueOrDefault((piece, beat, within)), e = added.GetValueOrDefault((piece, beat, within)), all = asked.GetValueOrDefault((piece, beat, within));
            if (Math.Min(m, e) >= MoreThanASlip && Math.Min(m, e) >= Varied * Math.Max(m, e) && Often(m, all))
                varied.Add(new Wrong(piece, beat, within, Math.Max(m, e), all));
            else if (Often(m, all))
                gone.Add(new Wrong(piece, beat, within, m, all));
            else if (Often(e, bars))
                more.Add(new Wrong(piece, beat, within, e, all));
        }

        return Each(gone, bars, 1, "is missing on", one => one.Count == one.Of ? AllTimes(one.Count) : $"{one.Count} of {one.Of} times")
            .Concat(Each(more, bars, 1, "is added on", one => Times(one.Count)))
            .Concat(Each(varied, bars, Varied, "comes about as often as in the passage, but in other bars, on", one => $"{one.Of} times there"))
            .Concat(Moved(take, asked, bars))
            .Concat(OnOtherPieces(take, bars, heard));
    }

    /// <summary>Words in a row, "and" before the last; more than <see cref="MostPlaces"/> are counted.</summary>
    public static string List(IReadOnlyList<string> words) => words.Count switch
    {
        1 => words[0],
        > MostPlaces + 1 => $"{string.Join(", ", words.Take(MostPlaces))} and {words.Count - MostPlaces} other places",
        _ => $"{string.Join(", ", words.Take(words.Count - 1))} and {words[^1]}",
    };

    private static IEnumerable<TakeAdvice> Each(List<Wrong> wrong, double bars, double share, string what, Func<Wrong, string> times)
    {
        foreach (IGrouping<KitPiece, Wrong> piece in wrong.GroupBy(one => one.Piece))
        {
            Wrong[] places = [.. piece.OrderByDescending(one => one.Count).ThenBy(one => one.Beat).ThenBy(one => one.Within)];
            string named = List([.. places.Select(one => $"{one.Place} ({times(one)})")]);
            yield return new TakeAdvice(places.Length <= NamedInBrief ? $"the {piece.Key.Name()} on {List([.. places.Select(one => one.Place)])}" : $"the {piece.Key.Name()} at {places.Length} places", share * Weight(places.Sum(one => one.Count), bars), $"The {piece.Key.Name()} {what} {named}.");
        }
    }

    private static IEnumerable<TakeAdvice> Moved(AlignedTake take, Dictionary<(KitPiece, int, Fraction), int> asked, double bars)
    {
        foreach (var group in take.Moved.GroupBy(one => Slot(one.Reference)))
        {
            int count = group.Count(), all = asked[group.Key];
            if (!Often(count, all))
                continue;
            double beats = group.Average(one => one.Beats);
            string name = $"{group.Key.Piece.Name()} on {FeelFigures.Count(group.Key.Beat, group.Key.Within)}";
            yield return new TakeAdvice($"the {name}", Weight(count, bars), string.Create(CultureInfo.InvariantCulture,
                $"The {name} is played {Math.Abs(beats):0.00} beats {(beats > 0 ? "too late" : "too early")} {(count == all ? AllTimes(count) : $"{count} of {all} times")}: at another place of the bar."));
        }
    }

    private static IEnumerable<TakeAdvice> OnOtherPieces(AlignedTake take, double bars, bool heard)
    {
        foreach (var group in take.Pairs.Where(one => one.OnOtherPiece).GroupBy(one => (one.Reference.Piece, Played: one.Take.Piece)))
        {
            int count = group.Count(), all = take.Pairs.Count(one => one.Reference.Piece == group.Key.Piece);
            if (!Often(count, all))
                continue;
            bool alike = heard && group.Key.Piece.Family() == group.Key.Played.Family();
            yield return new TakeAdvice($"{group.Key.Played.Name()} for {group.Key.Piece.Name()}", (alike ? EasilyConfused : 1) * Weight(count, bars), string.Create(CultureInfo.InvariantCulture,
                $"Where the passage has the {group.Key.Piece.Name()} you play the {group.Key.Played.Name()} ({(count == all ? AllTimes(count) : $"{count} of {all} times")}){(alike ? ", or so it was heard: the two are easily taken for one another" : "")}."));
        }
    }

    private static double Weight(int count, double bars) => EveryBar * Math.Min(1, count / bars);

    /// <summary>Bars that were played, at least one.</summary>
    private static double Bars(AlignedTake take) => Math.Max(1, take.Performance.Hits.Where(hit => hit.Position is not null).Select(hit => hit.Position!.Value.Bar).Distinct().Count());

    private static Dictionary<(KitPiece Piece, int Beat, Fraction Within), int> Counts(IEnumerable<Hit> hits) => hits.GroupBy(Slot).ToDictionary(slot => slot.Key, slot => slot.Count());

    private static (KitPiece Piece, int Beat, Fraction Within) Slot(Hit hit) => (hit.Piece, hit.Position!.Value.Beat, hit.Position!.Value.Within);

    private static bool Often(int count, double all) => count >= MoreThanASlip && count >= OftenWrong * all;

    private static string Times(int count) => count == 2 ? "twice" : $"{count.ToString(CultureInfo.InvariantCulture)} times";

    private static string AllTimes(int count) => count == 2 ? "both times" : $"all {count.ToString(CultureInfo.InvariantCulture)} times";
}
