using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>Some strokes lie between the places that notation can name.</summary>
public sealed record FinerThanNotation(int Strokes) : Doubt
{
    public override string Text => Strokes == 1
        ? "One stroke lies between writable places and is printed at the nearest."
        : $"{Strokes} strokes lie between writable places and are printed at the nearest.";
}

/// <summary>Some strokes have no written place and are not on the page.</summary>
public sealed record StrokesWithoutAPlace(int Strokes) : Doubt
{
    public override string Text => Strokes == 1
        ? "One stroke has no place in the bar and is not written."
        : $"{Strokes} strokes have no place in the bar and are not written.";
}

/// <summary>
/// Writes a performance down: the simplest reading that keeps every placed stroke. Total: any places and
/// any meter give a chart whose voices add up to their bars.
/// </summary>
public static class ChartMaker
{
    /// <exception cref="InputException">No stroke has a place.</exception>
    public static Chart Make(Performance performance, FeelReport? feel, ChartOptions options)
    {
        ArgumentNullException.ThrowIfNull(performance);
        ArgumentNullException.ThrowIfNull(options);
        List<Placed> placed = PlacedHits(performance);
        if (placed.Count == 0)
            throw new InputException("No stroke has a place in a bar, so there is nothing to write down; was the pulse found?");

        SwingDirection? swing = options.SwingWriting == SwingWriting.AsPlaced ? null : SwingOf(feel);
        if (swing is not null)
            placed = SwungPlaces.Write(performance.Pulse, swing.Level, options.SwingWriting, placed);

        int firstBar = placed.Min(stroke => stroke.Bar);
        int lastBar = placed.Max(stroke => stroke.Bar);
        ILookup<int, Placed> byBar = placed.ToLookup(stroke => stroke.Bar);
        var bars = new List<ChartBar>(lastBar - firstBar + 1);
        int moved = 0;
        for (int number = firstBar; number <= lastBar; number++)
            bars.Add(MakeBar(performance.Pulse.MeterAt(number), number, number == firstBar && number < 1, [.. byBar[number]], options, ref moved) with { BeatTempos = TemposOf(performance.Pulse, number) });

        var doubts = new List<Doubt>();
        if (moved > 0)
            doubts.Add(new FinerThanNotation(moved));
        if (placed.Count < performance.Hits.Count)
            doubts.Add(new StrokesWithoutAPlace(performance.Hits.Count - placed.Count));
        var chart = new Chart
        {
            Title = options.Title,
            Subtitle = options.Subtitle,
            Meter = performance.Meter,
            Tempo = feel?.Tempo.Bpm ?? performance.Pulse.MeanTempo,
            Swing = options.SwingWriting == SwingWriting.Straight ? swing : null,
            Bars = bars,
            Figures = options.ShowFigures && feel is not null ? ChartFigures.Of(feel) : [],
            Doubts = doubts,
            Staff = options.Staff,
            ShowCounts = options.ShowCounts,
        };
        return options.FoldRepeats ? RepeatFolding.Fold(chart, options.RepeatAlike) : chart;
    }

    private static List<Bpm> TemposOf(Pulse pulse, int bar)
    {
        double first = pulse.BeatsFromFirst(new BarPosition(bar, 1, Fraction.Zero)).ToDouble();
        return [.. Enumerable.Range(0, pulse.MeterAt(bar).BeatsPerBar).Select(beat => Bpm.FromBeat(pulse.TimeAt(first + beat + 1) - pulse.TimeAt(first + beat)))];
    }

    private static List<Placed> PlacedHits(Performance performance)
    {
        var list = new List<Placed>(performance.Hits.Count);
        for (int i = 0; i < performance.Hits.Count; i++)
        {
            Hit hit = performance.Hits[i];
            if (hit.Position is not { } position)
                continue;
            Meter meter = performance.Pulse.MeterAt(position.Bar);
            if (position.Beat > meter.BeatsPerBar)
                throw new InputException($"Stroke {i + 1} stands on beat {position.Beat}, but a bar of {meter} has {meter.BeatsPerBar}; was it placed in another meter?");
            Fraction at = (new Fraction(position.Beat - 1) + position.Within) * meter.BeatLength;
            list.Add(new Placed(i, hit, position.Bar, at, hit.Time - performance.Pulse.TimeAt(position)));
        }

        return list;
    }

    /// <summary>The level that swings enough, and surely enough, to be written; by its figure over all pieces, of two the one with more strokes to show for it.</summary>
    private static SwingDirection? SwingOf(FeelReport? feel)
    {
        SwingFigure? figure = feel?.Swing
            .GroupBy(swing => swing.Level)
            .Select(ChartFigures.Whole)
            .Where(swing => swing.WorthWriting)
            .MaxBy(swing => swing.Pairs);
        return figure is null ? null : new SwingDirection(figure.Level, figure.Ratio.Value);
    }

