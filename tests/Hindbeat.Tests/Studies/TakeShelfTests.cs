using Hindbeat.Feel;
using Hindbeat.Studies;
using Hindbeat.Takes;
using Hindbeat.Tests.Takes;
using Hindbeat.Units;

namespace Hindbeat.Tests.Studies;

public sealed class TakeShelfTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("hindbeat-takes-").FullName;

    [Fact]
    public void Takes_come_back_as_they_were_oldest_first_and_go_with_their_study()
    {
        StudyLibrary library = StudyLibrary.Open(_folder);
        Study study = library.Save(Passage());
        var shelf = new TakeShelf(library);
        KeptTake later = shelf.Keep(Take(study.Id, 2)), earlier = shelf.Keep(Take(study.Id, 1));
        Assert.Equal($"{study.Id}/1", later.Id);
        KeptTake[] kept = [.. new TakeShelf(StudyLibrary.Open(_folder)).Of(study.Id)];
        Assert.Equal([earlier.ToJson(), later.ToJson()], kept.Select(take => take.ToJson()));
        Assert.True(library.Delete(study.Id));
        Assert.Empty(shelf.Of(study.Id));
    }

    [Fact]
    public void A_take_of_no_study_is_refused() =>
        Assert.Throws<InputException>(() => new TakeShelf(StudyLibrary.Open(_folder)).Keep(Take("nothing", 1)));

    [Fact]
    public void Saving_the_study_again_keeps_its_takes()
    {
        StudyLibrary library = StudyLibrary.Open(_folder);
        Study study = library.Save(Passage());
        new TakeShelf(library).Keep(Take(study.Id, 1));
        library.Save(study with { Name = "Another name" });
        Assert.Single(new TakeShelf(library).Of(study.Id));
    }

    /// <summary>What was heard is timed less well, the next day too.</summary>
    [Fact]
    public void A_take_that_was_heard_is_compared_as_heard_whenever_it_is_looked_at()
    {
        AlignedTake aligned = TakeAligner.Align(ChangedTake.Passage, ChangedTake.Play(2, 5));
        KeptTake Kept(bool heard) => KeptTake.FromJson(KeptTake.Of("", "monday", DateTimeOffset.UnixEpoch, null, null, TakeComparison.Of(ChangedTake.Passage, aligned, TakeComparison.OptionsFor(heard))).ToJson());
        double Half(KeptTake take) => take.Compare(ChangedTake.Passage).Differences.First(one => one.Kind == FeelFigures.LayBack).Difference.HalfWidth;
        Assert.True(Half(Kept(heard: true)) > Half(Kept(heard: false)) + 0.5);
    }

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    private static Study Passage() => new(
        "", "Late Tram Home", new DateTimeOffset(2026, 1, 1, 0, 0, 0, TimeSpan.Zero), null, null, AudioTime.Zero, AudioTime.FromSeconds(22),
        ChangedTake.Passage, ChangedTake.Feel, null, "electronic kit", []);

    private static KeptTake Take(string study, int hour)
    {
        AlignedTake aligned = TakeAligner.Align(ChangedTake.Passage, ChangedTake.Play(1, (ulong)hour));
        return KeptTake.Of(study, "monday", new DateTimeOffset(2026, 1, 2, hour, 0, 0, TimeSpan.Zero), null, null, TakeComparison.Of(ChangedTake.Passage, aligned));
    }
}
