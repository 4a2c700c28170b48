using CsCheck;
using Hindbeat.Charting;
using Hindbeat.Performances;
using Hindbeat.Units;
using static Hindbeat.Tests.Charting.WrittenPassages;

namespace Hindbeat.Tests.Charting;

/// <summary>Edits as commands: each does what it says, is plain data, and can be undone.</summary>
public class ChartEditTests
{
    // 120 bpm, first beat at 0.5 s: snare on 2 at 1.0 s, on 4 at 2.0 s.
    private static EditHistory Fresh() => new(new ChartState(Typed("4/4", 120, 2, ("snare", "1 3"), ("kick", "0")), new ChartOptions()));

    internal static readonly ChartEdit[] Every =
    [
        new AddStroke("hat-closed", new EditPlace(1, 3, "1/2"), 70),
        new DeleteStroke(new StrokeRef("kick", 0.5)),
        new MoveStroke(new StrokeRef("snare", 1.0), new EditPlace(1, 2, "1/4")),
        new RepieceStroke(new StrokeRef("snare", 2.0), "cross-stick"),
        new MarkStroke(new StrokeRef("snare", 3.0), "ghost", true),
        new ChangeMeter("2/4"),
        new ShiftBarLines(1),
        new Resubdivide(1, 2, 2),
        new WriteSwing(SwingWriting.Dotted),
        new WriteRepeats(true),
        new TypeBar("bar 2 in 2/4\nsnare: 1& flam\n"),
        new HearStroke("crash", 2.5),
        new HearStroke("splash", 2.75, 44),
        new ShiftStroke(new StrokeRef("crash", 2.5), 2.52),
        new ConfirmStroke(new StrokeRef("splash", 2.75)),
        new JoinBars(1, 2),
        new SplitBar(1, 3),
        new ChangeMeter("3/4") { FirstBar = 2 },
        new PlacePiece("ride", "G", 5, "diamond"),
        new WriteRepeats(true) { Alike = true },
    ];

    [Fact]
    public void Everything_can_be_undone_and_redone()
    {
        EditHistory history = Fresh();
        var states = new List<ChartState> { history.Current };
        foreach (ChartEdit edit in Every)
        {
            history.Do(edit);
            states.Add(history.Current);
        }

        for (int i = Every.Length - 1; i >= 0; i--)
        {
            history.Undo();
            Assert.Same(states[i], history.Current);
        }

        Assert.False(history.CanUndo);
        for (int i = 1; i <= Every.Length; i++)
        {
            history.Redo();
            Assert.Same(states[i], history.Current);
        }

        Assert.Throws<InputException>(history.Redo);
    }

    [Fact]
    public void Strokes_are_added_deleted_moved_renamed_and_marked()
    {
        EditHistory history = Fresh();
        foreach (ChartEdit edit in Every.Take(5))
            history.Do(edit);
        IReadOnlyList<Hit> hits = history.Current.Performance.Hits;
        Hit added = Assert.Single(hits, hit => hit.Piece == KitPiece.HatClosed);
        Assert.Equal(1.75, added.Time.TotalSeconds, 9); // beat 3 and a half of a 120 bpm that begins at 0.5 s
        Assert.Equal(2.5, Assert.Single(hits, hit => hit.Piece == KitPiece.Kick).Time.TotalSeconds, 9);
        Assert.Equal(new BarPosition(1, 2, new Fraction(1, 4)), hits.Single(hit => hit.Time.TotalSeconds == 1.0).Position);
        Assert.Equal(1.0, hits.Single(hit => hit.Position == new BarPosition(1, 2, new Fraction(1, 4))).Time.TotalSeconds); // struck when it was struck
        Assert.Equal(2.0, Assert.Single(hits, hit => hit.Piece == KitPiece.CrossStick).Time.TotalSeconds);
        Assert.Equal(3.0, Assert.Single(hits, hit => hit.Marks == HitMarks.Ghost).Time.TotalSeconds);
    }

