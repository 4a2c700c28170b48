using Hindbeat.Charting;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Rebuilding;
using Hindbeat.Studies;
using Hindbeat.Tests.Charting;
using Hindbeat.Units;

namespace Hindbeat.Tests.Studies;

/// <summary>Edits live in the study: kept in the library, undone later, done again on a new listening, with figures that follow.</summary>
public sealed class StudyEditorTests : IDisposable
{
    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("hindbeat-edits-");

    public void Dispose() => _folder.Delete(true);

    private static Study Of(Performance performance)
    {
        Study sample = SampleStudies.Of();
        return sample with { Performance = performance, Feel = FeelAnalysis.Measure(performance), Doubts = [] };
    }

    private static Study Passage() => Of(InventedPassage.Make(20).Performance);

    [Fact]
    public void Every_edit_is_kept_in_the_library_and_can_be_taken_back_after_loading()
    {
        Study study = Of(WrittenPassages.Typed("4/4", 120, 2, ("snare", "1 3"), ("kick", "0")));
        StudyLibrary library = StudyLibrary.Open(_folder.FullName);
        string before = StudyBody.Write(library.Save(study with { Id = "one" }));
        foreach (ChartEdit edit in ChartEditTests.Every)
            library.Save(StudyEditor.Do(library.Load("one")!, edit));
        Study edited = library.Load("one")!;
        Assert.Equal(ChartEditTests.Every.Length, edited.Edits.Count);
        Assert.Equal(ChartEditTests.Every.Select(EditWords.Write), edited.Edits.Select(EditWords.Write));
        Assert.True(StudyEditor.Writing(edited, new ChartOptions()) is { FoldRepeats: true, SwingWriting: SwingWriting.Dotted });

        while (StudyEditor.CanUndo(library.Load("one")!))
            library.Save(StudyEditor.Undo(library.Load("one")!));
        Study undone = library.Load("one")!;
        Assert.Equal(before, StudyBody.Write(undone with { UndoneEdits = [] }));

        while (StudyEditor.CanRedo(library.Load("one")!))
            library.Save(StudyEditor.Redo(library.Load("one")!));
        Assert.Equal(StudyBody.Write(edited), StudyBody.Write(library.Load("one")!));
    }

    [Fact]
    public void Figures_follow_an_edit_at_once()
    {
        Study study = Passage();
        Hit[] kicks = [.. study.Performance.Hits.Where(hit => hit.Piece == KitPiece.Kick)];
        Study without = StudyEditor.Do(study, [.. kicks.Select(kick => new DeleteStroke(new StrokeRef("kick", kick.Time.TotalSeconds)))]);
        Assert.Contains(study.Feel.LayBack, figure => figure.Piece == KitPiece.Kick);
        Assert.DoesNotContain(without.Feel.LayBack, figure => figure.Piece == KitPiece.Kick);
        Assert.Equal(study.Feel.LayBack.Select(figure => figure.Milliseconds), StudyEditor.Undo(StudyEditor.Undo(StudyEditor.Do(study,
            new MarkStroke(new StrokeRef("kick", kicks[0].Time.TotalSeconds), "accent", true),
            new DeleteStroke(new StrokeRef("kick", kicks[1].Time.TotalSeconds))))).Feel.LayBack.Select(figure => figure.Milliseconds));
    }

    [Fact]
    public void Several_edits_are_done_together_or_not_at_all()
    {
        Study study = Passage();
        Assert.Throws<InputException>(() => StudyEditor.Do(study, new AddStroke("crash", new EditPlace(1, 1, "0"), 90), new DeleteStroke(new StrokeRef("china", 1))));
        Assert.Empty(study.Edits);
        Assert.Throws<InputException>(() => StudyEditor.Undo(study));
        Assert.Throws<InputException>(() => StudyEditor.Redo(study));
    }

    [Fact]
    public void A_new_listening_is_edited_as_the_old_one_was()
    {
        Study study = Passage();
        Hit ghost = study.Performance.Hits.First(hit => hit.Marks.HasFlag(HitMarks.Ghost));
        Study edited = StudyEditor.Do(study,
            new AddStroke("crash", new EditPlace(2, 1, "0"), 100),
            new DeleteStroke(new StrokeRef(ghost.Piece.Id(), ghost.Time.TotalSeconds)),
            new DeleteStroke(new StrokeRef("crash", study.Performance.Pulse.TimeAt(new BarPosition(2, 1, 0)).TotalSeconds)),
            new AddStroke("splash", new EditPlace(3, 1, "0"), 100));

        // Heard anew: every onset some milliseconds elsewhere, and that ghost stroke was not heard.
        var heard = new Performance(study.Performance.Pulse, study.Performance.Hits.Where(hit => hit != ghost).Select((hit, i) => hit with { Time = hit.Time + Seconds.FromMilliseconds((i % 7) - 3) }));
        Study anew = StudyEditor.Replay(study with { Performance = heard }, edited.Edits);
        Assert.Equal([edited.Edits[0], edited.Edits[2], edited.Edits[3]], anew.Edits);
        Assert.Contains("no snare stroke", Assert.Single(anew.Doubts.OfType<EditsLeftOut>()).Text, StringComparison.OrdinalIgnoreCase);
        Assert.Single(anew.Performance.Hits, hit => hit.Piece == KitPiece.Splash);
        Assert.DoesNotContain(anew.Performance.Hits, hit => hit.Piece == KitPiece.Crash);
        Assert.Same(heard, anew.Unedited);
    }

    [Fact]
    public void A_corrected_pulse_keeps_the_edits_at_their_times()
    {
        Study study = StudyEditor.Do(Passage(), new AddStroke("splash", new EditPlace(3, 1, "0"), 100));
        double time = study.Performance.Hits.Single(hit => hit.Piece == KitPiece.Splash).Time.TotalSeconds;
        Study halved = StudyMaker.Correct(study, [new TempoHalved()]);
        Hit splash = Assert.Single(halved.Performance.Hits, hit => hit.Piece == KitPiece.Splash);
        Assert.Equal(time, splash.Time.TotalSeconds, 6);
        // Eight beats after the bar line of bar 1 are four of the halved ones: the second bar.
        Assert.Equal(new BarPosition(2, 1, 0), splash.Position);
        Assert.Single(halved.Edits);
        Assert.Single(halved.Corrections);
        Assert.DoesNotContain(StudyEditor.WithoutEdits(halved).Performance.Hits, hit => hit.Piece == KitPiece.Splash);
    }
}