    private static ChartBar MakeBar(
        Meter meter, int number, bool mayBePickup, IReadOnlyList<Placed> strokes, ChartOptions options, ref int moved)
    {
        IReadOnlyList<MeterGroup> groups = MeterGroups.Of(meter);
        Fraction start = Fraction.Zero;
        if (mayBePickup)
        {
            Fraction earliest = strokes.Min(stroke => stroke.At);
            start = groups.Last(group => group.Start <= earliest).Start;
            groups = [.. groups.Where(group => group.Start >= start)];
        }

        ChartVoice hands = MakeVoice(meter, groups, [.. strokes.Where(stroke => options.OneVoice || stroke.Hit.Piece.PlayedBy() == Limb.Hand)], options, ref moved);
        ChartVoice feet = MakeVoice(meter, groups, [.. strokes.Where(stroke => !options.OneVoice && stroke.Hit.Piece.PlayedBy() == Limb.Foot)], options, ref moved);
        if (feet.IsSilent)
            feet = Hide(feet);
        else if (hands.IsSilent)
            hands = Hide(hands);
        return new ChartBar(number, start, MeterGroups.BarLength(meter) - start, hands, feet) { Meter = meter };
    }

    /// <summary>One whole-bar rest is enough for two silent voices, and none is needed beside a voice that plays.</summary>
    private static ChartVoice Hide(ChartVoice voice) =>
        voice with { Events = [.. voice.Events.Select(rest => rest with { Hidden = true })] };

    private static ChartVoice MakeVoice(Meter meter, IReadOnlyList<MeterGroup> groups, List<Placed> strokes, ChartOptions options, ref int moved)
    {
        var written = new List<PlacedStroke>();
        foreach (MeterGroup group in groups)
        {
            List<Placed> inside = [.. strokes.Where(stroke => stroke.At >= group.Start && stroke.At < group.End).OrderBy(stroke => stroke.At)];
            (Fraction[] places, bool rounded) = StrokePlaces.Printable(group, [.. inside.Select(stroke => stroke.At)]);
            if (rounded)
                moved += inside.Where((stroke, i) => places[i] != stroke.At).Count();
            written.AddRange(inside
                .Select((stroke, i) => (stroke, place: places[i]))
                .GroupBy(pair => pair.place, pair => pair.stroke)
                .OrderBy(together => together.Key)
                .Select(together => new PlacedStroke(together.Key, Merge(together, options))));
        }

        return VoiceWriter.Write(meter, written, groups, options.EighthsInFours);
    }

    /// <summary>
    /// Strokes of one piece at one place are a flam or a drag: the last of them, which carries the beat, is
    /// the note and the ones before it are its graces.
    /// </summary>
    private static List<ChartNote> Merge(IEnumerable<Placed> together, ChartOptions options)
    {
        var notes = new List<ChartNote>();
        foreach (IGrouping<KitPiece, Placed> piece in together.GroupBy(stroke => stroke.Hit.Piece))
        {
            List<Placed> inTime = [.. piece.OrderBy(stroke => stroke.Hit.Time).ThenBy(stroke => stroke.Index)];
            Placed main = inTime[^1];
            HitMarks marks = inTime.Aggregate(HitMarks.None, (sum, stroke) => sum | (stroke.Hit.Marks & ~HitMarks.Ghost)) | (main.Hit.Marks & HitMarks.Ghost);
            List<GraceNote> graces = [.. inTime[..^1].Select(stroke => new GraceNote(stroke.Index, stroke.Hit.Piece, stroke.Hit.Velocity))];
            int wanted = marks.HasFlag(HitMarks.Drag) ? 2 : marks.HasFlag(HitMarks.Flam) ? 1 : 0;
            while (graces.Count < wanted)
                graces.Insert(0, new GraceNote(null, main.Hit.Piece, Math.Max(1, main.Hit.Velocity / 3)));
            notes.Add(new ChartNote(main.Index, main.Hit.Piece, marks, main.Hit.Velocity, main.Deviation, graces)
            {
                Stick = options.Stickings is { } hands && hands.TryGetValue(main.Index, out Sticking hand) ? hand : HandOf(main.Hit.Marks),
            });
        }

        return [.. notes.OrderBy(note => options.Staff.Place(note.Piece).StepsAboveMiddle).ThenBy(note => note.Piece)];
    }

    private static Sticking? HandOf(HitMarks marks) => (marks & (HitMarks.RightHand | HitMarks.LeftHand)) switch
    {
        HitMarks.None => null,
        HitMarks.RightHand => Sticking.Right,
        HitMarks.LeftHand => Sticking.Left,
        _ => Sticking.Both,
    };
}

/// <summary>A hit with its place in whole notes from its bar's start.</summary>
internal sealed record Placed(int Index, Hit Hit, int Bar, Fraction At, Seconds Deviation);