    [Fact]
    public void Meter_and_bar_lines_keep_every_stroke_on_its_beat() => OrdinaryGridsIn("4/4", "3/4", "5/4").Sample(performance =>
    {
        foreach (ChartEdit edit in new ChartEdit[] { new ChangeMeter("7/4"), new ShiftBarLines(-2) })
        {
            var history = new EditHistory(new ChartState(performance, new ChartOptions()));
            history.Do(edit);
            Performance after = history.Current.Performance;
            Assert.Equal(
                performance.Hits.Select(hit => hit.Position is { } place ? performance.Pulse.BeatsFromFirst(place) : default),
                after.Hits.Select(hit => hit.Position is { } place ? after.Pulse.BeatsFromFirst(place) : default));
            Assert.Equal(performance.Pulse.Beats.Select(beat => beat.Time), after.Pulse.Beats.Select(beat => beat.Time));
        }
    }, iter: 60);

    [Fact]
    public void Joined_and_split_bars_keep_every_stroke_on_its_beat()
    {
        Performance four = Typed("4/4", 120, 4, ("snare", "1 3"), ("kick", "0 5/2"));
        EditHistory history = new(new ChartState(four, new ChartOptions()));
        history.Do(new SplitBar(2, 3)); // 4/4 | 3/4 | 1/4 | 4/4 | 4/4
        history.Do(new JoinBars(4, 5)); // 4/4 | 3/4 | 1/4 | 8/4
        Performance after = history.Current.Performance;
        Assert.Equal(["4/4", "3/4", "1/4", "8/4"], Enumerable.Range(1, 4).Select(bar => after.Pulse.MeterAt(bar).ToString()));
        Assert.Equal(
            four.Hits.Select(hit => (hit.Time, four.Pulse.BeatsFromFirst(hit.Position!.Value))),
            after.Hits.Select(hit => (hit.Time, after.Pulse.BeatsFromFirst(hit.Position!.Value))));
        Assert.All(after.Hits, hit => Assert.Equal(hit.Time.TotalSeconds, after.Pulse.TimeAt(hit.Position!.Value).TotalSeconds, 9));

        // The last beat of the old bar 2 is a bar of its own, bars 3 and 4 are one.
        Assert.Equal(new BarPosition(3, 1, 0), after.Hits.Single(hit => hit.Time == four.Pulse.TimeAt(new BarPosition(2, 4, 0))).Position);
        Assert.Equal(new BarPosition(4, 8, 0), after.Hits[^1].Position);
        history.Do(new ChangeMeter("2/4") { FirstBar = 4, LastBar = 4 });
        Assert.Equal([4, 3, 1, 2, 2, 2, 2], Enumerable.Range(1, 7).Select(bar => history.Current.Performance.Pulse.MeterAt(bar).BeatsPerBar));
        foreach (ChartEdit wrong in new ChartEdit[] { new JoinBars(3, 3), new SplitBar(1, 4), new SplitBar(9, 1), new ChangeMeter("3/4") { FirstBar = 1, LastBar = 1 }, new ShiftBarLines(1) })
            Assert.Throws<InputException>(() => history.Do(wrong));
    }

    [Fact]
    public void A_typed_bar_keeps_the_times_of_strokes_that_were_there()
    {
        Performance typed = Typed("4/4", 120, 2, ("snare", "1 3"));
        Hit late = typed.Hits[0] with { Time = typed.Hits[0].Time + Seconds.FromMilliseconds(12) };
        var history = new EditHistory(new ChartState(new Performance(typed.Pulse, [late, .. typed.Hits.Skip(1)]), new ChartOptions()));
        history.Do(new TypeBar("bar 1 in 4/4\nsnare: 2 accent @99\nkick: 1"));
        Hit[] bar = [.. history.Current.Performance.Hits.Where(hit => hit.Position?.Bar == 1)];
        Assert.Equal([KitPiece.Kick, KitPiece.Snare], bar.Select(hit => hit.Piece));
        Assert.Equal(1.012, bar[1].Time.TotalSeconds, 9);
        Assert.Equal((99, HitMarks.Accent), (bar[1].Velocity, bar[1].Marks));
        Assert.Equal(2, history.Current.Performance.Hits.Count(hit => hit.Position?.Bar == 2));
    }

