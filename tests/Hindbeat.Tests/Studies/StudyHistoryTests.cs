using Hindbeat.Charting;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Rebuilding;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat.Tests.Studies;

/// <summary>Changes by hand: what they change, what they leave alone, and that undoing gives back exactly what was there.</summary>
public class StudyHistoryTests
{
    private static readonly Study Made = Make();

    private static Study Make()
    {
        InventedPassage passage = InventedPassage.Make(3);
        Performance placed = PulseFinder.PlaceOn(passage.Performance.Pulse, passage.Performance.Hits).Performance;
        Hit doubtful = placed.Hits.First(hit => hit.Piece == KitPiece.Snare);
        var performance = new Performance(placed.Pulse, placed.Hits.Select(hit => ReferenceEquals(hit, doubtful) ? hit with { Confidence = 0.4 } : hit));
        return new Study("invented", "Invented", DateTimeOffset.UnixEpoch, null, null, AudioTime.Zero, AudioTime.FromSeconds(24), performance,
            FeelAnalysis.Measure(performance), "46 bpm, half as fast", "invented", []);
    }

    private static StrokeRef RefOf(Hit hit) => new(hit.Piece.Id(), hit.Time.TotalSeconds);

    public static TheoryData<StudyChange> OneOfEach
    {
        get
        {
            Hit snare = Made.Performance.Hits.First(hit => hit.Piece == KitPiece.Snare), kick = Made.Performance.Hits.First(hit => hit.Piece == KitPiece.Kick);
            double beat = Made.Performance.Pulse.Beats[8].Time.TotalSeconds;
            return
            [
                new PulseCorrected([new TempoHalved()]),
                new PulseCorrected([new TempoDoubled()]),
                new PulseCorrected([new MeterStated(new Meter(3, 4))]),
                new PulseCorrected([new BarOneSet(AudioTime.FromSeconds(beat))]),
                new PulseCorrected([new BeatMoved(2, 3, Made.Performance.Pulse.TimeAt(new BarPosition(2, 3, Fraction.Zero)) + Seconds.Of(0.02))]),
                new PulseTapped([.. Made.Performance.Pulse.Beats.Skip(4).Take(8).Select(each => each.Time.TotalSeconds - 0.03)]),
                new ChartEdited(new DeleteStroke(RefOf(kick))),
                new ChartEdited(new RepieceStroke(RefOf(snare), "cross-stick")),
                new ChartEdited(new MoveStroke(RefOf(snare), new EditPlace(1, 3, "1/2"))),
                new ChartEdited(new MarkStroke(RefOf(snare), "ghost", true)),
                new ChartEdited(new TypeBar("bar 2 in 4/4\nkick: 1, 3\nsnare: 2, 4\nhat-closed: 1, 1&, 2, 2&, 3, 3&, 4, 4&\n")),
                new ChartEdited(new WriteSwing(SwingWriting.Dotted)),
                new ChartEdited(new WriteRepeats(true)),
                new ChartEdited(new ShiftStroke(RefOf(snare), snare.Time.TotalSeconds + 0.01)),
                new ChartEdited(new HearStroke("ride", beat + 0.003)),
                new ChartEdited(new ConfirmStroke(RefOf(snare))),
                new ReferenceChosen(FeelReference.WholeKit),
                new Renamed("Another name"),
                new Tagged(["slow", "brushes"]),
            ];
        }
    }

    [Theory]
    [MemberData(nameof(OneOfEach))]
    public void Each_edit_is_kept_changes_something_and_undoes_exactly(StudyChange edit)
    {
        Study changed = StudyHistory.Do(Made, edit);
        Assert.Equal([edit], changed.Changes);
        Assert.NotEqual(Json(Made), Json(changed with { Changes = [], Unchanged = null }));
        Assert.NotEmpty(edit.Words);
        Assert.Equal(1, changed.Revision);

        Study undone = StudyHistory.Undo(changed);
        Assert.Equal([edit], undone.UndoneChanges);
        Assert.Equal(Json(Made), Json(undone with { UndoneChanges = [], UndoneEdits = [] }));
        Assert.Equal(Json(changed), Json(StudyHistory.Redo(undone)));
    }

    [Theory]
    [MemberData(nameof(OneOfEach))]
    public void Each_edit_survives_being_stored(StudyChange edit)
    {
        Study changed = StudyHistory.Do(Made, edit);
        string stored = Json(changed);
        Study read = StudyBody.Read(stored);
        Assert.Equal(stored, Json(read));
        Assert.Equal(Json(StudyHistory.Undo(changed)), Json(StudyHistory.Undo(read)));
    }

