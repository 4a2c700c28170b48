using System.Globalization;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Rebuilding;
using Hindbeat.Takes;
using Hindbeat.Units;

namespace Hindbeat.Accuracy;

/// <summary>
/// Are known changes found when a take is compared with the passage it copies? Eight bars of a played take, on its click, are
/// the passage; four times round with one thing changed they are the take. Once with the drummer's own chance in both, once
/// with each drawn anew with the measured looseness, as two performances would be.
/// </summary>
internal static class ChangedTakesReport
{
    private const int Bars = 8, Rounds = 4, LeftOut = 3, MostOfATake = 3;

    /// <summary>Looser strokes than this leave their written places when drawn anew, ms.</summary>
    private const double LoosestMs = 20;

    /// <summary>Spread of kick, hats and ride that eight bars can tell 12 ms of the kick in.</summary>
    private const double TightMs = 8;

    /// <summary>A stroke farther than this from where its place, its piece and the tempo put it was written at a wrong place, ms.</summary>
    private const double FarthestMs = 60;

    private const double KickMs = 12, FromSwing = 1.2, ToSwing = 1.5, Slower = 1.06, LatencyMs = 40;

    /// <summary>By how chance is drawn.</summary>
    private static readonly string[] Tables = ["own", "anew", "tight", "wandering"];

    /// <summary>Where chance is the same in both, an interval may have no width.</summary>
    private const double Rounding = 1e-6;

    private enum Change
    {
        Nothing,
        KickLater,
        MoreSwing,
        StrokesLeftOut,
        SlowerTempo,
        RecordedLate,
    }

    private enum Chances
    {
        /// <summary>What the drummer did, in passage and take alike.</summary>
        Own,

        /// <summary>Each stroke its own, as wide as the piece's was.</summary>
        Independent,

        /// <summary>As a rebuild draws it: each piece apart from the others, tied from stroke to stroke as it was seen to be.</summary>
        Tied,
    }

    /// <param name="SpreadMs">What is left of each piece's lateness beyond swing, lay-back and habit, root mean square.</param>
    private sealed record Base(string Name, Performance Passage, FeelReport Feel, SwingLevel? Swings, IReadOnlyDictionary<KitPiece, double> SpreadMs)
    {
        public double LoosestMs => SpreadMs.Values.Max();

        public double TimeMs => SpreadMs.Where(pair => pair.Key == KitPiece.Kick || Hand.KeepsTime(Hand.StreamOf(pair.Key))).Max(pair => pair.Value);
    }

    private sealed class Tally
    {
        public int Cases { get; set; }
        public int Found { get; set; }
        public int Held { get; set; }

        /// <summary>Cases in which the comparison gives no figure of what was changed.</summary>
        public int Untold { get; set; }

        public int Else { get; set; }
        public int Refused { get; set; }
    }

    /// <param name="details">Receives a line a take that went wrong; null = none.</param>
    /// <param name="only">One of <see cref="Tables"/>; null = all of them.</param>
    public static void Print(TextWriter output, IEnumerable<GrooveTakes.Take> takes, int cases, TextWriter? details, string? only)
    {
        if (only is not null && !Tables.Contains(only))
            throw new InputException($"There is no table '{only}' of changed takes; choose {string.Join(", ", Tables)}.");
        bool Wanted(string table) => only is null || only == table;
        Base[] bases = [.. takes.SelectMany(Cut)];
        if (bases.Length == 0)
            throw new InputException("None of the takes has eight bars of 4/4 with a kick whose lay-back can be told.");
        // The drummer's own chance is the same each time: a passage tells all it can in one take.
        if (Wanted("own"))
            Print(output, bases, Math.Min(cases, bases.Length), Chances.Own, "with the drummer's own chance", details);
        if (Wanted("anew"))
            Print(output, bases, cases, Chances.Independent, "chance drawn anew, stroke by stroke", details);
        Base[] tight = [.. bases.Where(one => one.TimeMs <= TightMs)];
        if (Wanted("tight"))
            Print(output, tight, cases, Chances.Independent, $"chance drawn anew, stroke by stroke, kick, hats and ride no looser than {TightMs:0} ms", details, [Change.KickLater, Change.MoreSwing]);
        if (Wanted("wandering"))
            Print(output, bases, cases, Chances.Tied, "chance drawn anew, each piece wandering by itself as it was seen to", details);
    }