    [Fact]
    public void A_new_listening_takes_the_edits_over_and_names_what_it_cannot()
    {
        Performance heard = Typed("4/4", 120, 2, ("snare", "1 3"));
        var shifted = new Performance(heard.Pulse, heard.Hits.Select(hit => hit with { Time = hit.Time + Seconds.FromMilliseconds(4) }));
        (EditHistory history, var leftOut) = EditHistory.Replay(new ChartState(shifted, new ChartOptions()), Every.Take(5));
        Assert.Equal([Every[1]], leftOut.Select(pair => pair.Edit)); // there is no kick any more
        Assert.Contains("no kick stroke at 0.500 s", leftOut[0].Reason, StringComparison.Ordinal);
        Assert.Equal(4, history.Edits.Count);
    }

    [Fact]
    public void An_edit_that_makes_no_sense_changes_nothing()
    {
        EditHistory history = Fresh();
        ChartState before = history.Current;
        foreach (ChartEdit wrong in new ChartEdit[]
        {
            new DeleteStroke(new StrokeRef("kick", 1.7)), new AddStroke("gong", new EditPlace(1, 1, "0"), 80), new AddStroke("kick", new EditPlace(1, 5, "0"), 80),
            new AddStroke("kick", new EditPlace(1, 1, "0"), 0), new ChangeMeter("4/5"), new ShiftBarLines(4), new Resubdivide(1, 1, 0),
            new MarkStroke(new StrokeRef("kick", 0.5), "loud", true), new TypeBar("bar 1 in 3/4\nkick: 1"),
        })
            Assert.Throws<InputException>(() => history.Do(wrong));
        Assert.Same(before, history.Current);
        Assert.Empty(history.Edits);
    }

    [Fact]
    public void Edits_in_words_are_read_back_as_the_same_edits()
    {
        EditHistory history = Fresh();
        foreach (ChartEdit edit in Every)
            history.Do(edit);
        EditHistory typed = Fresh();
        foreach (ChartEdit edit in history.Edits)
            typed.Do(EditWords.Parse(EditWords.Write(edit), typed.Current.Performance));
        Assert.Equal(history.Current.Performance.Hits, typed.Current.Performance.Hits);
        Assert.Equal(history.Current.Options, typed.Current.Options);
        Assert.Equal(history.Edits.Select(EditWords.Write), typed.Edits.Select(EditWords.Write));
    }

    [Theory]
    [InlineData("delete snare 1.2a", "it on 2, 4")] // the bar has snares, but not there
    [InlineData("delete gong 1.2", "'gong' is not a piece")]
    [InlineData("move snare 1.2 to 1.5", "'1.5' is not a place")]
    [InlineData("louder snare 1.2", "is not an edit")]
    [InlineData("bar 1 in 4/4; snare: 9", "'9' is not a place")]
    public void An_edit_that_cannot_be_read_says_what_is_wrong(string words, string reason) =>
        Assert.Contains(reason, Assert.Throws<InputException>(() => EditWords.Parse(words, Fresh().Current.Performance)).Message, StringComparison.Ordinal);

    [Fact]
    public void A_place_keeps_its_time_when_the_pulse_is_counted_anew()
    {
        EditHistory history = Fresh();
        history.Do(new AddStroke("hat-closed", new EditPlace(2, 3, "1/2"), 70)); // 0.5 s + 6.5 beats of 0.5 s
        history.Do(new TypeBar("bar 2 in 4/4\nsnare: 1"));
        Performance four = Typed("4/4", 120, 2, ("snare", "1 3"), ("kick", "0"));

        // The same beats, twice as many of them, beginning with a pickup of one: beat 2.3 is now 4.2.
        var beats = Enumerable.Range(0, 17).Select(i => new Beat(AudioTime.FromSeconds(0.5 + (0.25 * i)), i < 1 ? 0 : 1 + ((i - 1) / 4), i < 1 ? 4 : 1 + ((i - 1) % 4))).ToList();
        var doubled = new Pulse(Meter.FourFour, beats);
        var state = new ChartState(new Performance(doubled, four.Hits.Select(hit => hit with { Position = null })), new ChartOptions());
        (EditHistory again, var leftOut) = EditHistory.Replay(state, history.Edits);
        Hit added = Assert.Single(again.Current.Performance.Hits, hit => hit.Piece == KitPiece.HatClosed);
        Assert.Equal((3.75, doubled.PositionAt(13)), (added.Time.TotalSeconds, added.Position!.Value));
        Assert.Contains("where no bar begins any more", Assert.Single(leftOut).Reason, StringComparison.Ordinal);
    }
}