    [Fact]
    public void A_long_row_of_edits_of_every_section_is_undone_one_by_one()
    {
        var states = new List<Study> { Made };
        Hit[] hats = [.. Made.Performance.Hits.Where(hit => hit.Piece == KitPiece.HatClosed).Take(3)];
        StudyChange[] edits =
        [
            new Renamed("First"),
            new ChartEdited(new DeleteStroke(RefOf(hats[0]))),
            new PulseCorrected([new BeatMoved(3, 1, Made.Performance.Pulse.TimeAt(new BarPosition(3, 1, Fraction.Zero)) + Seconds.Of(0.015))]),
            new ReferenceChosen(FeelReference.Snare),
            new ChartEdited(new ShiftStroke(RefOf(hats[1]), hats[1].Time.TotalSeconds - 0.02)),
            new ChartEdited(new WriteSwing(SwingWriting.Triplet)),
        ];
        foreach (StudyChange edit in edits)
            states.Add(StudyHistory.Do(states[^1], edit));
        Study now = states[^1];
        for (int i = states.Count - 2; i >= 0; i--)
        {
            now = StudyHistory.Undo(now);
            Assert.Equal(Shown(states[i]), Shown(now));
        }

        foreach (Study state in states.Skip(1))
        {
            now = StudyHistory.Redo(now);
            Assert.Equal(Shown(state), Shown(now));
        }

        Assert.False(StudyHistory.CanRedo(now));
        Assert.Empty(StudyHistory.Do(StudyHistory.Undo(now), new Renamed("Else")).UndoneChanges);
    }

    /// <summary>2 to 1: half as many beats, a tempo half as fast, and the figures of a different bar.</summary>
    [Fact]
    public void A_corrected_pulse_rewrites_strokes_and_figures_and_the_strokes_keep_their_times()
    {
        Study halved = StudyHistory.Do(Made, new PulseCorrected([new TempoHalved()]));
        Assert.Equal(Made.Performance.Pulse.MeanTempo.Value / 2, halved.Performance.Pulse.MeanTempo.Value, 0.5);
        Assert.Equal(Made.Performance.Hits.Select(hit => hit.Time), halved.Performance.Hits.Select(hit => hit.Time));
        Assert.NotEqual(Made.Feel.Tempo.Bpm, halved.Feel.Tempo.Bpm);
        Assert.Equal(PulseSource.ByHand, halved.Performance.Pulse.Source);
        Assert.Equal([new TempoHalved()], halved.Corrections);
    }

    [Fact]
    public void A_place_chosen_by_hand_stays_when_a_beat_is_moved()
    {
        Hit snare = Made.Performance.Hits.First(hit => hit.Piece == KitPiece.Snare);
        var place = new EditPlace(snare.Position!.Value.Bar, 4, "1/3");
        Study moved = StudyHistory.Do(Made, new ChartEdited(new MoveStroke(RefOf(snare), place)));
        AudioTime beat = moved.Performance.Pulse.TimeAt(new BarPosition(4, 2, Fraction.Zero));
        Study after = StudyHistory.Do(moved, new PulseCorrected([new BeatMoved(4, 2, beat + Seconds.Of(0.01))]));
        Assert.Equal(place.ToPosition(after.Performance.Pulse), after.Performance.Hits.Single(hit => hit.Piece == KitPiece.Snare && hit.Time == snare.Time).Position);
    }

    [Fact]
    public void A_stroke_moved_in_time_is_written_where_it_now_fits_and_no_other_stroke_changes()
    {
        Hit kick = Made.Performance.Hits.Last(hit => hit is { Piece: KitPiece.Kick, Position: not null });
        double beat = Made.Performance.Pulse.BeatLengthAt(kick.Time).Value;
        Study shifted = StudyHistory.Do(Made, new ChartEdited(new ShiftStroke(RefOf(kick), kick.Time.TotalSeconds + beat)));
        Hit now = shifted.Performance.Hits.Single(hit => hit.Piece == KitPiece.Kick && Math.Abs(hit.Time.TotalSeconds - kick.Time.TotalSeconds - beat) < 1e-9);
        Assert.Equal(1, now.Confidence);
        Pulse pulse = Made.Performance.Pulse;
        Assert.Equal(pulse.BeatsFromFirst(kick.Position!.Value) + 1, pulse.BeatsFromFirst(now.Position!.Value));
        Assert.Equal(Made.Performance.Hits.Where(hit => !ReferenceEquals(hit, kick)), shifted.Performance.Hits.Where(hit => !ReferenceEquals(hit, now)));
    }