    private static void Print(TextWriter output, Base[] bases, int cases, Chances chances, string how, TextWriter? details, Change[]? only = null)
    {
        if (bases.Length == 0)
            return;
        var tallies = (only ?? Enum.GetValues<Change>()).ToDictionary(change => change, _ => new Tally());
        foreach (Change change in tallies.Keys)
        {
                // Against the whole kit a later kick moves what it is measured against; its truth is then no plain number.
            Base[] fit = [.. bases.Where(one => change switch
            {
                Change.MoreSwing => one.Swings is not null,
                Change.KickLater => one.Feel.Reference == FeelReference.TimekeepingHand,
                _ => true,
            })];
            if (fit.Length > 0)
                Parallel.For(0, cases, new ParallelOptions { MaxDegreeOfParallelism = Environment.ProcessorCount }, i => Judge(tallies[change], fit[i % fit.Length], change, (ulong)((1000 * i) + 1), chances, details));
        }

        output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"## Takes changed in known ways, {how} ({bases.Length} passages of {Bars} bars, {cases} takes of {Rounds} rounds for each change)"));
        output.WriteLine();
        var table = new Table("change", "takes", "found", "interval holds it", "no interval given", "something else reported", "refused");
        foreach ((Change change, Tally tally) in tallies)
            table.Add(NameOf(change), Text(tally.Cases), Share(tally.Found, tally), Share(tally.Held, tally), Share(tally.Untold, tally), Share(tally.Else, tally), Text(tally.Refused));
        output.WriteLine(table);
        output.Flush();
    }

    private static void Judge(Tally tally, Base one, Change change, ulong seed, Chances chances, TextWriter? details)
    {
        Dials plain = Dials.AsPlayed with { Tempo = 0 };
        if (change == Change.MoreSwing)
            plain = plain with { SwingTo = new SwingSetting(one.Swings!.Value, FromSwing) };
        Dials changed = change switch
        {
            Change.MoreSwing => plain with { SwingTo = new SwingSetting(one.Swings!.Value, ToSwing) },
            Change.KickLater => plain with { Pieces = new Dictionary<KitPiece, PieceDial> { [KitPiece.Kick] = new(LayBackTo: Seconds.FromMilliseconds(Kick(one.Feel).Milliseconds.Value + KickMs)) } },
            _ => plain,
        };
        Performance passage = new(one.Passage.Pulse, Draw(one, plain, chances, seed).Select((time, i) => one.Passage.Hits[i] with { Time = AudioTime.FromSeconds(time) }));
        double slower = change == Change.SlowerTempo ? Slower : 1, late = change == Change.RecordedLate ? LatencyMs / 1000 : 0;
        double start = one.Passage.Pulse.TimeAt(0.0).TotalSeconds, length = one.Passage.Pulse.MeanTempo.Beat.Value * Bars * one.Passage.Meter.BeatsPerBar;
        var hits = new List<Hit>();
        for (int round = 0; round < Rounds; round++)
        {
            double[] times = Draw(one, changed, chances, seed + 10 + (ulong)round);
            for (int i = 0; i < times.Length; i++)
                hits.Add(one.Passage.Hits[i] with { Time = AudioTime.FromSeconds(2 + late + (slower * (times[i] - start + (round * length)))), Position = null });
        }

        var dice = new Random((int)seed);
        if (change == Change.StrokesLeftOut)
        {
            for (int i = 0; i < LeftOut; i++)
                hits.RemoveAt(1 + dice.Next(hits.Count - 2));
        }

        Pulse? click = change == Change.RecordedLate
            ? Pulse.Steady(one.Passage.Meter, one.Passage.Pulse.MeanTempo, AudioTime.FromSeconds(2), Rounds * Bars * one.Passage.Meter.BeatsPerBar, one.Passage.Pulse.FirstBar)
            : null;
        try
        {
            Latency latency = new(Seconds.FromMilliseconds(LatencyMs), Seconds.FromMilliseconds(0.5), Seconds.FromMilliseconds(0.5), 20, []);
            AlignedTake take = TakeAligner.Align(passage, hits, click, click is null ? null : latency);
            TakeComparisonResult result = TakeComparison.Of(passage, take, latency: click is null ? null : latency);
            lock (tally)
            {
                tally.Cases++;
                (int found, int held, int other) = (tally.Found, tally.Held, tally.Else);
                Count(tally, one, change, result);
                if (details is not null && (tally.Else > other || (change != Change.Nothing && (tally.Found == found || tally.Held == held))))
                    details.WriteLine(Describe(one, change, chances, tally.Found > found, tally.Held > held, tally.Else > other, result));
            }
        }
        catch (InputException)
        {
            lock (tally)
                (tally.Cases, tally.Refused) = (tally.Cases + 1, tally.Refused + 1);
        }
    }

    private static string Describe(Base one, Change change, Chances chances, bool found, bool held, bool other, TakeComparisonResult result) => string.Create(CultureInfo.InvariantCulture,
        $"{change} {chances} {one.Name} {one.Passage.Pulse.MeanTempo.Value:0} bpm loosest {one.LoosestMs:0} ms: {(found ? "" : "not found ")}{(held ? "" : "not held ")}{(other ? "else " : "")}missed {result.Take.Missed.Count} moved {result.Take.Moved.Count} extra {result.Take.Extra.Count}{string.Concat(result.Take.Moved.Take(3).Select(moved => $" ({moved.Reference.Piece.Id()} {moved.Reference.Position} round {moved.Round} by {moved.Beats:0.00})"))}{string.Concat(result.Take.Missed.Take(3).Select(missed => $" (no {missed.Reference.Piece.Id()} {missed.Reference.Position} round {missed.Round})"))}{string.Concat(result.Take.Extra.Take(3).Select(extra => $" (and {extra.Piece.Id()} {extra.Position})"))} tempo {result.Take.TempoRatio:0.000}; {string.Join("; ", result.Differences.Where(figure => result.Reported.Contains(figure) || figure.Kind == FeelFigures.Swing || (figure.Kind == FeelFigures.LayBack && figure.Subject == KitPiece.Kick.Name())).Select(figure => $"{(result.Reported.Contains(figure) ? "*" : "")}{figure.Kind.Id} {figure.Subject} {figure.Difference.Value:0.0} [{figure.Difference.Low:0.0} {figure.Difference.High:0.0}]"))}");

    private static void Count(Tally tally, Base one, Change change, TakeComparisonResult result)
    {
        FeelDifference? kick = result.Differences.FirstOrDefault(other => other.Kind == FeelFigures.LayBack && other.Subject == KitPiece.Kick.Name());
        FeelDifference? swing = one.Swings is { } level ? result.Differences.FirstOrDefault(other => other.Kind == FeelFigures.Swing && other.Subject == FeelFigures.LevelName(level)) : null;
        int wrongStrokes = result.Take.Missed.Count + result.Take.Moved.Count + result.Take.Extra.Count;
        switch (change)
        {
            case Change.KickLater:
                tally.Found += kick is not null && result.Reported.Contains(kick) ? 1 : 0;
                tally.Held += Holds(kick?.Difference, KickMs) ? 1 : 0;
                tally.Untold += kick is null ? 1 : 0;
                // Habits are what a piece does beyond its lay-back: the kick's own may take part of the change only where nothing else is known.
                tally.Else += wrongStrokes > 0 || result.Reported.Any(other => other != kick) ? 1 : 0;
                break;
            case Change.MoreSwing:
                tally.Found += swing is not null && result.Reported.Contains(swing) ? 1 : 0;
                tally.Held += Holds(swing?.Difference, ToSwing - FromSwing) ? 1 : 0;
                tally.Untold += swing is null ? 1 : 0;
                tally.Else += wrongStrokes > 0 || result.Reported.Any(other => other.Kind != FeelFigures.Swing) ? 1 : 0;
                break;
            case Change.StrokesLeftOut:
                bool exact = result.Take.Missed.Count == LeftOut && result.Take.Moved.Count + result.Take.Extra.Count == 0;
                tally.Found += result.Take.Missed.Count >= LeftOut ? 1 : 0;
                tally.Held += exact ? 1 : 0;
                tally.Else += !exact || result.Reported.Count > 0 ? 1 : 0;
                break;
            case Change.SlowerTempo:
                bool close = Math.Abs((result.Take.TempoRatio * Slower) - 1) < 0.005;
                tally.Found += result.Take.TempoRatio < 0.98 ? 1 : 0;
                tally.Held += close ? 1 : 0;
                tally.Else += wrongStrokes > 0 || result.Reported.Count > 0 ? 1 : 0;
                break;
            case Change.RecordedLate:
                double truth = OffClick(one);
                tally.Found += result.AgainstClick is not null ? 1 : 0;
                tally.Held += Holds(result.AgainstClick?.Late, truth) ? 1 : 0;
                tally.Else += wrongStrokes > 0 || result.Reported.Count > 0 ? 1 : 0;
                break;
            default:
                tally.Else += wrongStrokes > 0 || result.Reported.Count > 0 ? 1 : 0;
                break;
        }
    }

    private static bool Holds(Estimate? estimate, double truth) => estimate is { } known && known.Low <= truth + Rounding && truth - Rounding <= known.High;

    private static double[] Draw(Base one, Dials dials, Chances chances, ulong seed)
    {
        if (chances != Chances.Independent)
            return [.. RebuildPlan.Make(one.Passage, one.Feel, dials with { FreshLooseness = chances == Chances.Tied ? seed : null }).Select(stroke => stroke.Time.TotalSeconds)];
        var dice = new Random((int)seed);
        double Gaussian() => Math.Sqrt(-2 * Math.Log(1 - dice.NextDouble())) * Math.Cos(2 * Math.PI * dice.NextDouble());
        return [.. RebuildPlan.Make(one.Passage, one.Feel, dials with { Looseness = 0 }).Select((stroke, i) => stroke.Time.TotalSeconds + (Gaussian() * one.SpreadMs[one.Passage.Hits[i].Piece] / 1000))];
    }

    /// <summary>How late the passage lies against its own click once chance is taken out, ms: what every draw of it does on average.</summary>
    private static double OffClick(Base one) => RebuildPlan.Make(one.Passage, one.Feel, Dials.AsPlayed with { Tempo = 0, Looseness = 0 })
        .Select((stroke, i) => (stroke.Time - one.Passage.Pulse.TimeAt(one.Passage.Hits[i].Position!.Value)).Milliseconds).Average();

    private static LayBackFigure Kick(FeelReport report) => report.LayBack.First(figure => figure.Piece == KitPiece.Kick);

    /// <summary>Up to <see cref="MostOfATake"/> stretches of eight bars, after the first bar.</summary>
    private static IEnumerable<Base> Cut(GrooveTakes.Take take)
    {
        KitMidi midi = KitMidiFile.Read(take.Path);
        PulseResult placed = PulseFinder.PlaceOn(midi.Grid, midi.Hits);
        Performance whole = placed.Performance;
        if (whole.Meter != Meter.FourFour || placed.Doubts.OfType<HitsOffTheGrid>().Any())
            yield break;
        int[] bars = [.. whole.PlacedHits().Select(item => item.Position.Bar).Distinct().Order()];
        int found = 0;
        for (int i = 1; i + Bars < bars.Length && found < MostOfATake; i += Bars)
        {
            if (Cut(take, whole, bars[i]) is { } one)
            {
                found++;
                yield return one;
            }
        }
    }

    private static Base? Cut(GrooveTakes.Take take, Performance whole, int first)
    {
        Beat[] beats = [.. whole.Pulse.Beats.Where(beat => beat.Bar >= first && beat.Bar < first + Bars)];
        if (beats.Length < Bars * whole.Meter.BeatsPerBar)
            return null;
        var passage = new Performance(new Pulse(whole.Meter, beats, 1, PulseSource.Click), whole.PlacedHits().Where(item => item.Position.Bar >= first && item.Position.Bar < first + Bars).Select(item => item.Hit));
        if (passage.Hits.Count < 4 * Bars)
            return null;
        try
        {
            passage = WithoutMisplaced(passage);
            FeelReport feel = FeelAnalysis.Measure(passage);
            bool kick = feel.LayBack.Any(figure => figure is { Piece: KitPiece.Kick, Identified: true, Hits: >= 8 });
            SwingFigure? swing = FeelComparison.Whole(feel).Where(figure => figure.Pairs >= 16 && figure.IsNarrow).MinBy(figure => figure.Level);
            var one = new Base(Path.GetFileNameWithoutExtension(take.Path), passage, feel, swing?.Level, SpreadsOf(passage, feel));
            return kick && one.LoosestMs <= LoosestMs ? one : null;
        }
        catch (InputException)
        {
            return null;
        }
    }

    /// <summary>
    /// Strokes that lie far from where their place, their piece and the tempo put them were written at a wrong place, or fit none; drawn anew they would
    /// land anywhere, and what is then found is no fault of the comparison.
    /// </summary>
    private static Performance WithoutMisplaced(Performance passage)
    {
        double[] chance = Chance(passage, FeelAnalysis.Measure(passage));
        return new Performance(passage.Pulse, passage.Hits.Where((_, i) => Math.Abs(chance[i]) <= FarthestMs));
    }

    private static Dictionary<KitPiece, double> SpreadsOf(Performance passage, FeelReport feel)
    {
        double[] chance = Chance(passage, feel);
        return Enumerable.Range(0, chance.Length).GroupBy(i => passage.Hits[i].Piece).ToDictionary(piece => piece.Key, piece => Math.Sqrt(piece.Average(i => chance[i] * chance[i])));
    }

    /// <summary>What is left of each stroke's lateness beyond swing, lay-back and habit, ms.</summary>
    private static double[] Chance(Performance passage, FeelReport feel)
    {
        IReadOnlyList<PlannedStroke> with = RebuildPlan.Make(passage, feel, Dials.AsPlayed), without = RebuildPlan.Make(passage, feel, Dials.AsPlayed with { Looseness = 0 });
        return [.. with.Select((stroke, i) => (stroke.Time - without[i].Time).Milliseconds)];
    }

    private static string NameOf(Change change) => change switch
    {
        Change.KickLater => "kick 12 ms later",
        Change.MoreSwing => "swing 1.2 to 1.5",
        Change.StrokesLeftOut => "three strokes left out (exactly those three)",
        Change.SlowerTempo => "6 % slower (within 0.5 %)",
        Change.RecordedLate => "recorded 40 ms late, on the click",
        _ => "nothing",
    };

    private static string Share(int some, Tally tally) => tally.Cases == 0 ? "–" : string.Create(CultureInfo.InvariantCulture, $"{100.0 * some / tally.Cases:0.0} %");

    private static string Text(int count) => count.ToString(CultureInfo.InvariantCulture);
}