    [Fact]
    public void An_added_stroke_is_as_loud_as_its_piece_usually_is()
    {
        double[] levels = [.. Made.Performance.Hits.Where(hit => hit.Piece == KitPiece.Snare).Select(hit => hit.Level.Dbfs)];
        Study added = StudyHistory.Do(Made, new ChartEdited(new HearStroke("snare", 6.6)));
        Hit snare = added.Performance.Hits.Single(hit => hit.Time == AudioTime.FromSeconds(6.6));
        Assert.InRange(snare.Level.Dbfs, levels.Min(), levels.Max());
        Assert.Equal(Made.Performance.Hits.Count + 1, added.Performance.Hits.Count);
    }

    /// <summary>Taps come some 20 to 50 ms early and shake (Repp 2005); the pulse must not follow them there.</summary>
    [Fact]
    public void Tapping_along_gives_the_reading_and_not_the_tapper_s_own_earliness()
    {
        Study halved = StudyHistory.Do(Made, new PulseCorrected([new TempoHalved()]));
        Pulse truth = Made.Performance.Pulse;
        double[] shake = [0.012, -0.02, 0.005, 0.018, -0.011, -0.004, 0.016, -0.015];
        double[] taps = [.. truth.Beats.Skip(4).Take(8).Select((beat, i) => beat.Time.TotalSeconds - 0.035 + shake[i])];
        Pulse tapped = StudyHistory.Do(halved, new PulseTapped(taps)).Performance.Pulse;
        Assert.Equal(truth.MeanTempo.Value, tapped.MeanTempo.Value, 1.0);
        double one = tapped.TimeAt(new BarPosition(2, 1, Fraction.Zero)).TotalSeconds;
        Assert.InRange(Math.Abs(one - truth.TimeAt(new BarPosition(2, 1, Fraction.Zero)).TotalSeconds), 0, truth.MeanTempo.Beat.Value / 8);
        // Where beats fall the strokes say: someone who taps later gets the very same beats.
        Assert.Equal(tapped.Beats, StudyHistory.Do(halved, new PulseTapped([.. taps.Select(tap => tap + 0.05)])).Performance.Pulse.Beats);
    }

    [Theory]
    [InlineData(new double[] { 1, 2, 3 })]
    [InlineData(new double[] { 1, 1.5, 2.6, 3.1, 3.6 })]
    [InlineData(new double[] { 1, 1.01, 1.02, 1.03 })]
    [InlineData(new double[] { 4, 3, 2, 1 })]
    public void Taps_that_say_nothing_are_refused_in_one_line(double[] taps)
    {
        InputException reason = Assert.Throws<InputException>(() => StudyHistory.Do(Made, new PulseTapped(taps)));
        Assert.DoesNotContain('\n', reason.Message);
    }

    public static TheoryData<StudyChange> CannotBeDone =>
    [
        new ChartEdited(new DeleteStroke(new StrokeRef("china", 3))),
        new ChartEdited(new DeleteStroke(new StrokeRef("no-such-piece", 3))),
        new ChartEdited(new ShiftStroke(new StrokeRef("kick", 999), 3)),
        new ChartEdited(new ShiftStroke(new StrokeRef("kick", 0), double.NaN)),
        new ChartEdited(new HearStroke("kick", double.PositiveInfinity)),
        new ChartEdited(new HearStroke("kick", 3, 400)),
        new ChartEdited(new HearStroke("triangle", 3)),
        new ChartEdited(new TypeBar("bar 2 in 5/4\nkick: 1")),
        new PulseCorrected([new BeatMoved(99, 1, AudioTime.FromSeconds(3))]),
        new Renamed("  \n "),
        new Tagged(["a,b"]),
    ];

    [Theory]
    [MemberData(nameof(CannotBeDone))]
    public void What_cannot_be_done_is_said_in_one_line_and_leaves_the_study_alone(StudyChange edit)
    {
        string before = Json(Made);
        InputException reason = Assert.Throws<InputException>(() => StudyHistory.Do(Made, edit));
        Assert.DoesNotContain('\n', reason.Message);
        Assert.Equal(before, Json(Made));
    }

    [Fact]
    public void There_is_nothing_to_undo_in_a_new_study()
    {
        Assert.Throws<InputException>(() => StudyHistory.Undo(Made));
        Assert.Throws<InputException>(() => StudyHistory.Redo(Made));
    }

    /// <summary>What a person sees: everything but the history itself.</summary>
    private static string Shown(Study study) => Json(study with { Changes = [], UndoneChanges = [], UndoneEdits = [], Unchanged = null });

    private static string Json(Study study) => StudyBody.Write(study with { Revision = 0 });
}
